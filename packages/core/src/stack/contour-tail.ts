import { erfc } from '../numeric/error-function.js';
import type { TransformFactor } from './transform-factor.js';

/** A sum of a normal part and bounded terms, ready for inversion. */
export interface TransformSum {
  /** Normal part: mean (all constants in it) and variance. */
  readonly mean: number;
  readonly variance: number;
  readonly factors: readonly TransformFactor[];
  /** Mean and standard deviation of the whole sum. */
  readonly totalMean: number;
  readonly totalSd: number;
}

export interface TailValue {
  /** P(S > x). */
  readonly tail: number;
  readonly density: number;
  /** Bound on the relative error of `tail`. */
  readonly error: number;
}

const block = 16;
/** exp(-33) = 5e-15: what the periodic copies of the sum may weigh. */
const copyExponent = 33;

/**
 * Upper tail of a sum by its moment generating function: the inversion integral
 *
 *   P(S > x) = 1/(2 pi i) * integral of M(s) exp(-s x) / s along Re s = c > 0
 *
 * on the vertical line through the saddle point c of the integrand, by the trapezoidal rule (S. O.
 * Rice, SIAM J. Sci. Stat. Comput. 1 (1980) 438; the saddle point: H. E. Daniels, Ann. Math. Stat.
 * 25 (1954) 631). Shifting the line to the saddle tilts the distribution to x, so that accuracy is
 * relative to the tail itself. The step makes the periodic copies weigh less than 5e-15. Summing
 * stops when what is left is below `tolerance`, when a smooth cut-off of the sum has settled to it,
 * or at `maxNodes`; `error` says what was left.
 */
export function contourTail(
  sum: TransformSum,
  x: number,
  tolerance: number,
  maxNodes: number,
): TailValue {
  const { variance, factors } = sum;
  // distance from x up to the end of the support (of the bounded part)
  let gap = sum.mean - x;
  let decay = 0;
  let error = copyExponent * 4e-16;
  for (const factor of factors) {
    gap += factor.top;
    decay += factor.decay;
    error += factor.error;
  }
  if (variance === 0 && gap <= 0) return { tail: 0, density: 0, error: 0 };
  const logTransform = (c: number): number => {
    let value = 0.5 * variance * c * c + gap * c;
    for (const factor of factors) value += factor.logAt(c);
    return value;
  };
  const c = saddlePoint(logTransform, sum, x);
  const logAtSaddle = logTransform(c);
  const peak = logAtSaddle - Math.log(c);
  const step = (2 * Math.PI) / periodFor(logTransform, c, logAtSaddle, peak, variance, gap);
  const weight = (Math.exp(peak) * step) / Math.PI;

  // normalised so that the integrand of the tail is 1 at the saddle
  const scale = Math.exp(0.5 * variance * c * c + gap * c - peak);
  const turn = variance * c + gap;
  const re = new Float64Array(block);
  const im = new Float64Array(block);
  let tails = new Float64Array(firstCheck);
  let densities = new Float64Array(firstCheck);
  let settled = Number.POSITIVE_INFINITY;
  for (let first = 0; ; first += block) {
    if (first === tails.length) {
      const cut = cutOff(tails, first) * weight;
      const before = cutOff(tails, first / 2) * weight;
      settled = (2 * Math.abs(cut - before)) / Math.max(cut, 1e-300);
      if (settled < tolerance || first >= maxNodes) {
        const density = Math.max(0, cutOff(densities, first) * weight);
        return { tail: Math.max(0, cut), density, error: error + settled };
      }
      tails = grown(tails);
      densities = grown(densities);
    }
    for (let j = 0; j < block; j++) {
      const t = step * (first + j);
      const size = scale * Math.exp(-0.5 * variance * t * t);
      re[j] = size * Math.cos(turn * t);
      im[j] = size * Math.sin(turn * t);
    }
    for (const factor of factors) factor.multiply(re, im, c, step, first);
    let largest = 0;
    for (let j = 0; j < block; j++) {
      const t = step * (first + j);
      const r = re[j] ?? 0;
      const i = im[j] ?? 0;
      const half = first + j === 0 ? 0.5 : 1;
      const square = c * c + t * t;
      tails[first + j] = (half * (r * c + i * t)) / square;
      densities[first + j] = half * r;
      largest = Math.max(largest, (r * r + i * i) / square);
    }
    // an integrand that falls as t^-(decay + 1) has t / decay times its size still to come
    const count = first + block;
    const beyond = (Math.sqrt(largest) * count) / Math.max(decay, 1);
    if (beyond < tolerance) {
      const total = plainSum(tails, count);
      const left = beyond / Math.max(Math.abs(total), 1e-300);
      if (left < tolerance) {
        const density = Math.max(0, plainSum(densities, count) * weight);
        return { tail: Math.max(0, total * weight), density, error: error + left };
      }
    }
  }
}

const firstCheck = 512;

function grown(values: Float64Array): Float64Array<ArrayBuffer> {
  const larger = new Float64Array(2 * values.length);
  larger.set(values);
  return larger;
}

function plainSum(values: Float64Array, count: number): number {
  let sum = 0;
  for (let k = 0; k < count; k++) sum += values[k] ?? 0;
  return sum;
}

/**
 * Sum over `count` nodes that fades out smoothly over the second half: what oscillates beyond the
 * cut, as it does wherever x is not at an edge of the distribution, then cancels of itself.
 */
function cutOff(values: Float64Array, count: number): number {
  const half = count / 2;
  let sum = plainSum(values, half);
  for (let k = half; k < count; k++) {
    sum += 0.5 * erfc((5.5 * (k - 1.5 * half)) / (0.5 * half)) * (values[k] ?? 0);
  }
  return sum;
}

/**
 * Minimum over c > 0 of log(M(c) exp(-c x) / c), which is convex: Newton on log c with numerical
 * derivatives. A few per cent are enough, the integral does not depend on c.
 */
function saddlePoint(
  logTransform: (c: number) => number,
  sum: TransformSum,
  x: number,
): number {
  const off = x - sum.totalMean;
  const spread = sum.totalSd * sum.totalSd;
  let u = Math.log((off + Math.sqrt(off * off + 4 * spread)) / (2 * spread));
  const delta = 0.01;
  for (let iteration = 0; iteration < 60; iteration++) {
    const at = logTransform(Math.exp(u));
    const above = logTransform(Math.exp(u + delta));
    const below = logTransform(Math.exp(u - delta));
    const slope = (above - below) / (2 * delta) - 1;
    const bend = (above - 2 * at + below) / (delta * delta);
    const wanted = bend > 0 ? -slope / bend : -slope;
    const change = Math.max(-1.5, Math.min(1.5, wanted));
    u += change;
    if (Math.abs(change) < 0.03) break;
  }
  return Math.exp(u);
}

/**
 * Period 2 pi / step at which the neighbouring copies are negligible: the copy below weighs
 * exp(-c L) P(S > x - L), the copy above exp(c L) P(S > x + L), which Chernoff's bound limits.
 */
function periodFor(
  logTransform: (c: number) => number,
  c: number,
  logAtSaddle: number,
  peak: number,
  variance: number,
  gap: number,
): number {
  const below = (copyExponent - peak) / c;
  // d/dc of the log transform vanishes near the saddle up to 1/c; its second derivative is the
  // tilted variance
  const delta = 0.01 * c;
  const bend =
    (logTransform(c + delta) - 2 * logAtSaddle + logTransform(c - delta)) / (delta * delta);
  const spread = Math.sqrt(Math.max(bend, 1e-12 / (c * c)));
  let above = Number.POSITIVE_INFINITY;
  for (const reach of [3, 6, 9, 14]) {
    const shift = reach / spread;
    const bound = (copyExponent + logTransform(c + shift) - peak) / shift;
    above = Math.min(above, bound);
  }
  if (variance === 0) above = Math.min(above, gap);
  return Math.max(below, above);
}
