import { betaLower } from './beta-function.js';
import { logGamma } from './gamma.js';
import { normalQuantile } from './normal.js';
import { newtonInBracket } from './roots.js';

/** Upper tail P(T > t) of Student's t with `degrees` > 0 degrees of freedom. */
export function studentUpperTail(t: number, degrees: number): number {
  if (t < 0) return 1 - studentUpperTail(-t, degrees);
  const square = t * t;
  const whole = degrees + square;
  return 0.5 * betaLower(degrees / 2, 0.5, degrees / whole, square / whole);
}

/** P(T <= t). */
export function studentCdf(t: number, degrees: number): number {
  return studentUpperTail(-t, degrees);
}

/** Density. */
export function studentPdf(t: number, degrees: number): number {
  const log =
    logGamma((degrees + 1) / 2) -
    logGamma(degrees / 2) -
    0.5 * Math.log(degrees * Math.PI) -
    ((degrees + 1) / 2) * Math.log1p((t * t) / degrees);
  return Math.exp(log);
}

/** Quantile: t with P(T <= t) = p. */
export function studentQuantile(p: number, degrees: number): number {
  if (!(p >= 0 && p <= 1 && degrees > 0)) return Number.NaN;
  if (p === 0) return Number.NEGATIVE_INFINITY;
  if (p === 1) return Number.POSITIVE_INFINITY;
  if (p > 0.5) return -studentQuantile(1 - p, degrees);
  if (p === 0.5) return 0;
  const target = Math.log(p);
  const z = -normalQuantile(p);
  const start = z + (z ** 3 + z) / (4 * degrees);
  // the tail falls as t^-degrees: a power of p brackets it
  const far = 2 * Math.max(start, Math.sqrt(degrees) * p ** (-1 / degrees));
  const t = newtonInBracket(
    (x) => {
      const tail = studentUpperTail(x, degrees);
      return [target - Math.log(tail), studentPdf(x, degrees) / tail];
    },
    0,
    far,
    start,
  );
  return -t;
}
