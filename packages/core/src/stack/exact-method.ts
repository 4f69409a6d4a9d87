import { capability } from './conformity-figures.js';
import { finiteMoments } from './stack-parts.js';
import type { SumDistribution } from './sum-distribution.js';
import type { Conformity, ExactResult, QuantileValue, RequirementLimits } from './types.js';

const standardQuantiles = [0.00135, 0.025, 0.5, 0.975, 0.99865] as const;

/** Shares outside the limits with the absolute error of their sum. */
export function exactOutside(
  distribution: SumDistribution,
  requirement: RequirementLimits,
): { readonly below: number; readonly above: number; readonly error: number } {
  const { lower, upper } = requirement;
  const below = lower === undefined ? undefined : distribution.lowerTail(lower);
  const above = upper === undefined ? undefined : distribution.upperTail(upper);
  const error = [below, above].reduce(
    (sum, value) => sum + (value === undefined ? 0 : value.tail * value.error),
    0,
  );
  return { below: below?.tail ?? 0, above: above?.tail ?? 0, error };
}

/** The exact distribution of a linear chain against its requirement. */
export function exactMethod(
  distribution: SumDistribution,
  coverage: number,
  requirement: RequirementLimits | undefined,
  wanted: readonly number[],
): ExactResult {
  const { mean, sd } = distribution.moments;
  const probabilities = [...new Set([...standardQuantiles, ...wanted])].sort((a, b) => a - b);
  const quantiles: QuantileValue[] = probabilities.map((probability) => ({
    probability,
    value: distribution.quantile(probability),
  }));
  const lower = distribution.quantile(0.5 * (1 - coverage));
  const upper = distribution.quantile(0.5 * (1 + coverage));
  let tailError = Math.max(
    distribution.lowerTail(lower).error,
    distribution.upperTail(upper).error,
  );
  let conformity: Conformity | undefined;
  if (requirement !== undefined) {
    const { below, above, error } = exactOutside(distribution, requirement);
    if (below + above > 0) tailError = Math.max(tailError, error / (below + above));
    conformity = {
      inLimits: Math.max(0, 1 - below - above),
      ppmBelow: 1e6 * below,
      ppmAbove: 1e6 * above,
      ...capability(mean, sd, requirement),
      error,
    };
  }
  return {
    assumes:
      'the stated distributions as they are, contributors independent (normal ones may correlate)',
    by: distribution.by,
    mean,
    sigma: sd,
    ...finiteMoments(distribution.moments),
    lower,
    upper,
    quantiles,
    tailError,
    ...(conformity === undefined ? {} : { conformity }),
  };
}
