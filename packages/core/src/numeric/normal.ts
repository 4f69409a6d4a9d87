import { erfc, erfcx } from './error-function.js';

const sqrtHalf = Math.SQRT1_2;
const logSqrt2Pi = 0.9189385332046727;
const density0 = 0.3989422804014327;

/** Standard normal density. */
export function normalPdf(z: number): number {
  return density0 * Math.exp(-0.5 * z * z);
}

/** exp(-z^2/2) with the square taken in two parts, so that large z keeps its relative accuracy. */
function bell(z: number): number {
  const near = Math.trunc(z * 16) / 16;
  return Math.exp(-0.5 * near * near) * Math.exp(-0.5 * (z - near) * (z + near));
}

/** Upper tail P(Z > z), never taken as 1 - cdf. Relative error below 1e-15 down to 1e-300. */
export function normalUpperTail(z: number): number {
  if (z < 0.67) return 0.5 * erfc(z * sqrtHalf);
  if (z > 39) return 0;
  return bell(z) * 0.5 * erfcx(z * sqrtHalf);
}

/** Standard normal distribution function P(Z <= z), as accurate as `normalUpperTail`. */
export function normalCdf(z: number): number {
  return normalUpperTail(-z);
}

/** log P(Z > z), also where the tail itself underflows. */
export function logNormalUpperTail(z: number): number {
  if (z < 1) return Math.log1p(-normalCdf(z));
  return -0.5 * z * z + Math.log(0.5 * erfcx(z * sqrtHalf));
}

/** P(a < Z <= b), taken from the side where nothing cancels. */
export function normalBetween(a: number, b: number): number {
  return a > 0 ? normalUpperTail(a) - normalUpperTail(b) : normalCdf(b) - normalCdf(a);
}

/** Mills ratio P(Z > z) / density(z). */
export function millsRatio(z: number): number {
  return Math.exp(logSqrt2Pi) * 0.5 * erfcx(z * sqrtHalf);
}

const ratio = (top: readonly number[], bottom: readonly number[], r: number): number => {
  let above = 0;
  let below = 0;
  for (const coefficient of top) above = above * r + coefficient;
  for (const coefficient of bottom) below = below * r + coefficient;
  return above / below;
};

// M. J. Wichura, Algorithm AS 241 (PPND16), Appl. Statist. 37 (1988) 477, doi 10.2307/2347330.
// Highest power first.
const centreTop = [
  2509.0809287301227, 33430.57558358813, 67265.7709270087, 45921.95393154987, 13731.69376550946,
  1971.5909503065513, 133.14166789178438, 3.3871328727963665,
];
const centreBottom = [
  5226.495278852854, 28729.085735721943, 39307.89580009271, 21213.794301586597, 5394.196021424751,
  687.1870074920579, 42.31333070160091, 1,
];
const tailTop = [
  0.0007745450142783414, 0.022723844989269184, 0.2417807251774506, 1.2704582524523684,
  3.6478483247632045, 5.769497221460691, 4.630337846156546, 1.4234371107496835,
];
const tailBottom = [
  1.0507500716444169e-9, 0.0005475938084995345, 0.015198666563616457, 0.14810397642748008,
  0.6897673349851, 1.6763848301838038, 2.053191626637759, 1,
];
const farTop = [
  2.0103343992922881e-7, 2.7115555687434876e-5, 0.0012426609473880784, 0.026532189526576124,
  0.29656057182850487, 1.7848265399172913, 5.463784911164114, 6.657904643501103,
];
const farBottom = [
  2.0442631033899397e-15, 1.421511758316446e-7, 1.8463183175100548e-5, 0.0007868691311456133,
  0.014875361290850615, 0.1369298809227358, 0.599832206555888, 1,
];

/** Quantile for p <= 1/2 given p, or given sqrt(-log p) when p is beyond doubles. */
function lowerQuantile(p: number): number {
  const q = p - 0.5;
  if (q >= -0.425) return q * ratio(centreTop, centreBottom, 0.180625 - q * q);
  const r = Math.sqrt(-Math.log(p));
  return r <= 5 ? -ratio(tailTop, tailBottom, r - 1.6) : -ratio(farTop, farBottom, r - 5);
}

/**
 * Standard normal quantile: z with P(Z <= z) = p, by algorithm AS 241 (relative error 1e-15 for p
 * down to 1e-300). For an upper tail use `normalUpperQuantile`, which does not need 1 - p.
 * NaN outside 0 to 1.
 */
export function normalQuantile(p: number): number {
  if (!(p >= 0 && p <= 1)) return Number.NaN;
  if (p === 0) return Number.NEGATIVE_INFINITY;
  if (p === 1) return Number.POSITIVE_INFINITY;
  return p <= 0.5 ? lowerQuantile(p) : -lowerQuantile(1 - p);
}

/** z with P(Z > z) = q. */
export function normalUpperQuantile(q: number): number {
  return -normalQuantile(q);
}
