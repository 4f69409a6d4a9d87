import type { Matrix } from '../numeric/linear-algebra.js';
import type { Moments, StackFunction } from './types.js';

/** 0 times a moment that does not exist is 0: a linear term needs no fourth moment. */
const times = (a: number, b: number): number => (a === 0 || b === 0 ? 0 : a * b);

export interface SecondOrderMoments extends Moments {
  /** Value and standard deviation of the tangent plane at the means. */
  readonly firstOrder: { readonly mean: number; readonly sd: number };
}

/**
 * Moments of f(X) from its gradient g and Hessian H at the means, in the unit of the function.
 *
 * With covariance S, the quadratic form g'x + x'Hx/2 has, for jointly normal X, the cumulants
 * tr(HS)/2 + f, g'Sg + tr((HS)^2)/2, 3 g'SHSg + tr((HS)^3) and 12 g'S(HS)^2g + 3 tr((HS)^4)
 * (Mathai & Provost, Quadratic Forms in Random Variables, 1992, section 3.2b). For independent
 * contributors of other shapes the mean and the variance are those of the quadratic form exactly,
 * by their third and fourth central moments; skewness and kurtosis keep the terms that are of first
 * order in H. Correlated contributors count as jointly normal.
 *
 * @example
 * secondOrderMoments(treeFunction(compileExpression('x^2').tree), [{ mean: 0, sd: 1, skewness: 0, excessKurtosis: 0 }]).mean // -> 1
 */
export function secondOrderMoments(
  fn: StackFunction,
  contributors: readonly Moments[],
  correlation?: Matrix,
): SecondOrderMoments {
  const n = contributors.length;
  const means = contributors.map((contributor) => contributor.mean);
  const sds = contributors.map((contributor) => contributor.sd);
  const value = fn.value(means);
  // in units of each contributor's sd: g and H of the standardised contributors
  const slopes = fn.gradient(means);
  const curvatures = fn.hessian(means);
  const g = sds.map((sd, i) => sd * (slopes[i] ?? 0));
  const h = sds.map((sd, i) => sds.map((other, j) => sd * other * (curvatures[i * n + j] ?? 0)));
  const hs = correlation === undefined ? h : multiply(h, correlation);
  const sg = correlation === undefined ? g : correlation.map((row) => dot(row, g));

  const variance1 = dot(g, sg);
  const hs2 = multiply(hs, hs);
  const hsg = h.map((row) => dot(row, sg));
  const shsg = correlation === undefined ? hsg : correlation.map((row) => dot(row, hsg));
  let variance = variance1 + trace(hs2) / 2;
  let third = 3 * dot(sg, hsg) + traceOfProduct(hs2, hs);
  let fourth = 12 * dot(hsg, shsg) + 3 * traceOfProduct(hs2, hs2);
  if (correlation === undefined) {
    contributors.forEach(({ skewness, excessKurtosis }, i) => {
      const gi = g[i] ?? 0;
      const hii = h[i]?.[i] ?? 0;
      variance += times(gi * hii, skewness) + times((hii * hii) / 4, excessKurtosis);
      third += times(gi ** 3, skewness) + times(1.5 * gi * gi * hii, excessKurtosis);
      fourth += times(gi ** 4, excessKurtosis) + times(12 * gi * gi * dot(h[i] ?? [], g), skewness);
    });
  }
  return {
    mean: value + trace(hs) / 2,
    sd: Math.sqrt(variance),
    skewness: variance === 0 ? 0 : third / variance ** 1.5,
    excessKurtosis: variance === 0 ? 0 : fourth / variance ** 2,
    firstOrder: { mean: value, sd: Math.sqrt(variance1) },
  };
}

function dot(a: readonly number[], b: readonly number[]): number {
  let sum = 0;
  a.forEach((value, i) => {
    sum += value * (b[i] ?? 0);
  });
  return sum;
}

function multiply(a: Matrix, b: Matrix): number[][] {
  return a.map((row) =>
    row.map((_, j) =>
      dot(
        row,
        b.map((other) => other[j] ?? 0),
      ),
    ),
  );
}

function trace(a: Matrix): number {
  return a.reduce((sum, row, i) => sum + (row[i] ?? 0), 0);
}

function traceOfProduct(a: Matrix, b: Matrix): number {
  return a.reduce(
    (sum, row, i) =>
      sum +
      dot(
        row,
        b.map((other) => other[i] ?? 0),
      ),
    0,
  );
}
