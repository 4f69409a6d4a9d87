import { normalQuantile } from '../numeric/normal.js';

/** Tolerance limits and the uncertainty of the measurement that decides on them. */
export interface GuardBandInput {
  readonly lower?: number;
  readonly upper?: number;
  /** Standard uncertainty u (not expanded), same unit as the limits. */
  readonly standardUncertainty: number;
  /**
   * `probability`: guard band for a conformance probability at the acceptance limit (ISO
   * 14253-1:2017 with 0.95, from memory). `expanded`: guard band U = k u (earlier editions, k 2).
   */
  readonly rule:
    | { readonly kind: 'probability'; readonly conformance: number }
    | { readonly kind: 'expanded'; readonly coverageFactor: number };
}

export interface GuardBand {
  /** Width g of the band on each side of a limit. */
  readonly guardBand: number;
  /** Readings within are proven to conform; absent when the bands meet. */
  readonly accept?: { readonly lower?: number; readonly upper?: number };
  /** Readings beyond these are proven not to conform; between: neither is proven. */
  readonly rejectBelow?: number;
  readonly rejectAbove?: number;
}

/**
 * Acceptance and rejection limits with a guard band (ISO 14253-1; JCGM 106:2012, clause 8.3). The
 * probability rule looks at one limit at a time, which holds while the tolerance is wide against u.
 *
 * @example
 * guardBand({ lower: 19.95, upper: 20.05, standardUncertainty: 0.004, rule: { kind: 'expanded', coverageFactor: 2 } }).accept // -> {"lower":19.958,"upper":20.042}
 */
export function guardBand(input: GuardBandInput): GuardBand {
  const { lower, upper, standardUncertainty, rule } = input;
  const factor = rule.kind === 'expanded' ? rule.coverageFactor : normalQuantile(rule.conformance);
  const g = factor * standardUncertainty;
  const acceptLower = lower === undefined ? undefined : lower + g;
  const acceptUpper = upper === undefined ? undefined : upper - g;
  const isEmpty =
    acceptLower !== undefined && acceptUpper !== undefined && acceptLower > acceptUpper;
  return {
    guardBand: g,
    ...(isEmpty
      ? {}
      : {
          accept: {
            ...(acceptLower === undefined ? {} : { lower: acceptLower }),
            ...(acceptUpper === undefined ? {} : { upper: acceptUpper }),
          },
        }),
    ...(lower === undefined ? {} : { rejectBelow: lower - g }),
    ...(upper === undefined ? {} : { rejectAbove: upper + g }),
  };
}
