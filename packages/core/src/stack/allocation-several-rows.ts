import {
  type CurveProblem,
  cheapestTolerance,
  dualBound,
  type Weights,
} from './allocation-dual.js';
import { solveSymmetric } from './allocation-linear.js';
import { type BudgetRow, raised } from './allocation-model.js';

export interface SeveralRowsSolution {
  readonly tolerances: Float64Array;
  readonly multipliers: Float64Array;
  readonly steps: number;
}

const maxRounds = 400;
const newtonStepsARound = 25;
/** Relative error of a row at which it counts as met; a few roundings of its sum. */
const goal = 4e-15;
/** Trace on the diagonal, so that rows which repeat each other still give one direction. */
const ridge = 1e-13;

/** What the multipliers make of the tolerances. */
interface Point {
  readonly multipliers: Float64Array;
  readonly tolerances: Float64Array;
  /** Second derivative of cost + weights in log T; infinite for a contributor at a bound. */
  readonly curvature: Float64Array;
  /** log(use / budget) by row. */
  readonly excess: Float64Array;
}

/**
 * Least cost under several rows at once, by maximising the Lagrangian dual. For given multipliers
 * the tolerances split by contributor and follow in closed form, so only the multipliers are
 * unknown. A round solves each row for its own multiplier (coordinate ascent: the dual is concave
 * and smooth, so this cannot stall) and then takes Newton steps on all positive multipliers at once
 * in log-log form, where the equations are nearly straight; these finish quadratically.
 *
 * @param problem every contributor moves (scale > 0, lower < upper) and is in a row; every row can
 *   be exceeded at the upper bounds and has room at the lower ones
 */
export function solveSeveralRows(problem: CurveProblem): SeveralRowsSolution {
  const { rows } = problem;
  let point = pointAt(problem, new Float64Array(rows.length));
  let steps = 0;
  for (let round = 0; round < maxRounds; round++) {
    for (let j = 0; j < rows.length; j++) point = solveForRow(problem, point, j);
    steps++;
    for (let step = 0; step < newtonStepsARound && errorOf(point) > goal; step++) {
      const next = newtonStep(problem, point);
      if (next === undefined) break;
      point = next;
      steps++;
    }
    if (errorOf(point) <= goal) break;
  }
  return { tolerances: point.tolerances, multipliers: point.multipliers, steps };
}

/** Largest violation of: a row is met, and met exactly where its multiplier is positive. */
function errorOf({ multipliers, excess }: Point): number {
  let worst = 0;
  excess.forEach((value, j) => {
    worst = Math.max(worst, (multipliers[j] ?? 0) > 0 ? Math.abs(value) : value);
  });
  return worst;
}

function pointAt(problem: CurveProblem, multipliers: Float64Array): Point {
  const { rows, scale } = problem;
  const linear = new Float64Array(scale.length);
  const square = new Float64Array(scale.length);
  rows.forEach((row, j) => {
    const lambda = multipliers[j] ?? 0;
    const into = row.exponent === 1 ? linear : square;
    if (lambda > 0)
      row.coefficients.forEach((c, i) => {
        into[i] = (into[i] ?? 0) + lambda * c;
      });
  });
  const tolerances = new Float64Array(scale.length);
  const curvature = new Float64Array(scale.length);
  for (let i = 0; i < scale.length; i++) {
    const weights = { linear: linear[i] ?? 0, square: square[i] ?? 0 };
    tolerances[i] = toleranceUnder(problem, i, weights);
    curvature[i] = curvatureUnder(problem, i, tolerances[i] ?? 0, weights);
  }
  return {
    multipliers,
    tolerances,
    curvature,
    excess: Float64Array.from(rows, (row) => {
      let use = 0;
      row.coefficients.forEach((c, i) => {
        if (c > 0) use += c * raised(tolerances[i] ?? 0, row.exponent);
      });
      return Math.log(use / row.budget);
    }),
  };
}

function toleranceUnder(problem: CurveProblem, i: number, weights: Weights): number {
  return cheapestTolerance(
    problem.scale[i] ?? 0,
    problem.power[i] ?? 1,
    problem.lower[i] ?? 0,
    problem.upper[i] ?? 0,
    weights,
  );
}

function curvatureUnder(problem: CurveProblem, i: number, t: number, weights: Weights): number {
  if (t <= (problem.lower[i] ?? 0) || t >= (problem.upper[i] ?? 0)) return Number.POSITIVE_INFINITY;
  const k = problem.power[i] ?? 1;
  // at the stationary point the pull of the cost equals that of the weights
  return (k + 1) * weights.linear * t + (k + 2) * 2 * weights.square * t * t;
}

/** The multiplier of row j that meets the row with the others held: 0, or the root in its log. */
function solveForRow(problem: CurveProblem, point: Point, j: number): Point {
  const at = (lambda: number): Point => {
    const multipliers = point.multipliers.slice();
    multipliers[j] = lambda;
    return pointAt(problem, multipliers);
  };
  const row = problem.rows[j];
  if (row === undefined || Math.abs(point.excess[j] ?? 0) <= goal) return point;
  const without = (point.multipliers[j] ?? 0) > 0 ? at(0) : point;
  if ((without.excess[j] ?? 0) <= 0) return without;
  let u = Math.log(
    (point.multipliers[j] ?? 0) > 0 ? (point.multipliers[j] ?? 1) : firstGuess(problem, row),
  );
  let low = Number.NEGATIVE_INFINITY;
  let high = Number.POSITIVE_INFINITY;
  let current = point;
  for (let step = 1; step <= 100; step++) {
    current = at(Math.exp(u));
    const excess = current.excess[j] ?? 0;
    // close is enough: the Newton steps on all rows finish
    if (Math.abs(excess) <= 1e-9) return current;
    if (excess > 0) low = u;
    else high = u;
    const fall = slopeBetween(problem, current, row, row) * Math.exp(u);
    const wish = fall > 0 ? u + (excess * Math.exp(excess)) / fall : Number.NaN;
    if (wish > low && wish < high && Math.abs(wish - u) < 20) u = wish;
    else if (low === Number.NEGATIVE_INFINITY) u = high - 2 * step;
    else if (high === Number.POSITIVE_INFINITY) u = low + 2 * step;
    else u = (low + high) / 2;
    if (high - low < 1e-15 * Math.abs(u)) break;
  }
  return current;
}

/** A multiplier of about the right size: that of the largest tolerance the row could give. */
function firstGuess(problem: CurveProblem, row: BudgetRow): number {
  const links = row.coefficients.filter((c) => c > 0).length;
  let guess = 0;
  row.coefficients.forEach((c, i) => {
    if (c <= 0) return;
    const e = row.exponent;
    const share = (row.budget / (c * links)) ** (1 / e);
    const t = Math.min(problem.upper[i] ?? 0, Math.max(problem.lower[i] ?? 0, share));
    const k = problem.power[i] ?? 1;
    guess = Math.max(guess, (k * (problem.scale[i] ?? 0)) / (e * c * t ** (k + e)));
  });
  return guess;
}

/** - d(use of a / budget of a) / d(multiplier of b): sum of slope * slope / curvature. */
function slopeBetween(problem: CurveProblem, point: Point, a: BudgetRow, b: BudgetRow): number {
  let sum = 0;
  for (let i = 0; i < problem.scale.length; i++) {
    const inA = a.coefficients[i] ?? 0;
    const inB = b.coefficients[i] ?? 0;
    if (inA <= 0 || inB <= 0) continue;
    const t = point.tolerances[i] ?? 0;
    const slopes =
      a.exponent * inA * raised(t, a.exponent) * b.exponent * inB * raised(t, b.exponent);
    sum += slopes / (point.curvature[i] ?? 1);
  }
  return sum / a.budget;
}

/**
 * A Newton step on the positive multipliers; undefined when none helps. Tried in turn: on
 * log(use / budget) = 0 in the logs of the multipliers; the same without the rows whose multiplier
 * the straight step would turn negative (rows that nearly repeat another one); the straight step up
 * to the first multiplier that becomes 0, judged by the dual function.
 */
function newtonStep(problem: CurveProblem, point: Point): Point | undefined {
  const positive: number[] = [];
  point.multipliers.forEach((lambda, j) => {
    if (lambda > 0) positive.push(j);
  });
  const before = errorOf(point);
  const direct = logStep(problem, point, positive, before);
  if (direct !== undefined) return direct;

  let kept = positive;
  let straight = newtonDirection(problem, point, kept, Math.expm1);
  const whole = straight;
  while (straight !== undefined && kept.length > 0) {
    const lowest = Math.min(...straight);
    if (lowest > -1) break;
    const drop = straight.indexOf(lowest);
    kept = kept.filter((_j, p) => p !== drop);
    straight = newtonDirection(problem, point, kept, Math.expm1);
  }
  if (kept.length < positive.length && kept.length > 0) {
    const reduced = logStep(problem, point, kept, before);
    if (reduced !== undefined) return reduced;
  }
  if (whole === undefined) return undefined;
  const value = dualBound(problem, point.multipliers);
  const toZero = Math.min(1, ...whole.map((d) => (d < 0 ? -1 / d : 1)));
  for (let length = toZero; length > 1e-6 * toZero; length /= 4) {
    const next = moved(problem, point, positive, (p) => {
      const factor = 1 + length * (whole[p] ?? 0);
      return factor < 1e-12 ? 0 : factor;
    });
    if (dualBound(problem, next.multipliers) > value) return next;
  }
  return undefined;
}

/** The log step on some rows, the other multipliers 0, shortened until the error falls. */
function logStep(
  problem: CurveProblem,
  point: Point,
  active: readonly number[],
  before: number,
): Point | undefined {
  const change = newtonDirection(problem, point, active, (value) => Math.exp(value) * value);
  if (change === undefined) return undefined;
  const longest = Math.max(...change.map(Math.abs));
  for (let length = Math.min(1, 3 / longest); length > 0.05; length /= 2) {
    const next = moved(problem, point, active, (p) => Math.exp(length * (change[p] ?? 0)));
    if (errorOf(next) < before) return next;
  }
  return undefined;
}

/** The point with some multipliers scaled and all others 0. */
function moved(
  problem: CurveProblem,
  point: Point,
  active: readonly number[],
  factor: (p: number) => number,
): Point {
  const multipliers = new Float64Array(point.multipliers.length);
  active.forEach((j, p) => {
    multipliers[j] = (point.multipliers[j] ?? 0) * factor(p);
  });
  return pointAt(problem, multipliers);
}

/** Relative change of each active multiplier that cancels the error to first order. */
function newtonDirection(
  problem: CurveProblem,
  point: Point,
  active: readonly number[],
  error: (excess: number) => number,
): number[] | undefined {
  const rows = active.flatMap((j) => problem.rows[j] ?? []);
  const weight = active.map((j, p) => (point.multipliers[j] ?? 0) * (rows[p]?.budget ?? 0));
  // symmetric form: scaled by multiplier * budget on both sides
  const triangle = rows.map((a, p) =>
    Float64Array.from({ length: p + 1 }, (_v, q) => {
      const b = rows[q] ?? a;
      const slope = slopeBetween(problem, point, a, b) / b.budget;
      return slope * (weight[p] ?? 0) * (weight[q] ?? 0);
    }),
  );
  const right = active.map((j, p) => (weight[p] ?? 0) * error(point.excess[j] ?? 0));
  return solveSymmetric(triangle, right, ridge);
}
