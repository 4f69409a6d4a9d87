import type { Problem } from '../problems/problem.js';
import type { Contributor, Distribution, Interval, Shape } from './types.js';

/** Collects the problems of one contributor under its path. */
export type Report = (
  field: string,
  code: Problem['code'],
  message: string,
  value: unknown,
  accept: string,
) => void;

const isNumber = (value: unknown): value is number =>
  typeof value === 'number' && Number.isFinite(value);

function checkPositive(report: Report, field: string, value: unknown): boolean {
  if (isNumber(value) && value > 0) return true;
  report(field, 'out-of-range', `${field} must be a number above 0`, value, 'a number above 0');
  return false;
}

/** Standard deviation of a normal given by sigma or Cp; undefined when it was refused. */
export function processSigma(
  distribution: Extract<Distribution, { kind: 'normal' | 'truncated-normal' }>,
  halfWidth: number,
  report: Report,
): number | undefined {
  const { sigma, cp } = distribution;
  if (sigma !== undefined && cp !== undefined) {
    report('distribution.cp', 'inconsistent', 'sigma and cp both given', cp, 'one of the two');
    return undefined;
  }
  if (sigma !== undefined) {
    return checkPositive(report, 'distribution.sigma', sigma) ? sigma : undefined;
  }
  if (cp !== undefined && !checkPositive(report, 'distribution.cp', cp)) return undefined;
  return halfWidth / (3 * (cp ?? 1));
}

/** Limits that a distribution with a spread of its own stands in for: ± 3 sigma, or the extremes. */
export function naturalLimits(contributor: Contributor): Interval | undefined {
  const { distribution, nominal } = contributor;
  if (distribution === undefined) return undefined;
  switch (distribution.kind) {
    case 'normal':
    case 'student-t': {
      const { sigma } = distribution;
      if (!isNumber(sigma) || sigma <= 0) return undefined;
      return { lower: nominal - 3 * sigma, upper: nominal + 3 * sigma };
    }
    case 'empirical': {
      const values = distribution.values;
      if (!Array.isArray(values) || values.length === 0) return undefined;
      let lower = Number.POSITIVE_INFINITY;
      let upper = Number.NEGATIVE_INFINITY;
      for (const value of values) {
        if (!isNumber(value)) return undefined;
        lower = Math.min(lower, value);
        upper = Math.max(upper, value);
      }
      return { lower, upper };
    }
    default:
      return undefined;
  }
}

/**
 * Puts a distribution on its limits, `shift` off the middle. A truncated normal stays cut at the
 * limits; every other shape moves as a whole. Problems go to `report`; then undefined comes back.
 */
export function placeDistribution(
  distribution: Distribution,
  limits: Interval & { readonly middle: number; readonly halfWidth: number },
  shift: number,
  report: Report,
): Shape | undefined {
  const { halfWidth, lower, upper } = limits;
  const middle = limits.middle + shift;
  const span = { lower: lower + shift, upper: upper + shift };
  const fixed: Shape = { kind: 'constant', value: middle };
  switch (distribution.kind) {
    case 'normal': {
      const sigma = processSigma(distribution, halfWidth, report);
      const { cpk } = distribution;
      if (sigma === undefined) return undefined;
      if (cpk === undefined)
        return sigma === 0 ? fixed : { kind: 'normal', mean: middle, sd: sigma };
      if (!checkPositive(report, 'distribution.cpk', cpk)) return undefined;
      if (sigma === 0) return fixed;
      const cp = halfWidth / (3 * sigma);
      if (cpk > cp * (1 + 1e-12)) {
        report('distribution.cpk', 'inconsistent', 'cpk above cp', cpk, `at most cp = ${cp}`);
        return undefined;
      }
      return { kind: 'normal', mean: middle, sd: halfWidth / (3 * cpk) };
    }
    case 'truncated-normal': {
      const sd = processSigma(distribution, halfWidth, report);
      if (sd === undefined) return undefined;
      return halfWidth === 0 ? fixed : { kind: 'truncated-normal', mean: middle, sd, lower, upper };
    }
    case 'triangular': {
      const mode = distribution.mode ?? middle - shift;
      if (!isNumber(mode) || mode < lower || mode > upper) {
        report(
          'distribution.mode',
          'out-of-range',
          'the mode lies outside the limits',
          mode,
          `${lower} to ${upper}`,
        );
        return undefined;
      }
      return halfWidth === 0 ? fixed : { kind: 'triangular', ...span, mode: mode + shift };
    }
    case 'trapezoidal': {
      const { topFraction } = distribution;
      if (!isNumber(topFraction) || topFraction < 0 || topFraction > 1) {
        const message = 'the flat top is a share of the base';
        report('distribution.topFraction', 'out-of-range', message, topFraction, '0 to 1');
        return undefined;
      }
      if (halfWidth === 0) return fixed;
      const reach = halfWidth * topFraction;
      return { kind: 'trapezoidal', ...span, topLower: middle - reach, topUpper: middle + reach };
    }
    case 'beta': {
      const { alpha, beta } = distribution;
      const good = checkPositive(report, 'distribution.alpha', alpha);
      if (!checkPositive(report, 'distribution.beta', beta) || !good) return undefined;
      return halfWidth === 0 ? fixed : { kind: 'beta', ...span, alpha, beta };
    }
    case 'uniform':
    case 'arcsine':
    case 'semi-elliptical':
      return halfWidth === 0 ? fixed : { kind: distribution.kind, ...span };
    case 'student-t': {
      const { sigma, degreesOfFreedom } = distribution;
      const good = checkPositive(report, 'distribution.sigma', sigma);
      if (!isNumber(degreesOfFreedom) || degreesOfFreedom <= 2) {
        const message = 'without more than 2 degrees of freedom there is no standard deviation';
        const field = 'distribution.degreesOfFreedom';
        report(field, 'out-of-range', message, degreesOfFreedom, 'a number above 2');
        return undefined;
      }
      if (!good) return undefined;
      const scale = sigma * Math.sqrt((degreesOfFreedom - 2) / degreesOfFreedom);
      return { kind: 'student-t', mean: middle, scale, degreesOfFreedom };
    }
    case 'empirical': {
      const { values } = distribution;
      if (!Array.isArray(values) || values.length === 0 || !values.every(isNumber)) {
        const message = 'a sample is a list of numbers';
        report('distribution.values', 'wrong-type', message, values, 'at least one number');
        return undefined;
      }
      const sorted = Float64Array.from(values).sort();
      const only = sorted[0] ?? 0;
      if (only === sorted[sorted.length - 1]) return { kind: 'constant', value: only };
      return { kind: 'empirical', values: sorted };
    }
    default: {
      const { kind } = distribution as { readonly kind: unknown };
      report(
        'distribution.kind',
        'not-one-of',
        'unknown distribution',
        kind,
        knownKinds.join(', '),
      );
      return undefined;
    }
  }
}

const knownKinds: readonly Distribution['kind'][] = [
  'normal',
  'truncated-normal',
  'uniform',
  'triangular',
  'trapezoidal',
  'arcsine',
  'beta',
  'semi-elliptical',
  'student-t',
  'empirical',
];
