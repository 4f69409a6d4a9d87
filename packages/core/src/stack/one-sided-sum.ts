import { contourTail, type TailValue, type TransformSum } from './contour-tail.js';
import { betaFactor, empiricalFactor, truncatedFactor } from './rule-factor.js';
import { shapeDensity, shapeSupport, shapeUpperTail } from './shape-tail.js';
import { type TransformFactor, triangleFactor, uniformFactor } from './transform-factor.js';
import type { Moments, Shape } from './types.js';
import { groupWidths, type UniformGroup, uniformSumTail } from './uniform-sum.js';

/** How the tails of a sum are computed, for the report. */
export type SumMethod =
  | 'closed form'
  | 'sum of uniforms, closed form'
  | 'contour integral through the saddle point'
  | 'average of a closed form over the sample';

/** Upper tail of a sum of independent shapes, prepared once and asked at many points. */
export interface OneSidedSum {
  readonly method: SumMethod;
  tailAt(x: number, accuracy?: 'fine' | 'coarse'): TailValue;
}

/** Relative tolerance of the contour integral: of a figure, and on the way to a quantile. */
const fine = 1e-11;
const coarse = 1e-9;
const maxNodes = 16_384;
/** Relative error of the closed forms. */
const closedError = 2e-14;
/** More uniforms than this are faster by the contour, and their closed form begins to cancel. */
const fewUniforms = 6;

/** The sum sorted into its kinds of term. */
interface SortedTerms {
  /** Constants and normals together. */
  readonly mean: number;
  readonly variance: number;
  /** Uniforms, with trapezia and isosceles triangles as two uniforms each, and their joint upper end. */
  readonly groups: readonly UniformGroup[];
  readonly uniformTop: number;
  readonly rest: readonly Shape[];
  /** All that is neither constant nor normal. */
  readonly bounded: readonly Shape[];
}

/** Widths of the uniforms that add up to the shape, where it is such a sum. */
function uniformWidths(shape: Shape): readonly number[] | undefined {
  if (shape.kind === 'uniform') return [shape.upper - shape.lower];
  if (shape.kind === 'trapezoidal') {
    const base = shape.upper - shape.lower;
    const top = shape.topUpper - shape.topLower;
    return [0.5 * (base + top), 0.5 * (base - top)];
  }
  if (shape.kind === 'triangular') {
    const left = shape.mode - shape.lower;
    const right = shape.upper - shape.mode;
    if (Math.abs(left - right) <= 1e-14 * (left + right)) return [left, left];
  }
  return undefined;
}

function sortTerms(shapes: readonly Shape[]): SortedTerms {
  let mean = 0;
  let variance = 0;
  let uniformTop = 0;
  const widths: number[] = [];
  const rest: Shape[] = [];
  const bounded: Shape[] = [];
  for (const shape of shapes) {
    if (shape.kind === 'constant') {
      mean += shape.value;
      continue;
    }
    if (shape.kind === 'normal') {
      mean += shape.mean;
      variance += shape.sd * shape.sd;
      continue;
    }
    bounded.push(shape);
    const parts = uniformWidths(shape);
    if (parts === undefined) rest.push(shape);
    else {
      widths.push(...parts.filter((width) => width > 0));
      uniformTop += shapeSupport(shape).upper;
    }
  }
  return { mean, variance, groups: groupWidths(widths), uniformTop, rest, bounded };
}

const factors = new WeakMap<Shape, TransformFactor>();

/** The factor of a shape, made once: a stack is asked again with one of its links changed. */
function keptFactor(shape: Shape): TransformFactor | undefined {
  let factor = factors.get(shape);
  if (factor === undefined) {
    factor = factorFor(shape);
    if (factor !== undefined) factors.set(shape, factor);
  }
  return factor;
}

function factorFor(shape: Shape): TransformFactor | undefined {
  switch (shape.kind) {
    case 'triangular':
      return triangleFactor(shape.upper, shape.mode - shape.lower, shape.upper - shape.mode);
    case 'arcsine':
      return betaFactor(shape.lower, shape.upper, 0.5, 0.5);
    case 'semi-elliptical':
      return betaFactor(shape.lower, shape.upper, 1.5, 1.5);
    case 'beta':
      return betaFactor(shape.lower, shape.upper, shape.alpha, shape.beta);
    case 'truncated-normal':
      return truncatedFactor(shape);
    case 'empirical':
      return empiricalFactor(shape.values);
    default:
      return undefined;
  }
}

function transformSum(terms: SortedTerms, moments: SumMoments): TransformSum {
  return {
    mean: terms.mean + terms.uniformTop,
    variance: terms.variance,
    factors: [
      ...terms.groups.map((group) => uniformFactor(0, group.width, group.count)),
      ...terms.rest.flatMap((shape) => keptFactor(shape) ?? []),
    ],
    totalMean: moments.mean,
    totalSd: moments.sd,
  };
}

const ofShape = (shape: Shape, shift: number): OneSidedSum => ({
  method: 'closed form',
  tailAt: (x) => ({
    tail: shapeUpperTail(shape, x - shift),
    density: shapeDensity(shape, x - shift),
    error: closedError,
  }),
});

function averaged(inner: OneSidedSum, values: Float64Array): OneSidedSum {
  return {
    method: 'average of a closed form over the sample',
    tailAt: (x) => {
      let tail = 0;
      let density = 0;
      let error = 0;
      for (const value of values) {
        const part = inner.tailAt(x - value);
        tail += part.tail;
        density += part.density;
        error += part.error * part.tail;
      }
      return {
        tail: tail / values.length,
        density: density / values.length,
        error: tail > 0 ? closedError + error / tail : 0,
      };
    },
  };
}

/** The sum without integration, where there is such a form. */
function closedForm(terms: SortedTerms): OneSidedSum | undefined {
  const { mean, variance, groups, uniformTop, rest, bounded } = terms;
  const [first] = bounded;
  if (first === undefined) {
    const sd = Math.sqrt(variance);
    return ofShape(sd > 0 ? { kind: 'normal', mean, sd } : { kind: 'constant', value: mean }, 0);
  }
  if (variance > 0) return undefined;
  if (bounded.length === 1) return ofShape(first, mean);
  const count = groups.reduce((total, group) => total + group.count, 0);
  if (rest.length > 0 || count > fewUniforms) return undefined;
  return {
    method: 'sum of uniforms, closed form',
    tailAt: (x) => uniformSumTail(groups, uniformTop + mean - x),
  };
}

/** Mean and standard deviation of the whole sum. */
type SumMoments = Pick<Moments, 'mean' | 'sd'>;

/** Prepares P(sum > x) by the most accurate method that fits the terms. */
export function oneSidedSum(shapes: readonly Shape[], moments: SumMoments): OneSidedSum {
  const terms = sortTerms(shapes);
  const closed = closedForm(terms);
  const samples = shapes.filter((shape) => shape.kind === 'empirical');
  const [sample] = samples;
  if (closed === undefined && samples.length === 1 && sample?.kind === 'empirical') {
    const inner = closedForm(sortTerms(shapes.filter((shape) => shape !== sample)));
    if (inner !== undefined) return averaged(inner, sample.values);
  }
  const sum = transformSum(terms, moments);
  const byContour: OneSidedSum['tailAt'] = (x, accuracy = 'fine') =>
    contourTail(sum, x, accuracy === 'fine' ? fine : coarse, maxNodes);
  if (closed === undefined) {
    return { method: 'contour integral through the saddle point', tailAt: byContour };
  }
  return {
    method: closed.method,
    tailAt: (x) => {
      const value = closed.tailAt(x);
      // widths of very different size cancel in the closed form
      if (value.error <= 1e-11) return value;
      const other = byContour(x);
      return other.error < value.error ? other : value;
    },
  };
}
