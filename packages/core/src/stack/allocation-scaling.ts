import {
  checkBounds,
  checkChains,
  checkIds,
  checkLimited,
  startCheck,
} from './allocation-check.js';
import {
  type BudgetRow,
  buildRows,
  byId,
  chainUse,
  impossibleChains,
  raised,
  roundingShare,
  rowUse,
} from './allocation-model.js';
import type {
  AllocationChain,
  FixedContributor,
  InfeasibleAllocation,
  ScaledAllocation,
  ScaledTolerance,
} from './allocation-types.js';

/** A contributor with the tolerance that it has now. */
export interface ScalableContributor {
  readonly id: string;
  readonly tolerance: number;
  /** Keeps its tolerance, e.g. a bought part. */
  readonly fixed?: boolean;
  readonly lower?: number;
  readonly upper?: number;
}

export interface ProportionalInput {
  readonly contributors: readonly ScalableContributor[];
  readonly chains: readonly AllocationChain[];
}

/**
 * Scales tolerances (±, one unit throughout) by one factor until the chains are used up exactly.
 * Contributors at a bound stop there. With several chains the factor grows from 0; the contributors
 * of a chain stop when it is used up and the others go on, so that no tolerance could be widened
 * without narrowing one that has an equal or smaller factor (max-min fairness).
 *
 * For one chain without bounds: P = (limit - sum of fixed)/(sum of scaled), worst case, and the same
 * with squares for RSS.
 * Source: K. W. Chase, Tolerance Allocation Methods for Designers, Brigham Young University report
 * 99-6, 1999, "proportional scaling".
 *
 * @throws InputError with every problem of the input
 * @example
 * allocateProportional({ contributors: [{ id: 'a', tolerance: 0.1 }, { id: 'b', tolerance: 0.3 }], chains: [{ id: 'gap', limit: 0.2 }] }).factor // -> ~0.5
 */
export function allocateProportional(
  input: ProportionalInput,
): ScaledAllocation | InfeasibleAllocation {
  const check = startCheck();
  checkIds(check, input.contributors, 'contributors');
  checkChains(check, input.chains, input.contributors);
  input.contributors.forEach((one, index) => {
    check.number(one.tolerance, `contributors[${index}].tolerance`);
    checkBounds(check, one, `contributors[${index}]`);
  });
  checkLimited(
    check,
    input.chains,
    input.contributors.map(({ id, upper, fixed }) => ({ id, upper, free: fixed !== true })),
  );
  check.finish();
  return fill(
    input.contributors.map((one) =>
      one.fixed === true
        ? { id: one.id, tolerance: one.tolerance }
        : { ...one, weight: one.tolerance },
    ),
    input.chains,
  );
}

/** A contributor whose tolerance is to follow its size. */
export interface SizedContributor {
  readonly id: string;
  /** Nominal size D > 0. */
  readonly size: number;
  readonly lower?: number;
  readonly upper?: number;
}

export interface PrecisionFactorInput {
  readonly contributors: readonly (SizedContributor | FixedContributor)[];
  readonly chains: readonly AllocationChain[];
}

/**
 * Gives every contributor T = P D^(1/3), the tolerance of equal difficulty by size, with the largest
 * precision factor P that the chains allow; fixed contributors keep theirs. Bounds and several
 * chains as in `allocateProportional`. P is in (unit of length)^(2/3).
 *
 * Source: J. Fortini, Dimensioning for Interchangeable Manufacture, 1967; K. W. Chase, Tolerance
 * Allocation Methods for Designers, Brigham Young University report 99-6, 1999.
 *
 * @throws InputError with every problem of the input
 * @example
 * allocatePrecisionFactor({ contributors: [{ id: 'a', size: 8 }, { id: 'b', size: 27 }], chains: [{ id: 'gap', limit: 0.1 }] }).factor // -> ~0.02
 */
export function allocatePrecisionFactor(
  input: PrecisionFactorInput,
): ScaledAllocation | InfeasibleAllocation {
  const check = startCheck();
  checkIds(check, input.contributors, 'contributors');
  checkChains(check, input.chains, input.contributors);
  input.contributors.forEach((one, index) => {
    const path = `contributors[${index}]`;
    if ('tolerance' in one) check.number(one.tolerance, `${path}.tolerance`);
    else {
      check.number(one.size, `${path}.size`);
      checkBounds(check, one, path);
    }
  });
  checkLimited(
    check,
    input.chains,
    input.contributors.map((one) =>
      'tolerance' in one ? { id: one.id, free: false } : { ...one, free: true },
    ),
  );
  check.finish();
  return fill(
    input.contributors.map((one) =>
      'tolerance' in one ? one : { ...one, weight: Math.cbrt(one.size) },
    ),
    input.chains,
  );
}

type Filled = FixedContributor | Weighted;

interface Weighted {
  readonly id: string;
  readonly weight: number;
  readonly lower?: number;
  readonly upper?: number;
}

/** T = clamp(factor * weight), factor rising from 0, contributors of a used-up chain stopping. */
function fill(
  given: readonly Filled[],
  chains: readonly AllocationChain[],
): ScaledAllocation | InfeasibleAllocation {
  const list = [...given].sort(byId);
  const ids = list.map(({ id }) => id);
  const rows = buildRows(chains, ids);
  const weight = Float64Array.from(list, (one) => ('weight' in one ? one.weight : 0));
  const lower = Float64Array.from(list, (one) =>
    'weight' in one ? (one.lower ?? 0) : one.tolerance,
  );
  const upper = Float64Array.from(list, (one) =>
    'weight' in one ? (one.upper ?? Number.POSITIVE_INFINITY) : one.tolerance,
  );
  const impossible = impossibleChains(rows, ids, lower);
  if (impossible.length > 0) return { feasible: false, impossible };

  const tolerances = lower.slice();
  const stoppedBy: ScaledTolerance['stoppedBy'][] = list.map((one) =>
    'weight' in one ? 'upper' : 'fixed',
  );
  let moving = ids.map((_id, i) => i).filter((i) => (weight[i] ?? 0) > 0);
  let factor: number | undefined;
  let open = [...rows];
  while (open.length > 0 && moving.length > 0) {
    const placed = (p: number): Float64Array => {
      const at = tolerances.slice();
      for (const i of moving)
        at[i] = Math.min(upper[i] ?? 0, Math.max(lower[i] ?? 0, p * (weight[i] ?? 0)));
      return at;
    };
    const reaches = open.map((row) => reachOf(row, { moving, weight, lower, upper, placed }));
    const next = Math.min(...reaches);
    if (next === Number.POSITIVE_INFINITY) break;
    factor ??= next;
    const at = placed(next);
    open = open.filter((row, j) => {
      if ((reaches[j] ?? 0) > next) return true;
      for (const i of moving) {
        if ((row.coefficients[i] ?? 0) <= 0) continue;
        tolerances[i] = at[i] ?? 0;
        const wish = next * (weight[i] ?? 0);
        stoppedBy[i] =
          wish < (lower[i] ?? 0) ? 'lower' : wish > (upper[i] ?? 0) ? 'upper' : 'chain';
      }
      moving = moving.filter((i) => (row.coefficients[i] ?? 0) <= 0);
      return false;
    });
  }
  for (const i of moving) tolerances[i] = upper[i] ?? 0;
  const position = new Map(ids.map((id, i) => [id, i]));
  return {
    feasible: true,
    factor: factor ?? factorOfBounds(moving, upper, weight),
    tolerances: given.map(({ id }) => {
      const i = position.get(id) ?? 0;
      return { id, tolerance: tolerances[i] ?? 0, stoppedBy: stoppedBy[i] ?? 'chain' };
    }),
    chains: rows.map((row) => chainUse(row, tolerances)),
  };
}

/** No chain in the way: the factor that takes the last contributor to its upper bound. */
function factorOfBounds(
  moving: readonly number[],
  upper: Float64Array,
  weight: Float64Array,
): number {
  if (moving.length === 0) return 1;
  return Math.max(...moving.map((i) => (upper[i] ?? 0) / (weight[i] ?? 1)));
}

interface Filling {
  readonly moving: readonly number[];
  readonly weight: Float64Array;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  readonly placed: (factor: number) => Float64Array;
}

/** Factor at which the row is used up; infinite when the bounds keep it from that. */
function reachOf(row: BudgetRow, filling: Filling): number {
  const { moving, weight, lower, upper, placed } = filling;
  const inRow = moving.filter((i) => (row.coefficients[i] ?? 0) > 0);
  const kinks = inRow
    .flatMap((i) => [lower[i] ?? 0, upper[i] ?? 0].map((bound) => bound / (weight[i] ?? 1)))
    .filter(Number.isFinite)
    .sort((a, b) => a - b);
  const last = kinks.findIndex((p) => rowUse(row, placed(p)) > row.budget * (1 + roundingShare));
  const from = (last === -1 ? kinks.at(-1) : kinks[last - 1]) ?? 0;
  const to = last === -1 ? Number.POSITIVE_INFINITY : (kinks[last] ?? 0);
  let held = 0;
  let perFactor = 0;
  const at = placed(from);
  for (let i = 0; i < row.coefficients.length; i++) {
    const coefficient = row.coefficients[i] ?? 0;
    if (coefficient <= 0) continue;
    const w = weight[i] ?? 0;
    const rises = inRow.includes(i) && (lower[i] ?? 0) / w <= from && (upper[i] ?? 0) / w >= to;
    if (rises) perFactor += coefficient * raised(w, row.exponent);
    else held += coefficient * raised(at[i] ?? 0, row.exponent);
  }
  if (perFactor === 0) return last === -1 ? Number.POSITIVE_INFINITY : from;
  const power = Math.max(0, row.budget - held) / perFactor;
  return Math.min(to, Math.max(from, row.exponent === 1 ? power : Math.sqrt(power)));
}
