import { normalBetween, normalUpperTail } from '../numeric/normal.js';

/** A measured value with its standard uncertainty against tolerance limits. One unit for all. */
export interface MeasuredAgainstLimits {
  readonly value: number;
  /** Standard uncertainty u (not expanded), above 0. */
  readonly standardUncertainty: number;
  readonly lower?: number;
  readonly upper?: number;
  /** What is known of the process before measuring; nothing when absent. */
  readonly prior?: { readonly mean: number; readonly sigma: number };
}

export interface ConformanceProbability {
  readonly conforms: number;
  readonly below: number;
  readonly above: number;
}

/**
 * Probability that the true value lies within the limits, given the measurement: normal, and with a
 * normal prior combined by Bayes' rule (JCGM 106:2012, clauses 7.3 and 7.4; prior: A.4.4).
 *
 * @example
 * conformanceProbability({ value: 13.6, standardUncertainty: 1.8, lower: 12.5, upper: 16.3 }).conforms // -> ~0.6626298
 */
export function conformanceProbability(measured: MeasuredAgainstLimits): ConformanceProbability {
  const { value, standardUncertainty, lower, upper, prior } = measured;
  let mean = value;
  let sigma = standardUncertainty;
  if (prior !== undefined) {
    const trust = prior.sigma ** 2 / (prior.sigma ** 2 + sigma ** 2);
    mean = trust * value + (1 - trust) * prior.mean;
    sigma *= Math.sqrt(trust);
  }
  const low = lower === undefined ? Number.NEGATIVE_INFINITY : (lower - mean) / sigma;
  const high = upper === undefined ? Number.POSITIVE_INFINITY : (upper - mean) / sigma;
  return {
    conforms: normalBetween(low, high),
    below: normalUpperTail(-low),
    above: normalUpperTail(high),
  };
}
