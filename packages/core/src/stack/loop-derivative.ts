import { type Matrix, solveLinear } from '../numeric/linear-algebra.js';
import {
  type CompiledLoop,
  loopSensitivities,
  together,
  unknownJacobian,
} from './loop-equations.js';
import { programGradient, programHessian } from './tree-derivative.js';

const transpose = (matrix: Matrix): number[][] =>
  (matrix[0] ?? []).map((_, j) => matrix.map((row) => row[j] ?? 0));

/** Multipliers of the equations: solution of (d equations / d unknowns)' m = d result / d unknowns. */
function multipliers(compiled: CompiledLoop, point: readonly number[]): readonly number[] {
  const slopes = [...programGradient(compiled.result, point).slice(compiled.variables.length)];
  const found = solveLinear(transpose(unknownJacobian(compiled, point)), slopes);
  return found ?? slopes.map(() => Number.NaN);
}

export function loopGradient(
  compiled: CompiledLoop,
  x: ArrayLike<number>,
  unknowns: readonly number[] | undefined,
): Float64Array {
  const n = compiled.variables.length;
  if (unknowns === undefined) return new Float64Array(n).fill(Number.NaN);
  const point = together(compiled, x, unknowns);
  const gradient = programGradient(compiled.result, point).slice(0, n);
  const weights = multipliers(compiled, point);
  compiled.equations.forEach((equation, k) => {
    const slopes = programGradient(equation, point);
    for (let i = 0; i < n; i++)
      gradient[i] = (gradient[i] ?? 0) - (weights[k] ?? 0) * (slopes[i] ?? 0);
  });
  return gradient;
}

/** With T = [identity; sensitivities]: T' (H of result - sum of multiplier * H of equation) T. */
export function loopHessian(
  compiled: CompiledLoop,
  x: ArrayLike<number>,
  unknowns: readonly number[] | undefined,
): Float64Array {
  const n = compiled.variables.length;
  if (unknowns === undefined) return new Float64Array(n * n).fill(Number.NaN);
  const point = together(compiled, x, unknowns);
  const size = point.length;
  const inner = programHessian(compiled.result, point);
  const weights = multipliers(compiled, point);
  compiled.equations.forEach((equation, k) => {
    const part = programHessian(equation, point);
    for (let at = 0; at < inner.length; at++) {
      inner[at] = (inner[at] ?? 0) - (weights[k] ?? 0) * (part[at] ?? 0);
    }
  });
  const sensitivities = loopSensitivities(compiled, point);
  const rates = compiled.variables.map((_, i) =>
    point.map((_, a) => (a < n ? Number(a === i) : (sensitivities[a - n]?.[i] ?? 0))),
  );
  const hessian = new Float64Array(n * n);
  rates.forEach((left, i) => {
    const row = point.map((_, b) =>
      left.reduce((sum, rate, a) => sum + (rate === 0 ? 0 : rate * (inner[a * size + b] ?? 0)), 0),
    );
    rates.forEach((right, j) => {
      hessian[i * n + j] = right.reduce((sum, rate, b) => sum + rate * (row[b] ?? 0), 0);
    });
  });
  return hessian;
}
