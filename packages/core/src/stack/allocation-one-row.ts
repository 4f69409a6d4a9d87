import type { CurveProblem } from './allocation-dual.js';
import { type BudgetRow, raised, rowUse } from './allocation-model.js';

export interface OneRowSolution {
  readonly tolerances: Float64Array;
  readonly multiplier: number;
  readonly method: 'closed-form' | 'one-equation';
  readonly steps: number;
}

/**
 * Least cost under one row that cannot leave every contributor at its upper bound.
 *
 * With u = log(multiplier) every free tolerance is T(u) = exp((c - u)/(k + e)), held to its bounds,
 * so the use of the row falls monotonically in u and only its kinks (a contributor reaching or
 * leaving a bound) have to be sorted to know which contributors are free at the optimum. Among the
 * free ones, equal powers give the multiplier in closed form; otherwise one convex equation is left.
 */
export function solveOneRow(problem: CurveProblem, row: BudgetRow): OneRowSolution {
  const { lower, upper, scale, power } = problem;
  const count = scale.length;
  const offset = new Float64Array(count);
  const slope = new Float64Array(count);
  const moving: number[] = [];
  const kinks: number[] = [];
  for (let i = 0; i < count; i++) {
    const coefficient = row.coefficients[i] ?? 0;
    const lo = lower[i] ?? 0;
    const hi = upper[i] ?? 0;
    if (!(coefficient > 0 && (scale[i] ?? 0) > 0 && lo < hi)) continue;
    const k = power[i] ?? 1;
    offset[i] = Math.log((k * (scale[i] ?? 0)) / (row.exponent * coefficient));
    slope[i] = k + row.exponent;
    moving.push(i);
    for (const bound of [lo, hi]) {
      const kink = kinkAt(offset, slope, i, bound);
      if (Number.isFinite(kink)) kinks.push(kink);
    }
  }
  kinks.sort((a, b) => a - b);
  const tolerances = Float64Array.from(lower, (lo, i) =>
    (row.coefficients[i] ?? 0) > 0 ? lo : (upper[i] ?? 0),
  );
  const place = (u: number): void => {
    for (const i of moving) {
      const free = Math.exp(((offset[i] ?? 0) - u) / (slope[i] ?? 1));
      tolerances[i] = Math.min(upper[i] ?? 0, Math.max(lower[i] ?? 0, free));
    }
  };
  // the last kink at which the row is still over (or exactly at) its budget
  let low = -1;
  let high = kinks.length;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    place(kinks[middle] ?? 0);
    if (rowUse(row, tolerances) >= row.budget) low = middle;
    else high = middle;
  }
  const left = kinks[low] ?? Number.NEGATIVE_INFINITY;
  const right = kinks[high] ?? Number.POSITIVE_INFINITY;
  const free: number[] = [];
  for (const i of moving) {
    const leavesUpper = kinkAt(offset, slope, i, upper[i] ?? 0);
    const reachesLower = kinkAt(offset, slope, i, lower[i] ?? 0);
    if (leavesUpper <= left && reachesLower >= right) free.push(i);
    else tolerances[i] = leavesUpper >= right ? (upper[i] ?? 0) : (lower[i] ?? 0);
  }
  let budget = row.budget;
  for (let i = 0; i < count; i++) {
    if (free.includes(i)) continue;
    const coefficient = row.coefficients[i] ?? 0;
    if (coefficient > 0) budget -= coefficient * raised(tolerances[i] ?? 0, row.exponent);
  }
  const root = multiplierOf(problem, row, { offset, slope, free, budget, left, right });
  for (const i of free) {
    const value = Math.exp(((offset[i] ?? 0) - root.u) / (slope[i] ?? 1));
    tolerances[i] = Math.min(upper[i] ?? 0, Math.max(lower[i] ?? 0, value));
  }
  return {
    tolerances,
    multiplier: Math.exp(root.u),
    method: root.steps === 0 ? 'closed-form' : 'one-equation',
    steps: root.steps,
  };
}

/** log multiplier at which contributor i would stand at the bound. */
function kinkAt(offset: Float64Array, slope: Float64Array, i: number, bound: number): number {
  return (offset[i] ?? 0) - (slope[i] ?? 1) * Math.log(bound);
}

interface FreeSegment {
  readonly offset: Float64Array;
  readonly slope: Float64Array;
  readonly free: readonly number[];
  /** What the contributors at bounds leave of the row's budget. */
  readonly budget: number;
  readonly left: number;
  readonly right: number;
}

function multiplierOf(
  problem: CurveProblem,
  row: BudgetRow,
  segment: FreeSegment,
): { u: number; steps: number } {
  const { offset, slope, free, budget, left, right } = segment;
  const hold = (u: number): number => Math.min(right, Math.max(left, u));
  const first = free[0];
  // every contributor at a bound: any multiplier between the two kinks is optimal
  if (first === undefined || budget <= 0)
    return { u: Number.isFinite(left) ? left : right, steps: 0 };
  const e = row.exponent;
  const logTerm = (i: number, u: number): number =>
    Math.log(row.coefficients[i] ?? 0) + (e * ((offset[i] ?? 0) - u)) / (slope[i] ?? 1);
  const equal = free.every((i) => problem.power[i] === problem.power[first]);
  if (equal) {
    let sum = 0;
    for (const i of free) sum += Math.exp(logTerm(i, 0));
    return { u: hold(((slope[first] ?? 1) / e) * Math.log(sum / budget)), steps: 0 };
  }
  // log of the use is convex and falling in u: Newton is monotone after its first step
  let u = Number.isFinite(left) ? left : Number.isFinite(right) ? right : 0;
  let steps = 0;
  while (steps < 100) {
    steps++;
    let sum = 0;
    let fall = 0;
    for (const i of free) {
      const term = Math.exp(logTerm(i, u));
      sum += term;
      fall += (term * e) / (slope[i] ?? 1);
    }
    const change = (Math.log(sum / budget) * sum) / fall;
    u += change;
    if (Math.abs(change) <= 1e-15 * Math.max(1, Math.abs(u))) break;
  }
  return { u: hold(u), steps };
}
