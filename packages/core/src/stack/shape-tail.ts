import { betaLower, betaPdf } from '../numeric/beta-function.js';
import { normalBetween, normalPdf, normalUpperTail } from '../numeric/normal.js';
import { studentPdf, studentUpperTail } from '../numeric/student-t.js';
import { transformShape } from './shape-transform.js';
import type { Interval, Shape } from './types.js';

/** Smallest and largest value that the shape can take. */
export function shapeSupport(shape: Shape): Interval {
  switch (shape.kind) {
    case 'normal':
    case 'student-t':
      return { lower: Number.NEGATIVE_INFINITY, upper: Number.POSITIVE_INFINITY };
    case 'constant':
      return { lower: shape.value, upper: shape.value };
    case 'empirical':
      return { lower: shape.values[0] ?? 0, upper: shape.values[shape.values.length - 1] ?? 0 };
    default:
      return { lower: shape.lower, upper: shape.upper };
  }
}

// Gauss-Legendre, 5 points on 0 to 1: a sliver of a normal, where the difference of two tails cancels
const sliverNodes = [
  0.04691007703066802, 0.23076534494715845, 0.5, 0.7692346550528415, 0.9530899229693319,
];
const sliverWeights = [
  0.11846344252809454, 0.23931433524968324, 0.28444444444444444, 0.23931433524968324,
  0.11846344252809454,
];

function normalMass(a: number, b: number): number {
  if (b - a > 0.05) return normalBetween(a, b);
  let sum = 0;
  for (let i = 0; i < 5; i++) {
    sum += (sliverWeights[i] ?? 0) * normalPdf(a + (b - a) * (sliverNodes[i] ?? 0));
  }
  return (b - a) * sum;
}

/** How many of the ascending values are greater than x. */
function countAbove(values: Float64Array, x: number): number {
  let low = 0;
  let high = values.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((values[middle] ?? 0) > x) high = middle;
    else low = middle + 1;
  }
  return values.length - low;
}

/** P(X > x) in closed form, with its relative accuracy kept in the tail. */
export function shapeUpperTail(shape: Shape, x: number): number {
  const { lower, upper } = shapeSupport(shape);
  if (x >= upper) return 0;
  if (x < lower) return 1;
  const fromTop = upper - x;
  const fromBottom = x - lower;
  const width = upper - lower;
  switch (shape.kind) {
    case 'constant':
      return 0;
    case 'normal':
      return normalUpperTail((x - shape.mean) / shape.sd);
    case 'student-t':
      return studentUpperTail((x - shape.mean) / shape.scale, shape.degreesOfFreedom);
    case 'uniform':
      return fromTop / width;
    case 'triangular': {
      if (x >= shape.mode) return (fromTop * fromTop) / (width * (upper - shape.mode));
      return 1 - (fromBottom * fromBottom) / (width * (shape.mode - lower));
    }
    case 'trapezoidal': {
      const height = 2 / (width + shape.topUpper - shape.topLower);
      if (x >= shape.topUpper) {
        return (0.5 * height * fromTop * fromTop) / (upper - shape.topUpper);
      }
      if (x >= shape.topLower) {
        return height * (shape.topUpper - x + 0.5 * (upper - shape.topUpper));
      }
      return 1 - (0.5 * height * fromBottom * fromBottom) / (shape.topLower - lower);
    }
    case 'arcsine':
      return fromTop < fromBottom
        ? (2 / Math.PI) * Math.asin(Math.sqrt(fromTop / width))
        : 1 - (2 / Math.PI) * Math.asin(Math.sqrt(fromBottom / width));
    case 'semi-elliptical':
      return betaLower(1.5, 1.5, fromTop / width, fromBottom / width);
    case 'beta':
      return betaLower(shape.beta, shape.alpha, fromTop / width, fromBottom / width);
    case 'truncated-normal': {
      const z = (x - shape.mean) / shape.sd;
      const low = (lower - shape.mean) / shape.sd;
      const high = (upper - shape.mean) / shape.sd;
      return normalMass(z, high) / normalMass(low, high);
    }
    case 'empirical':
      return countAbove(shape.values, x) / shape.values.length;
  }
}

/** P(X < x) in closed form. */
export function shapeLowerTail(shape: Shape, x: number): number {
  return shapeUpperTail(transformShape(shape, -1, 0), -x);
}

/** Density; 0 for shapes that have none (constant, empirical). */
export function shapeDensity(shape: Shape, x: number): number {
  if (shape.kind === 'normal') return normalPdf((x - shape.mean) / shape.sd) / shape.sd;
  if (shape.kind === 'student-t') {
    return studentPdf((x - shape.mean) / shape.scale, shape.degreesOfFreedom) / shape.scale;
  }
  if (shape.kind === 'constant' || shape.kind === 'empirical') return 0;
  const { lower, upper } = shape;
  if (x < lower || x > upper) return 0;
  const width = upper - lower;
  switch (shape.kind) {
    case 'uniform':
      return 1 / width;
    case 'triangular': {
      const side = x < shape.mode ? x - lower : upper - x;
      const reach = x < shape.mode ? shape.mode - lower : upper - shape.mode;
      return reach === 0 ? 2 / width : (2 * side) / (reach * width);
    }
    case 'trapezoidal': {
      const height = 2 / (width + shape.topUpper - shape.topLower);
      if (x < shape.topLower) return (height * (x - lower)) / (shape.topLower - lower);
      if (x > shape.topUpper) return (height * (upper - x)) / (upper - shape.topUpper);
      return height;
    }
    case 'arcsine':
      return betaPdf(0.5, 0.5, (x - lower) / width) / width;
    case 'semi-elliptical':
      return betaPdf(1.5, 1.5, (x - lower) / width) / width;
    case 'beta':
      return betaPdf(shape.alpha, shape.beta, (x - lower) / width) / width;
    case 'truncated-normal': {
      const low = (lower - shape.mean) / shape.sd;
      const high = (upper - shape.mean) / shape.sd;
      return normalPdf((x - shape.mean) / shape.sd) / (shape.sd * normalMass(low, high));
    }
  }
}
