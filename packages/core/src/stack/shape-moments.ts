import { normalBetween, normalPdf } from '../numeric/normal.js';
import { gaussLegendre, type QuadratureRule } from '../numeric/quadrature.js';
import { sampleStatistics } from '../numeric/statistics.js';
import type { Moments, Shape } from './types.js';

const symmetric = (mean: number, sd: number, excessKurtosis: number): Moments => ({
  mean,
  sd,
  skewness: 0,
  excessKurtosis,
});

/** Moments of the beta distribution stretched over lower to upper. */
function betaMoments(lower: number, upper: number, a: number, b: number): Moments {
  const sum = a + b;
  const top = (a - b) ** 2 * (sum + 1) - a * b * (sum + 2);
  return {
    mean: lower + ((upper - lower) * a) / sum,
    sd: ((upper - lower) / sum) * Math.sqrt((a * b) / (sum + 1)),
    skewness: (2 * (b - a) * Math.sqrt(sum + 1)) / ((sum + 2) * Math.sqrt(a * b)),
    excessKurtosis: (6 * top) / (a * b * (sum + 2) * (sum + 3)),
  };
}

let fineRule: QuadratureRule | undefined;

/** By quadrature over the cut: the textbook differences cancel when the cut is narrow. */
function truncatedMoments(shape: Shape & { readonly kind: 'truncated-normal' }): Moments {
  fineRule ??= gaussLegendre(96);
  const low = Math.max(-10, (shape.lower - shape.mean) / shape.sd);
  const high = Math.min(10, (shape.upper - shape.mean) / shape.sd);
  const half = 0.5 * (high - low);
  const middle = 0.5 * (high + low);
  const mass = normalBetween(low, high);
  const about = (centre: number, power: number): number => {
    let sum = 0;
    fineRule?.nodes.forEach((node, i) => {
      const z = middle + half * node;
      sum += (fineRule?.weights[i] ?? 0) * normalPdf(z) * (z - centre) ** power;
    });
    return (half * sum) / mass;
  };
  const mean = middle + about(middle, 1);
  const variance = about(mean, 2);
  return {
    mean: shape.mean + shape.sd * mean,
    sd: shape.sd * Math.sqrt(variance),
    skewness: about(mean, 3) / variance ** 1.5,
    excessKurtosis: about(mean, 4) / (variance * variance) - 3,
  };
}

/** Mean, standard deviation, skewness and excess kurtosis of a shape. */
export function shapeMoments(shape: Shape): Moments {
  switch (shape.kind) {
    case 'constant':
      return symmetric(shape.value, 0, 0);
    case 'normal':
      return symmetric(shape.mean, shape.sd, 0);
    case 'truncated-normal':
      return truncatedMoments(shape);
    case 'uniform':
      return symmetric(
        0.5 * (shape.lower + shape.upper),
        (shape.upper - shape.lower) / Math.sqrt(12),
        -1.2,
      );
    case 'triangular': {
      const left = shape.mode - shape.lower;
      const right = shape.upper - shape.mode;
      const variance = (left * left + right * right + left * right) / 18;
      const third = ((right - left) * (2 * left + right) * (left + 2 * right)) / 270;
      const mean = shape.mode + (right - left) / 3;
      return {
        mean,
        sd: Math.sqrt(variance),
        skewness: third / variance ** 1.5,
        excessKurtosis: -0.6,
      };
    }
    case 'trapezoidal': {
      // sum of two uniforms
      const base = shape.upper - shape.lower;
      const top = shape.topUpper - shape.topLower;
      const wide = 0.5 * (base + top);
      const narrow = 0.5 * (base - top);
      const variance = (wide * wide + narrow * narrow) / 12;
      const kurtosis = -(wide ** 4 + narrow ** 4) / 120 / (variance * variance);
      return symmetric(0.5 * (shape.lower + shape.upper), Math.sqrt(variance), kurtosis);
    }
    case 'arcsine':
      return betaMoments(shape.lower, shape.upper, 0.5, 0.5);
    case 'semi-elliptical':
      return betaMoments(shape.lower, shape.upper, 1.5, 1.5);
    case 'beta':
      return betaMoments(shape.lower, shape.upper, shape.alpha, shape.beta);
    case 'student-t': {
      const nu = shape.degreesOfFreedom;
      const sd = nu > 2 ? shape.scale * Math.sqrt(nu / (nu - 2)) : Number.POSITIVE_INFINITY;
      return symmetric(shape.mean, sd, nu > 4 ? 6 / (nu - 4) : Number.POSITIVE_INFINITY);
    }
    case 'empirical': {
      // the sample is the population: spread with n, not n - 1
      const s = sampleStatistics(shape.values);
      const sd = s.sd * Math.sqrt((s.count - 1) / s.count);
      return { mean: s.mean, sd, skewness: s.skewness, excessKurtosis: s.excessKurtosis };
    }
  }
}
