import { type CurveProblem, dualBound, kktResidual } from './allocation-dual.js';
import { type BudgetRow, roundingShare, rowUse } from './allocation-model.js';
import { solveOneRow } from './allocation-one-row.js';
import { solveSeveralRows } from './allocation-several-rows.js';
import type { OptimalityCertificate } from './allocation-types.js';

export interface CurveSolution {
  readonly tolerances: Float64Array;
  /** By row. */
  readonly multipliers: Float64Array;
  readonly method: 'closed-form' | 'one-equation' | 'newton' | 'bounds';
  readonly steps: number;
}

/**
 * Least cost of a problem that is feasible at its lower bounds. Rows that no choice can exceed drop
 * out, rows that the lower bounds use up pin their contributors, and what is left is solved by the
 * one-row or the several-row method.
 */
export function solveCurves(problem: CurveProblem): CurveSolution {
  const { scale, power, lower, rows } = problem;
  const upper = problem.upper.slice();
  const multipliers = new Float64Array(rows.length);
  const live: number[] = [];
  rows.forEach((row, j) => {
    if (rowUse(row, lower) < row.budget * (1 - roundingShare)) return;
    for (let i = 0; i < scale.length; i++) {
      const b = scale[i] ?? 0;
      const coefficient = row.coefficients[i] ?? 0;
      if (coefficient <= 0 || b <= 0) continue;
      const t = lower[i] ?? 0;
      const k = power[i] ?? 1;
      // the least multiplier that keeps this contributor from wanting more
      const least = (k * b) / (row.exponent * coefficient * t ** (k + row.exponent));
      multipliers[j] = Math.max(multipliers[j] ?? 0, least);
      upper[i] = t;
    }
  });
  rows.forEach((row, j) => {
    if (rowUse(row, upper) > row.budget * (1 + roundingShare)) live.push(j);
  });
  const liveRows = live.flatMap((j) => rows[j] ?? []);
  const inner: CurveProblem = { scale, power, lower, upper, rows: liveRows };
  const [only] = liveRows;
  if (only === undefined) return { tolerances: upper, multipliers, method: 'bounds', steps: 0 };
  if (liveRows.length === 1) {
    const one = solveOneRow(inner, only);
    multipliers[live[0] ?? 0] = one.multiplier;
    return { tolerances: one.tolerances, multipliers, method: one.method, steps: one.steps };
  }
  const moving: number[] = [];
  scale.forEach((b, i) => {
    const inRow = liveRows.some((row) => (row.coefficients[i] ?? 0) > 0);
    if (b > 0 && (lower[i] ?? 0) < (upper[i] ?? 0) && inRow) moving.push(i);
  });
  const solved = solveSeveralRows(keepOnly(inner, moving));
  const tolerances = upper;
  moving.forEach((i, at) => {
    tolerances[i] = solved.tolerances[at] ?? 0;
  });
  live.forEach((j, at) => {
    multipliers[j] = solved.multipliers[at] ?? 0;
  });
  return { tolerances, multipliers, method: 'newton', steps: solved.steps };
}

/** The problem in the moving contributors, the others taken off the budgets. */
function keepOnly(problem: CurveProblem, moving: readonly number[]): CurveProblem {
  const pick = (from: Float64Array): Float64Array => Float64Array.from(moving, (i) => from[i] ?? 0);
  const still = problem.upper.map((hi, i) => (moving.includes(i) ? 0 : hi));
  const rows = problem.rows.map(
    (row): BudgetRow => ({
      ...row,
      coefficients: pick(row.coefficients),
      budget: row.budget - rowUse(row, still),
    }),
  );
  return {
    scale: pick(problem.scale),
    power: pick(problem.power),
    lower: pick(problem.lower),
    upper: pick(problem.upper),
    rows,
  };
}

/** Proof figures of a solution; `constant` is the part of the cost that does not depend on it. */
export function certify(
  problem: CurveProblem,
  solution: CurveSolution,
  cost: number,
  constant: number,
): OptimalityCertificate {
  const bound = Math.min(cost, constant + dualBound(problem, solution.multipliers));
  return {
    method: solution.method,
    lowerBound: bound,
    gap: (cost - bound) / Math.max(1e-300, Math.abs(cost)),
    kktResidual: kktResidual(problem, solution.tolerances, solution.multipliers),
    steps: solution.steps,
  };
}
