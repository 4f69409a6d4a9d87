import { contourTail, type TailValue, type TransformSum } from './contour-tail.js';
import { betaFactor, empiricalFactor, truncatedFactor } from './rule-factor.js';
import { shapeMoments } from './shape-moments.js';
import { shapeDensity, shapeSupport, shapeUpperTail } from './shape-tail.js';
import { type TransformFactor, triangleFactor, uniformFactor } from './transform-factor.js';
import type { Shape } from './types.js';
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
  tailAt(x: number): TailValue;
}

/** Relative tolerance and node limit of the contour integral. */
const tolerance = 1e-12;
const maxNodes = 32_768;
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

function transformSum(terms: SortedTerms): TransformSum {
  const moments = terms.bounded.map(shapeMoments);
  return {
    mean: terms.mean + terms.uniformTop,
    variance: terms.variance,
    factors: [
      ...terms.groups.map((group) => uniformFactor(0, group.width, group.count)),
      ...terms.rest.flatMap((shape) => factorFor(shape) ?? []),
    ],
    totalMean: moments.reduce((total, m) => total + m.mean, terms.mean),
    totalSd: Math.sqrt(moments.reduce((total, m) => total + m.sd * m.sd, terms.variance)),
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

/** Prepares P(sum > x) by the most accurate method that fits the terms. */
export function oneSidedSum(shapes: readonly Shape[]): OneSidedSum {
  const terms = sortTerms(shapes);
  const closed = closedForm(terms);
  const samples = shapes.filter((shape) => shape.kind === 'empirical');
  const [sample] = samples;
  if (closed === undefined && samples.length === 1 && sample?.kind === 'empirical') {
    const inner = closedForm(sortTerms(shapes.filter((shape) => shape !== sample)));
    if (inner !== undefined) return averaged(inner, sample.values);
  }
  const sum = transformSum(terms);
  const byContour = (x: number): TailValue => contourTail(sum, x, tolerance, maxNodes);
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
