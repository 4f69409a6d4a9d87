import { cheapestTolerance } from './allocation-dual.js';
import { type BudgetRow, partOf, raised, roundingShare, rowUse } from './allocation-model.js';

/** A process of one contributor: fixed + scale / T^power on a range; scale 0 for a single grade. */
export interface Choice {
  readonly id: string;
  readonly fixed: number;
  readonly scale: number;
  readonly power: number;
  readonly lower: number;
  readonly upper: number;
}

/** All choices of all contributors in one list; those of contributor i stand from first[i] on. */
export interface ChoiceModel {
  readonly rows: readonly BudgetRow[];
  readonly choices: readonly Choice[];
  /** One more entry than contributors. */
  readonly first: Int32Array;
  /** By contributor: the rows that it is in. */
  readonly rowsOf: readonly (readonly {
    readonly row: number;
    readonly coefficient: number;
    readonly exponent: 1 | 2;
  }[])[];
}

export function choiceModel(
  choices: readonly (readonly Choice[])[],
  rows: readonly BudgetRow[],
): ChoiceModel {
  const first = new Int32Array(choices.length + 1);
  choices.forEach((of, i) => {
    first[i + 1] = (first[i] ?? 0) + of.length;
  });
  const rowsOf = choices.map((_of, i) =>
    rows.flatMap((row, j) => {
      const coefficient = row.coefficients[i] ?? 0;
      return coefficient > 0 ? [{ row: j, coefficient, exponent: row.exponent }] : [];
    }),
  );
  return { rows, choices: choices.flat(), first, rowsOf };
}

/** Some choices still open (1) or not (0), and multipliers with the bound that they make. */
export interface Node {
  readonly open: Uint8Array;
  readonly multipliers: Float64Array;
  readonly bound: number;
}

export interface Priced extends Node {
  /** By choice: cost with the tolerance priced; not set where closed. */
  readonly values: Float64Array;
  /** By choice: the tolerance that goes with it. */
  readonly tolerances: Float64Array;
  /** By contributor: the open choice of least value. */
  readonly cheapest: Int32Array;
}

/** Cost of a choice with its tolerance priced, at the tolerance where that is least. */
export function priceOf(
  choice: Choice,
  linear: number,
  square: number,
): { readonly t: number; readonly value: number } {
  const { fixed, scale, power, lower, upper } = choice;
  if (scale === 0) return { t: lower, value: fixed + (linear + square * lower) * lower };
  const t = cheapestTolerance(scale, power, lower, upper, { linear, square });
  return { t, value: fixed + scale / t ** power + (linear + square * t) * t };
}

/** Weights on T and T^2 that the multipliers put on a contributor. */
export function weightsAt(
  { rowsOf }: ChoiceModel,
  multipliers: Float64Array,
  contributor: number,
): { readonly linear: number; readonly square: number } {
  let linear = 0;
  let square = 0;
  for (const { row, coefficient, exponent } of rowsOf[contributor] ?? []) {
    const weight = (multipliers[row] ?? 0) * coefficient;
    if (exponent === 1) linear += weight;
    else square += weight;
  }
  return { linear, square };
}

/** Values of all open choices at given multipliers, and the Lagrangian bound that they make. */
function price(model: ChoiceModel, open: Uint8Array, multipliers: Float64Array): Priced {
  const { choices, first, rows } = model;
  const count = first.length - 1;
  const values = new Float64Array(choices.length);
  const tolerances = new Float64Array(choices.length);
  const cheapest = new Int32Array(count);
  let bound = 0;
  for (let i = 0; i < count; i++) {
    const { linear, square } = weightsAt(model, multipliers, i);
    let least = Number.POSITIVE_INFINITY;
    for (let c = first[i] ?? 0; c < (first[i + 1] ?? 0); c++) {
      const choice = choices[c];
      if (open[c] !== 1 || choice === undefined) continue;
      const { t, value } = priceOf(choice, linear, square);
      values[c] = value;
      tolerances[c] = t;
      if (value < least) {
        least = value;
        cheapest[i] = c;
      }
    }
    bound += least;
  }
  for (let j = 0; j < rows.length; j++) bound -= (multipliers[j] ?? 0) * (rows[j]?.budget ?? 0);
  return { open, multipliers, bound, values, tolerances, cheapest };
}

/** Closes choices that cannot fit even with all others at their finest; false when none fits. */
export function closeOversized({ rows, choices, first }: ChoiceModel, open: Uint8Array): boolean {
  const count = first.length - 1;
  const smallest = new Float64Array(count).fill(Number.POSITIVE_INFINITY);
  for (let i = 0; i < count; i++)
    for (let c = first[i] ?? 0; c < (first[i + 1] ?? 0); c++)
      if (open[c] === 1) smallest[i] = Math.min(smallest[i] ?? 0, choices[c]?.lower ?? 0);
  for (const row of rows) {
    const room = row.budget * (1 + roundingShare) - rowUse(row, smallest);
    if (room < 0) return false;
    for (let i = 0; i < count; i++) {
      const most = room + partOf(row, i, smallest[i] ?? 0);
      for (let c = first[i] ?? 0; c < (first[i + 1] ?? 0); c++)
        if (open[c] === 1 && partOf(row, i, choices[c]?.lower ?? 0) > most) open[c] = 0;
    }
  }
  return true;
}

/** What the bound has to beat, and where it is noted that something was dropped by its bound. */
export interface Target {
  readonly cost: number;
  readonly isBeaten: (bound: number) => boolean;
  readonly drop: (bound: number) => void;
}

/**
 * Raises the Lagrangian bound of a node by subgradient steps on the multipliers (step length of
 * B. T. Polyak 1969 towards the best known cost), and closes choices that would lift the bound over
 * that cost. Undefined when the whole node is beaten.
 */
export function ascend(
  model: ChoiceModel,
  node: Node,
  target: Target,
  steps: number,
): Priced | undefined {
  const { rows } = model;
  const open = node.open.slice();
  let top = price(model, open, node.multipliers);
  let here = top;
  let stride = 1;
  let idle = 0;
  for (let step = 0; step < steps; step++) {
    if (step > 0 && here.bound > top.bound) {
      top = here;
      idle = 0;
    } else if (step > 0 && ++idle >= 4) {
      here = top;
      idle = 0;
      stride /= 2;
    }
    if (target.isBeaten(top.bound)) {
      target.drop(top.bound);
      return undefined;
    }
    closeDear(model, here, open, target);
    const slopes = slopesAt(model, here);
    let square = 0;
    for (const slope of slopes) square += slope * slope;
    if (square < 1e-24) break;
    const length = (stride * (target.cost - here.bound)) / square;
    const { multipliers } = here;
    const next = multipliers.map((lambda, j) =>
      Math.max(0, lambda + (length * (slopes[j] ?? 0)) / (rows[j]?.budget ?? 1)),
    );
    here = price(model, open, next);
  }
  // choices closed on the way can only have raised it
  const last = price(model, open, here.bound > top.bound ? here.multipliers : top.multipliers);
  if (!target.isBeaten(last.bound)) return last;
  target.drop(last.bound);
  return undefined;
}

/** use / budget - 1 of each row at the cheapest choices; 0 where a multiplier of 0 would fall. */
function slopesAt(model: ChoiceModel, priced: Priced): Float64Array {
  const slopes = new Float64Array(model.rows.length);
  priced.cheapest.forEach((c, i) => {
    for (const { row, coefficient, exponent } of model.rowsOf[i] ?? [])
      slopes[row] = (slopes[row] ?? 0) + coefficient * raised(priced.tolerances[c] ?? 0, exponent);
  });
  return slopes.map((use, j) => {
    const slope = use / (model.rows[j]?.budget ?? 1) - 1;
    return slope < 0 && priced.multipliers[j] === 0 ? 0 : slope;
  });
}

/** Closes the choices that would lift the bound over the best known cost. */
function closeDear(
  { first }: ChoiceModel,
  { values, cheapest, bound }: Priced,
  open: Uint8Array,
  target: Target,
): void {
  cheapest.forEach((best, i) => {
    const others = bound - (values[best] ?? 0);
    for (let c = first[i] ?? 0; c < (first[i + 1] ?? 0); c++) {
      if (open[c] !== 1 || c === best) continue;
      const lifted = others + (values[c] ?? 0);
      if (!target.isBeaten(lifted)) continue;
      target.drop(lifted);
      open[c] = 0;
    }
  });
}
