import type { Problem } from '../problems/problem.js';
import {
  naturalLimits,
  placeDistribution,
  processSigma,
  type Report,
} from './place-distribution.js';
import { shapeMoments } from './shape-moments.js';
import { shapeSupport } from './shape-tail.js';
import type { Contributor, Distribution, Interval, ResolvedContributor } from './types.js';

const nothing: Report = () => undefined;

/** Limits with their middle and half width, taken from the deviations where these were given. */
interface Limits extends Interval {
  readonly middle: number;
  readonly halfWidth: number;
}

const limits = (lower: number, upper: number): Limits => ({
  lower,
  upper,
  middle: 0.5 * (lower + upper),
  halfWidth: 0.5 * (upper - lower),
});

/** Limits of a contributor, absolute; undefined (with problems reported) when they do not stand. */
function limitsOf(contributor: Contributor, report: Report): Limits | undefined {
  const { nominal, lower, upper, plus, minus } = contributor;
  let bad = false;
  for (const [field, value] of Object.entries({ lower, upper, plus, minus })) {
    if (value === undefined || Number.isFinite(value)) continue;
    report(field, 'wrong-type', `${field} must be a finite number`, value, 'a number');
    bad = true;
  }
  if (bad) return undefined;
  const absolute = lower !== undefined || upper !== undefined;
  const relative = plus !== undefined || minus !== undefined;
  if (absolute && relative) {
    const message = 'limits and deviations both given';
    report('plus', 'inconsistent', message, plus ?? minus, 'lower and upper, or plus and minus');
    return undefined;
  }
  if (lower !== undefined && upper !== undefined) return ordered(lower, upper, report);
  if (plus !== undefined && minus !== undefined) {
    const found = ordered(nominal - minus, nominal + plus, report);
    // 8 ± 0.008 keeps a half width of 0.008, which 8.008 - 7.992 does not give
    return (
      found && { ...found, middle: nominal + 0.5 * (plus - minus), halfWidth: 0.5 * (plus + minus) }
    );
  }
  if (!absolute && !relative) {
    const natural = naturalLimits(contributor);
    if (natural !== undefined) return limits(natural.lower, natural.upper);
  }
  const field = absolute
    ? lower === undefined
      ? 'lower'
      : 'upper'
    : relative && plus === undefined
      ? 'plus'
      : relative
        ? 'minus'
        : 'lower';
  const message = absolute || relative ? `${field} is missing` : 'no limits, and no spread either';
  const accept = 'lower and upper, plus and minus, or a distribution with its own spread';
  report(field, 'missing-field', message, undefined, accept);
  return undefined;
}

function ordered(lower: number, upper: number, report: Report): Limits | undefined {
  if (lower <= upper) return limits(lower, upper);
  const message = 'the lower limit is above the upper limit';
  report('upper', 'inconsistent', message, `${lower} to ${upper}`, 'lower <= upper');
  return undefined;
}

/**
 * Checks one contributor and puts its numbers in place. Problems are added with paths below `path`;
 * notes say what was assumed. Undefined when anything was refused.
 */
export function resolveContributor(
  contributor: Contributor,
  path: string,
  problems: Problem[],
  notes: string[],
): ResolvedContributor | undefined {
  const before = problems.length;
  const report: Report = (field, code, message, value, accept) => {
    const seen = value === undefined ? {} : { value: String(value) };
    problems.push({ code, place: { path: `${path}.${field}` }, message, accept, ...seen });
  };
  const { id, nominal } = contributor;
  const coefficient = contributor.coefficient ?? 1;
  const shift = contributor.meanShift ?? 0;
  const shiftFactor = contributor.shiftFactor ?? 0;
  if (typeof id !== 'string' || id === '') {
    report('id', 'missing-field', 'a contributor needs an id', id, 'a text that is not empty');
  }
  for (const [field, value] of Object.entries({ nominal, coefficient, meanShift: shift })) {
    if (!Number.isFinite(value)) {
      report(field, 'wrong-type', `${field} must be a finite number`, value, 'a number');
    }
  }
  if (!(shiftFactor >= 0 && shiftFactor <= 1)) {
    const message = 'the shift factor is a share of the half tolerance';
    report('shiftFactor', 'out-of-range', message, shiftFactor, '0 to 1');
  }
  if (problems.length > before) return undefined;
  const found = limitsOf(contributor, report);
  if (found === undefined) return undefined;
  const { lower, upper, middle, halfWidth } = found;
  const distribution: Distribution = contributor.distribution ?? { kind: 'normal' };
  if (shift !== 0) checkShift(distribution, shift, halfWidth, report);
  const shape = placeDistribution(distribution, found, shift, report);
  if (shape === undefined || problems.length > before) return undefined;
  const isOpen = contributor.lower === undefined && contributor.plus === undefined;
  if (isOpen && distribution.kind === 'empirical') {
    notes.push(`limits of ${id}: the extremes of its sample stand in`);
  } else if (isOpen) notes.push(`limits of ${id}: nominal ± 3 sigma stand in`);
  if (shape.kind !== 'normal' && shape.kind !== 'student-t') {
    const support = shapeSupport(shape);
    const slack = 1e-9 * halfWidth;
    if (support.lower < lower - slack || support.upper > upper + slack) {
      notes.push(
        `${id} varies beyond its limits: worst case counts on parts outside being sorted out`,
      );
    }
  }
  const moments = shapeMoments(shape);
  const isNormal = distribution.kind === 'normal';
  const sd = isNormal ? (processSigma(distribution, halfWidth, nothing) ?? 0) : moments.sd;
  const cp = sd === 0 ? Number.POSITIVE_INFINITY : halfWidth / (3 * sd);
  const cpk = isNormal ? distribution.cpk : undefined;
  const k =
    cpk !== undefined
      ? Math.max(0, 1 - cpk / cp)
      : halfWidth === 0
        ? 0
        : Math.abs(shift) / halfWidth;
  return {
    id,
    nominal,
    lower,
    upper,
    middle,
    halfWidth,
    coefficient,
    shape,
    moments,
    shiftFactor,
    cp,
    k,
  };
}

function checkShift(
  distribution: Distribution,
  shift: number,
  halfWidth: number,
  report: Report,
): void {
  if (Math.abs(shift) >= halfWidth) {
    const message = 'the shifted mean lies outside the limits';
    report('meanShift', 'out-of-range', message, shift, `between -${halfWidth} and ${halfWidth}`);
  }
  if (distribution.kind === 'empirical') {
    report('meanShift', 'inconsistent', 'a sample has its own mean', shift, 'no mean shift');
  }
  if (distribution.kind === 'normal' && distribution.cpk !== undefined) {
    const message = 'cpk and a mean shift both given';
    report('meanShift', 'inconsistent', message, shift, 'one of the two');
  }
}
