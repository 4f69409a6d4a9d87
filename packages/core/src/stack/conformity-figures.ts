import { normalUpperTail } from '../numeric/normal.js';
import type { Conformity, RequirementLimits } from './types.js';

/** P(below) and P(above) the limits of a requirement. */
export interface OutsideShares {
  readonly below: number;
  readonly above: number;
}

/** Shares outside when the result is normal. Zero sigma: all or nothing, a value on a limit is in. */
export function normalOutside(
  mean: number,
  sigma: number,
  requirement: RequirementLimits,
): OutsideShares {
  const share = (distance: number): number => {
    if (sigma === 0) return distance < 0 ? 1 : 0;
    return normalUpperTail(distance / sigma);
  };
  const { lower, upper } = requirement;
  return {
    below: lower === undefined ? 0 : share(mean - lower),
    above: upper === undefined ? 0 : share(upper - mean),
  };
}

/** Capability figures of a mean and sigma against limits; empty without limits or spread. */
export function capability(
  mean: number,
  sigma: number,
  requirement: RequirementLimits,
): { readonly cp?: number; readonly cpk?: number } {
  const { lower, upper } = requirement;
  if (!(sigma > 0) || !Number.isFinite(sigma)) return {};
  const toUpper = upper === undefined ? undefined : (upper - mean) / (3 * sigma);
  const toLower = lower === undefined ? undefined : (mean - lower) / (3 * sigma);
  if (toUpper === undefined) return toLower === undefined ? {} : { cpk: toLower };
  if (toLower === undefined) return { cpk: toUpper };
  return { cp: 0.5 * (toUpper + toLower), cpk: Math.min(toUpper, toLower) };
}

/** All figures of one method against the requirement. */
export function conformityFigures(
  mean: number,
  sigma: number,
  requirement: RequirementLimits,
  outside: OutsideShares = normalOutside(mean, sigma, requirement),
): Conformity {
  return {
    inLimits: Math.max(0, 1 - outside.below - outside.above),
    ppmBelow: 1e6 * outside.below,
    ppmAbove: 1e6 * outside.above,
    ...capability(mean, sigma, requirement),
  };
}
