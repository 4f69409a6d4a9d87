import { gammaLower, gammaUpper, poissonTerm } from './gamma.js';
import { normalQuantile } from './normal.js';
import { newtonInBracket } from './roots.js';

/** P(chi-squared <= x) with `degrees` > 0 degrees of freedom. */
export function chiSquaredCdf(x: number, degrees: number): number {
  return gammaLower(degrees / 2, x / 2);
}

/** P(chi-squared > x). */
export function chiSquaredUpperTail(x: number, degrees: number): number {
  return gammaUpper(degrees / 2, x / 2);
}

/** Density at x > 0. */
export function chiSquaredPdf(x: number, degrees: number): number {
  return (poissonTerm(degrees / 2, x / 2) * degrees) / (2 * x);
}

/** Quantile: x with P(chi-squared <= x) = p, 0 < p < 1. */
export function chiSquaredQuantile(p: number, degrees: number): number {
  if (!(p >= 0 && p <= 1 && degrees > 0)) return Number.NaN;
  if (p === 0) return 0;
  if (p === 1) return Number.POSITIVE_INFINITY;
  // Wilson and Hilferty's cube as a start
  const c = 2 / (9 * degrees);
  const start = degrees * Math.max(1 - c + normalQuantile(p) * Math.sqrt(c), 1e-3) ** 3;
  const logTarget = p < 0.5 ? Math.log(p) : Math.log1p(-p);
  // On the log of the nearer tail: both tails keep their relative accuracy.
  return newtonInBracket(
    (x) => {
      const tail = p < 0.5 ? chiSquaredCdf(x, degrees) : chiSquaredUpperTail(x, degrees);
      const density = chiSquaredPdf(x, degrees);
      const sign = p < 0.5 ? 1 : -1;
      return [sign * (Math.log(tail) - logTarget), density / tail];
    },
    0,
    20 * degrees + 2000,
    start,
  );
}
