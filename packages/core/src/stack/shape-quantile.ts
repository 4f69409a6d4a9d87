import {
  normalBetween,
  normalCdf,
  normalQuantile,
  normalUpperQuantile,
  normalUpperTail,
} from '../numeric/normal.js';
import { studentQuantile } from '../numeric/student-t.js';
import { shapeDensity, shapeLowerTail } from './shape-tail.js';
import type { Shape } from './types.js';

/** The value x with P(X <= x) = u, 0 < u < 1. */
export function shapeQuantile(shape: Shape, u: number): number {
  switch (shape.kind) {
    case 'constant':
      return shape.value;
    case 'normal':
      return shape.mean + shape.sd * normalQuantile(u);
    case 'truncated-normal':
      return truncatedQuantile(shape, u);
    case 'uniform':
      return shape.lower + (shape.upper - shape.lower) * u;
    case 'triangular': {
      const width = shape.upper - shape.lower;
      const left = shape.mode - shape.lower;
      return u < left / width
        ? shape.lower + Math.sqrt(u * width * left)
        : shape.upper - Math.sqrt((1 - u) * width * (shape.upper - shape.mode));
    }
    case 'trapezoidal': {
      const left = shape.topLower - shape.lower;
      const right = shape.upper - shape.topUpper;
      // area under the density, with the top at height 1
      const area = (left + right) / 2 + (shape.topUpper - shape.topLower);
      const below = u * area;
      const above = (1 - u) * area;
      if (below < left / 2) return shape.lower + Math.sqrt(2 * left * below);
      if (above < right / 2) return shape.upper - Math.sqrt(2 * right * above);
      return shape.topLower + (below - left / 2);
    }
    case 'arcsine':
      return shape.lower + (shape.upper - shape.lower) * Math.sin((Math.PI / 2) * u) ** 2;
    case 'student-t':
      return shape.mean + shape.scale * studentQuantile(u, shape.degreesOfFreedom);
    case 'empirical': {
      const { values } = shape;
      return values[Math.min(values.length - 1, Math.floor(u * values.length))] ?? Number.NaN;
    }
    case 'beta':
    case 'semi-elliptical':
      return invert(shape, u, shape.lower, shape.upper);
  }
}

function truncatedQuantile(shape: Extract<Shape, { kind: 'truncated-normal' }>, u: number): number {
  const a = (shape.lower - shape.mean) / shape.sd;
  const b = (shape.upper - shape.mean) / shape.sd;
  const mass = normalBetween(a, b);
  // from the nearer tail, so that nothing cancels
  const z =
    a > 0
      ? normalUpperQuantile(normalUpperTail(a) - u * mass)
      : normalQuantile(normalCdf(a) + u * mass);
  return Math.min(shape.upper, Math.max(shape.lower, shape.mean + shape.sd * z));
}

/** Newton's method on the distribution function, kept within a shrinking bracket. */
function invert(shape: Shape, u: number, lower: number, upper: number): number {
  let low = lower;
  let high = upper;
  let x = lower + (upper - lower) * u;
  for (let count = 0; count < 100; count++) {
    const off = shapeLowerTail(shape, x) - u;
    if (off === 0) return x;
    if (off > 0) high = x;
    else low = x;
    const newton = x - off / shapeDensity(shape, x);
    const next = newton > low && newton < high ? newton : low + (high - low) / 2;
    if (Math.abs(next - x) <= 2 ** -52 * Math.abs(x) + 1e-18 * (upper - lower)) return next;
    x = next;
  }
  return x;
}
