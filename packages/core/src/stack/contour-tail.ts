import { erfc } from '../numeric/error-function.js';
import { blockLength, type TransformFactor } from './transform-factor.js';

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
  const c = saddlePoint(sum, gap, x);
  const peak = logTransform(sum, gap, c) - Math.log(c);
  // below the smallest double
  if (peak < -745) return { tail: 0, density: 0, error: 0 };
  const period = periodFor(sum, gap, c, peak);
  const step = (2 * Math.PI) / period;
  const weight = (Math.exp(peak) * step) / Math.PI;

  // each factor is divided by its value at the saddle, so that the integrand of the tail begins at 1
  const scales = factors.map((factor) => Math.exp(-logOf(factor, c)));
  const turn = variance * c + gap;
  const re = new Float64Array(blockLength);
  const im = new Float64Array(blockLength);
  let tails = new Float64Array(firstCheck);
  let densities = new Float64Array(firstCheck);
  let settled = Number.POSITIVE_INFINITY;
  for (let first = 0; ; first += blockLength) {
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
    for (let j = 0; j < blockLength; j++) {
      const t = step * (first + j);
      const size = c * Math.exp(-0.5 * variance * t * t);
      re[j] = size * Math.cos(turn * t);
      im[j] = size * Math.sin(turn * t);
    }
    factors.forEach((factor, i) => {
      factor.multiply(re, im, c, step, first);
      const scale = scales[i] ?? 1;
      for (let j = 0; j < blockLength; j++) {
        re[j] = (re[j] ?? 0) * scale;
        im[j] = (im[j] ?? 0) * scale;
      }
    });
    let largest = 0;
    for (let j = 0; j < blockLength; j++) {
      const t = step * (first + j);
      const r = re[j] ?? 0;
      const i = im[j] ?? 0;
      const half = first + j === 0 ? 0.5 : 1;
      const square = c * c + t * t;
      tails[first + j] = (half * (r * c + i * t)) / square;
      densities[first + j] = half * r;
      // over the end of the block: long enough that a zero crossing does not pass for the end
      if (j >= blockLength - 16) largest = Math.max(largest, (r * r + i * i) / square);
    }
    // an integrand that falls as t^-(decay + 1) has t / decay times its size still to come
    const count = first + blockLength;
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

const firstCheck = 128;

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

/** Weights that fade from 1 to 0 over a second half of the given length. */
const fades = new Map<number, Float64Array>();

function fadeOver(length: number): Float64Array {
  let fade = fades.get(length);
  if (fade === undefined) {
    const half = 0.5 * length;
    fade = Float64Array.from({ length }, (_, k) => 0.5 * erfc((4 * (k - half)) / half));
    fades.set(length, fade);
  }
  return fade;
}

/**
 * Sum over `count` nodes that fades out smoothly over the second half: what oscillates beyond the
 * cut, as it does wherever x is not at an edge of the distribution, then cancels of itself.
 */
function cutOff(values: Float64Array, count: number): number {
  const half = count / 2;
  const fade = fadeOver(half);
  let sum = plainSum(values, half);
  for (let k = 0; k < half; k++) sum += (fade[k] ?? 0) * (values[half + k] ?? 0);
  return sum;
}

const logs = new Float64Array(3);

function logOf(factor: TransformFactor, c: number): number {
  logs.fill(0);
  factor.addLog(c, logs);
  return logs[0] ?? 0;
}

/** log(M(c) exp(-c x)) with `gap` the distance from x to the top; its derivatives are left in `logs`. */
function logTransform(sum: TransformSum, gap: number, c: number): number {
  logs[0] = 0.5 * sum.variance * c * c + gap * c;
  logs[1] = sum.variance * c + gap;
  logs[2] = sum.variance;
  for (const factor of sum.factors) factor.addLog(c, logs);
  return logs[0];
}

/**
 * Minimum over c > 0 of log(M(c) exp(-c x) / c), by Newton on log c. Ten per cent are enough: the
 * integral does not depend on c.
 */
function saddlePoint(sum: TransformSum, gap: number, x: number): number {
  const off = x - sum.totalMean;
  const spread = sum.totalSd * sum.totalSd;
  let c = (off + Math.sqrt(off * off + 4 * spread)) / (2 * spread);
  for (let iteration = 0; iteration < 60; iteration++) {
    logTransform(sum, gap, c);
    const slope = c * (logs[1] ?? 0);
    const bend = slope + c * c * (logs[2] ?? 0);
    const wanted = bend > 0 ? (1 - slope) / bend : 1.5;
    const change = Math.max(-1.5, Math.min(1.5, wanted));
    c *= Math.exp(change);
    if (Math.abs(change) < 0.1) break;
  }
  return c;
}

/**
 * Period 2 pi / step at which the neighbouring copies are negligible: the copy below weighs
 * exp(-c L) P(S > x - L), the copy above exp(c L) P(S > x + L), which Chernoff's bound limits.
 */
function periodFor(sum: TransformSum, gap: number, c: number, peak: number): number {
  const below = (copyExponent - peak) / c;
  if (sum.variance === 0 && gap <= below) return below;
  logTransform(sum, gap, c);
  const spread = Math.sqrt(Math.max(logs[2] ?? 0, 1e-12 / (c * c)));
  let above = sum.variance === 0 ? gap : Number.POSITIVE_INFINITY;
  for (const reach of [8, 5, 12, 3]) {
    if (above <= below) break;
    const shift = reach / spread;
    above = Math.min(above, (copyExponent + logTransform(sum, gap, c + shift) - peak) / shift);
  }
  return Math.max(below, above);
}
