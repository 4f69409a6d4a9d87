import type { Matrix } from '../numeric/linear-algebra.js';
import { normalQuantile } from '../numeric/normal.js';
import { newtonInBracket } from '../numeric/roots.js';
import type { TailValue } from './contour-tail.js';
import { discreteSum } from './discrete-sum.js';
import { type OneSidedSum, oneSidedSum } from './one-sided-sum.js';
import { shapeMoments } from './shape-moments.js';
import { shapeQuantile } from './shape-quantile.js';
import { shapeSupport } from './shape-tail.js';
import { transformShape } from './shape-transform.js';
import type { Interval, Moments, NotApplicable, Shape } from './types.js';

/** The distribution of a linear chain. All lengths in the unit of its terms. */
export interface SumDistribution {
  readonly moments: Moments;
  readonly support: Interval;
  /** How tails are computed. */
  readonly by: string;
  /** P(S > x), with the bound on its relative error. */
  upperTail(x: number): TailValue;
  /** P(S < x). */
  lowerTail(x: number): TailValue;
  /** x with P(S <= x) = p, 0 < p < 1. */
  quantile(p: number): number;
}

/** One term of a chain, its coefficient applied. */
export interface SumTerm {
  readonly shape: Shape;
  readonly moments: Moments;
  /** Sign of the coefficient, which correlation needs. */
  readonly sign: number;
}

/** The term coefficient * X, with X given by its shape and moments. */
export function sumTerm(shape: Shape, moments: Moments, coefficient: number): SumTerm {
  const sign = Math.sign(coefficient);
  return {
    shape: transformShape(shape, coefficient, 0),
    moments: {
      mean: coefficient * moments.mean,
      sd: Math.abs(coefficient) * moments.sd,
      skewness: sign * moments.skewness,
      excessKurtosis: sign === 0 ? 0 : moments.excessKurtosis,
    },
    sign,
  };
}

/** Moments of a sum by its cumulants; correlated terms count as jointly normal. */
export function sumMoments(
  terms: readonly SumTerm[],
  constant: number,
  correlation?: Matrix,
): Moments {
  let mean = constant;
  let variance = 0;
  let third = 0;
  let fourth = 0;
  terms.forEach(({ moments: part, sign }, i) => {
    mean += part.mean;
    const row = correlation?.[i];
    const isAlone = row === undefined || row.every((value, j) => j === i || value === 0);
    variance += part.sd * part.sd;
    if (isAlone) {
      if (part.sd === 0) return;
      third += part.sd ** 3 * part.skewness;
      fourth += part.sd ** 4 * part.excessKurtosis;
      return;
    }
    terms.forEach(({ moments: other, sign: otherSign }, j) => {
      if (j !== i) variance += sign * otherSign * part.sd * other.sd * (row[j] ?? 0);
    });
  });
  variance = Math.max(0, variance);
  return {
    mean,
    sd: Math.sqrt(variance),
    skewness: variance === 0 ? 0 : third / variance ** 1.5,
    excessKurtosis: variance === 0 ? 0 : fourth / (variance * variance),
  };
}

/**
 * Exact distribution of the sum of the terms and a constant. Correlated terms must be normal: they
 * are merged first.
 */
export function sumDistribution(
  terms: readonly SumTerm[],
  constant: number,
  correlation?: Matrix,
): SumDistribution | NotApplicable {
  const shapes: Shape[] = [{ kind: 'constant', value: constant }];
  const moments = sumMoments(terms, constant, correlation);
  const dependent = new Set<number>();
  correlation?.forEach((row, i) => {
    row.forEach((value, j) => {
      if (i !== j && value !== 0) dependent.add(i);
    });
  });
  let variance = 0;
  for (const i of dependent) {
    const shape = terms[i]?.shape;
    if (shape?.kind === 'constant') continue;
    if (shape?.kind !== 'normal') {
      return { reason: 'correlated contributors of other than normal shape: use Monte Carlo' };
    }
    shapes.push({ kind: 'constant', value: shape.mean });
    for (const j of dependent) {
      const other = terms[j]?.shape;
      if (other?.kind !== 'normal') continue;
      const signs = (terms[i]?.sign ?? 0) * (terms[j]?.sign ?? 0);
      variance += signs * shape.sd * other.sd * (correlation?.[i]?.[j] ?? 0);
    }
  }
  // fully correlated links may cancel to rounding
  if (variance > 1e-15 * moments.sd * moments.sd) {
    shapes.push({ kind: 'normal', mean: 0, sd: Math.sqrt(variance) });
  }
  terms.forEach(({ shape }, i) => {
    if (!dependent.has(i)) shapes.push(shape);
  });
  const varied = shapes.filter((shape) => shape.kind !== 'constant');
  if (varied.length > 1 && varied.some((shape) => shape.kind === 'student-t')) {
    return { reason: 'a Student t has no moment generating function: use Monte Carlo' };
  }
  if (varied.length > 0 && varied.every((shape) => shape.kind === 'empirical')) {
    return discreteDistribution(shapes, moments);
  }
  return continuousDistribution(shapes, moments);
}

function continuousDistribution(shapes: readonly Shape[], moments: Moments): SumDistribution {
  const support = supportOf(shapes);
  const above = oneSidedSum(shapes, moments);
  let mirrored: OneSidedSum | undefined;
  const below = (): OneSidedSum => {
    mirrored ??= oneSidedSum(shapes.map(mirror), { ...moments, mean: -moments.mean });
    return mirrored;
  };
  const flip = (value: TailValue): TailValue => {
    const tail = 1 - value.tail;
    return { tail, density: value.density, error: (value.error * value.tail) / tail };
  };
  // each tail is computed on its own side of the mean, where it is the smaller one
  const upperAt: OneSidedSum['tailAt'] = (x, accuracy) => {
    if (x >= support.upper) return { tail: 0, density: 0, error: 0 };
    if (x < support.lower) return { tail: 1, density: 0, error: 0 };
    return x >= moments.mean ? above.tailAt(x, accuracy) : flip(below().tailAt(-x, accuracy));
  };
  const lowerAt: OneSidedSum['tailAt'] = (x, accuracy) => {
    if (x <= support.lower) return { tail: 0, density: 0, error: 0 };
    if (x > support.upper) return { tail: 1, density: 0, error: 0 };
    return x < moments.mean ? below().tailAt(-x, accuracy) : flip(above.tailAt(x, accuracy));
  };
  return {
    moments,
    support,
    by: above.method,
    upperTail: (x) => upperAt(x),
    lowerTail: (x) => lowerAt(x),
    quantile: (p) => {
      const [only, another] = shapes.filter((shape) => shape.kind !== 'constant');
      if (only === undefined) return moments.mean;
      if (another === undefined) {
        return shapeQuantile(only, p) + moments.mean - shapeMoments(only).mean;
      }
      const isLower = p <= 0.5;
      const target = Math.log(isLower ? p : 1 - p);
      return newtonInBracket(
        (x) => {
          const { tail, density } = isLower ? lowerAt(x, 'coarse') : upperAt(x, 'coarse');
          const off = Math.log(tail) - target;
          return [isLower ? off : -off, density / tail];
        },
        // a normal part reaches no further for any p that a double can hold
        Math.max(support.lower, moments.mean - 40 * moments.sd),
        Math.min(support.upper, moments.mean + 40 * moments.sd),
        cornishFisher(moments, p),
        (1e-11 * moments.sd) / Math.max(moments.sd, Math.abs(moments.mean)),
      );
    },
  };
}

const mirrors = new WeakMap<Shape, Shape>();

/** -X, kept so that what was prepared for it can be found again. */
function mirror(shape: Shape): Shape {
  let mirrored = mirrors.get(shape);
  if (mirrored === undefined) {
    mirrored = transformShape(shape, -1, 0);
    mirrors.set(shape, mirrored);
  }
  return mirrored;
}

function supportOf(shapes: readonly Shape[]): Interval {
  let lower = 0;
  let upper = 0;
  for (const shape of shapes) {
    const part = shapeSupport(shape);
    lower += part.lower;
    upper += part.upper;
  }
  return { lower, upper };
}

/** First guess of a quantile from the four moments (Cornish and Fisher 1938), unit of the sum. */
function cornishFisher(moments: Moments, p: number): number {
  const z = normalQuantile(p);
  const s = moments.skewness;
  const k = Number.isFinite(moments.excessKurtosis) ? moments.excessKurtosis : 0;
  const w =
    z + ((z * z - 1) * s) / 6 + ((z ** 3 - 3 * z) * k) / 24 - ((2 * z ** 3 - 5 * z) * s * s) / 36;
  return moments.mean + moments.sd * w;
}

function discreteDistribution(shapes: readonly Shape[], moments: Moments): SumDistribution {
  const samples: Float64Array[] = [];
  let shift = 0;
  for (const shape of shapes) {
    if (shape.kind === 'empirical') samples.push(shape.values);
    else if (shape.kind === 'constant') shift += shape.value;
  }
  const { values, weights, blur } = discreteSum(samples);
  const support = supportOf(shapes);
  // equal within rounding counts as equal: a value on the limit is inside
  const near = 1e-12 * Math.max(Math.abs(support.lower), Math.abs(support.upper));
  const above = (x: number): number => {
    let sum = 0;
    for (let i = values.length - 1; i >= 0 && (values[i] ?? 0) + shift > x + near; i--) {
      sum += weights[i] ?? 0;
    }
    return sum;
  };
  const below = (x: number): number => {
    let sum = 0;
    for (let i = 0; i < values.length && (values[i] ?? 0) + shift < x - near; i++) {
      sum += weights[i] ?? 0;
    }
    return sum;
  };
  const withError = (tail: (x: number) => number, x: number): TailValue => {
    const value = tail(x);
    const spread = blur === 0 ? 0 : Math.abs(tail(x - blur) - tail(x + blur));
    const error = value > 0 ? 1e-14 + spread / value : spread > 0 ? Number.POSITIVE_INFINITY : 0;
    return { tail: value, density: 0, error };
  };
  return {
    moments,
    support,
    by: blur === 0 ? 'every combination of the samples' : 'convolution on a grid',
    upperTail: (x) => withError(above, x),
    lowerTail: (x) => withError(below, x),
    quantile: (p) => {
      let sum = 0;
      for (let i = 0; i < values.length; i++) {
        sum += weights[i] ?? 0;
        if (sum >= p * (1 - 1e-12)) return (values[i] ?? 0) + shift;
      }
      return support.upper;
    },
  };
}
