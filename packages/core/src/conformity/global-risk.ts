import { normalBetween, normalPdf } from '../numeric/normal.js';
import { integrate } from '../numeric/quadrature.js';

/** A normal process measured by a normal measurement. One unit for all. */
export interface GlobalRiskInput {
  readonly processMean: number;
  readonly processSigma: number;
  /** Standard uncertainty of the measurement. */
  readonly standardUncertainty: number;
  /** Tolerance limits; one may be absent. */
  readonly lower?: number;
  readonly upper?: number;
  /** Acceptance limits for the reading; the tolerance limits when absent (simple acceptance). */
  readonly acceptLower?: number;
  readonly acceptUpper?: number;
}

export interface GlobalRisk {
  /** P(does not conform and is accepted): consumer's global risk. */
  readonly falseAccept: number;
  /** P(conforms and is rejected): producer's global risk. */
  readonly falseReject: number;
  /** P(does not conform, given that it was accepted). */
  readonly conditionalFalseAccept: number;
  /** P(accepted). */
  readonly accepted: number;
  /** P(conforms). */
  readonly conforming: number;
}

/**
 * Global risks of a decision by measurement (JCGM 106:2012, clause 9.5): integrals over the true
 * value, relative accuracy 1e-11.
 *
 * @example
 * globalRisk({ processMean: 0, processSigma: 0.5, standardUncertainty: 0.125, lower: -1, upper: 1 }).conforming // -> ~0.9544997
 */
export function globalRisk(input: GlobalRiskInput): GlobalRisk {
  const { processMean, processSigma, standardUncertainty: u } = input;
  const lower = input.lower ?? Number.NEGATIVE_INFINITY;
  const upper = input.upper ?? Number.POSITIVE_INFINITY;
  const acceptLower = input.acceptLower ?? lower;
  const acceptUpper = input.acceptUpper ?? upper;
  const low = (lower - processMean) / processSigma;
  const high = (upper - processMean) / processSigma;
  // z is the true value in process sigmas
  const acceptedAt = (z: number): number => {
    const value = processMean + processSigma * z;
    return normalBetween((acceptLower - value) / u, (acceptUpper - value) / u);
  };
  const rejectedAt = (z: number): number => {
    const value = processMean + processSigma * z;
    return (
      normalBetween(Number.NEGATIVE_INFINITY, (acceptLower - value) / u) +
      normalBetween((acceptUpper - value) / u, Number.POSITIVE_INFINITY)
    );
  };
  const places = [acceptLower, acceptUpper, lower, upper]
    .filter(Number.isFinite)
    .flatMap((limit) => [-8, -4, -2, 0, 2, 4, 8].map((k) => limit + k * u))
    .map((value) => (value - processMean) / processSigma);
  const breaks = [...places, -8, -4, -2, 0, 2, 4, 8];
  const over = (share: (z: number) => number, from: number, to: number): number => {
    const a = Math.max(from, -38);
    const b = Math.min(to, 38);
    return a >= b ? 0 : integrate((z) => normalPdf(z) * share(z), a, b, breaks, 1e-12).value;
  };
  const falseAccept =
    over(acceptedAt, Number.NEGATIVE_INFINITY, low) +
    over(acceptedAt, high, Number.POSITIVE_INFINITY);
  const total = Math.hypot(processSigma, u);
  const accepted = normalBetween(
    (acceptLower - processMean) / total,
    (acceptUpper - processMean) / total,
  );
  return {
    falseAccept,
    falseReject: over(rejectedAt, low, high),
    conditionalFalseAccept: falseAccept / accepted,
    accepted,
    conforming: normalBetween(low, high),
  };
}
