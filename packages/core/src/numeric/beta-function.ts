import { logGamma, poissonDeviance, stirlingError } from './gamma.js';

/** log of the complete beta function B(a, b), a, b > 0. */
export function logBeta(a: number, b: number): number {
  const small = Math.min(a, b);
  const large = Math.max(a, b);
  if (small < 10) return logGamma(small) + (logGamma(large) - logGamma(large + small));
  const sum = a + b;
  return (
    0.9189385332046727 +
    stirlingError(a) +
    stirlingError(b) -
    stirlingError(sum) +
    (a - 0.5) * Math.log(a / sum) +
    b * Math.log(b / sum) -
    0.5 * Math.log(b)
  );
}

/** x^a y^b / B(a, b) with y = 1 - x given, by Loader's deviance form where a and b are large. */
function betaPower(a: number, b: number, x: number, y: number): number {
  if (a < 1 || b < 1) return Math.exp(a * Math.log(x) + b * Math.log(y) - logBeta(a, b));
  const n = a + b;
  const log =
    stirlingError(n) -
    stirlingError(a) -
    stirlingError(b) -
    poissonDeviance(a, n * x) -
    poissonDeviance(b, n * y);
  return Math.exp(log) * Math.sqrt((a * b) / (2 * Math.PI * n));
}

/** Continued fraction of the incomplete beta function (DLMF 8.17.22), modified Lentz. */
function betaFraction(a: number, b: number, x: number): number {
  const tiny = 1e-300;
  let c = 1;
  let d = 1 - ((a + b) * x) / (a + 1);
  if (Math.abs(d) < tiny) d = tiny;
  d = 1 / d;
  let value = d;
  for (let m = 1; m < 100_000; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 + even * d;
    if (Math.abs(d) < tiny) d = tiny;
    c = 1 + even / c;
    if (Math.abs(c) < tiny) c = tiny;
    d = 1 / d;
    value *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 + odd * d;
    if (Math.abs(d) < tiny) d = tiny;
    c = 1 + odd / c;
    if (Math.abs(c) < tiny) c = tiny;
    d = 1 / d;
    const step = d * c;
    value *= step;
    if (Math.abs(step - 1) < 1e-16) break;
  }
  return value;
}

/**
 * Regularised incomplete beta function I_x(a, b); `y` is 1 - x where the caller knows it better
 * than the subtraction does. Relative error about 1e-14 in both tails.
 */
export function betaLower(a: number, b: number, x: number, y: number = 1 - x): number {
  if (!(a > 0 && b > 0) || Number.isNaN(x)) return Number.NaN;
  if (x <= 0) return 0;
  if (y <= 0) return 1;
  if (x < (a + 1) / (a + b + 2)) return (betaPower(a, b, x, y) * betaFraction(a, b, x)) / a;
  return 1 - (betaPower(b, a, y, x) * betaFraction(b, a, y)) / b;
}

/** 1 - I_x(a, b) without the subtraction. */
export function betaUpper(a: number, b: number, x: number, y: number = 1 - x): number {
  return betaLower(b, a, y, x);
}

/** Density of the beta distribution on 0 to 1. */
export function betaPdf(a: number, b: number, x: number): number {
  if (x < 0 || x > 1) return 0;
  if (x === 0) return a < 1 ? Number.POSITIVE_INFINITY : a === 1 ? b : 0;
  if (x === 1) return b < 1 ? Number.POSITIVE_INFINITY : b === 1 ? a : 0;
  return betaPower(a, b, x, 1 - x) / (x * (1 - x));
}
