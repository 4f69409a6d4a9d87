import { type BudgetRow, rowUse } from './allocation-model.js';

/**
 * Least-cost problem on plain arrays: minimise sum scale / T^power over lower <= T <= upper and the
 * rows. A scale of 0 marks a contributor whose tolerance does not move (lower = upper).
 */
export interface CurveProblem {
  readonly scale: Float64Array;
  readonly power: Float64Array;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  readonly rows: readonly BudgetRow[];
}

/** Weights on T and T^2 that the multipliers put on one contributor. */
export interface Weights {
  readonly linear: number;
  readonly square: number;
}

export function weightsOn(
  rows: readonly BudgetRow[],
  multipliers: ArrayLike<number>,
  contributor: number,
): Weights {
  let linear = 0;
  let square = 0;
  rows.forEach((row, j) => {
    const weight = (multipliers[j] ?? 0) * (row.coefficients[contributor] ?? 0);
    if (row.exponent === 1) linear += weight;
    else square += weight;
  });
  return { linear, square };
}

/** The T in the bounds that minimises scale / T^power + linear T + square T^2. */
export function cheapestTolerance(
  scale: number,
  power: number,
  lower: number,
  upper: number,
  { linear, square }: Weights,
): number {
  if (scale <= 0) return lower;
  if (linear <= 0 && square <= 0) return upper;
  const pull = Math.log(power * scale);
  // stationary point in y = log T: log(linear e^y + 2 square e^2y) + power y = pull
  const alone = Math.min(
    linear > 0 ? (pull - Math.log(linear)) / (power + 1) : Number.POSITIVE_INFINITY,
    square > 0 ? (pull - Math.log(2 * square)) / (power + 2) : Number.POSITIVE_INFINITY,
  );
  let y = alone;
  if (linear > 0 && square > 0) {
    // slope lies between power + 1 and power + 2, so Newton needs few steps
    for (let step = 0; step < 50; step++) {
      const first = linear * Math.exp(y);
      const second = 2 * square * Math.exp(2 * y);
      const error = Math.log(first + second) + power * y - pull;
      const change = error / (power + (first + 2 * second) / (first + second));
      y -= change;
      if (Math.abs(change) <= 1e-15 * Math.max(1, Math.abs(y))) break;
    }
  }
  return Math.min(upper, Math.max(lower, Math.exp(y)));
}

/**
 * Lagrangian lower bound on the cost for any multipliers >= 0 (weak duality). The minimisation over
 * the tolerances splits by contributor and is done in closed form, so the bound is exact.
 */
export function dualBound(problem: CurveProblem, multipliers: ArrayLike<number>): number {
  const { scale, power, lower, upper, rows } = problem;
  let bound = 0;
  for (let i = 0; i < scale.length; i++) {
    const b = scale[i] ?? 0;
    const k = power[i] ?? 1;
    const weights = weightsOn(rows, multipliers, i);
    const t = cheapestTolerance(b, k, lower[i] ?? 0, upper[i] ?? 0, weights);
    if (b > 0) bound += b / t ** k;
    if (weights.linear > 0) bound += weights.linear * t;
    if (weights.square > 0) bound += weights.square * t * t;
  }
  rows.forEach((row, j) => {
    bound -= (multipliers[j] ?? 0) * row.budget;
  });
  return bound;
}

export function curveCost(problem: CurveProblem, tolerances: ArrayLike<number>): number {
  let cost = 0;
  for (let i = 0; i < problem.scale.length; i++) {
    const b = problem.scale[i] ?? 0;
    if (b > 0) cost += b / (tolerances[i] ?? 0) ** (problem.power[i] ?? 1);
  }
  return cost;
}

/** Largest relative error of the Karush-Kuhn-Tucker conditions at a point. */
export function kktResidual(
  problem: CurveProblem,
  tolerances: ArrayLike<number>,
  multipliers: ArrayLike<number>,
): number {
  const { scale, power, lower, upper, rows } = problem;
  const cost = curveCost(problem, tolerances);
  let worst = 0;
  for (let i = 0; i < scale.length; i++) {
    const b = scale[i] ?? 0;
    const t = tolerances[i] ?? 0;
    if (b <= 0 || (lower[i] ?? 0) >= (upper[i] ?? 0)) continue;
    const k = power[i] ?? 1;
    const weights = weightsOn(rows, multipliers, i);
    const gain = (k * b) / t ** (k + 1);
    const error = (weights.linear + 2 * weights.square * t - gain) / gain;
    if (t <= (lower[i] ?? 0)) worst = Math.max(worst, -error);
    else if (t >= (upper[i] ?? 0)) worst = Math.max(worst, error);
    else worst = Math.max(worst, Math.abs(error));
  }
  rows.forEach((row, j) => {
    const left = row.budget - rowUse(row, tolerances);
    worst = Math.max(worst, -left / row.budget);
    if (cost > 0) worst = Math.max(worst, ((multipliers[j] ?? 0) * Math.max(0, left)) / cost);
  });
  return worst;
}
