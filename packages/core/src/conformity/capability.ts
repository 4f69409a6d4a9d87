import { normalUpperQuantile, normalUpperTail } from '../numeric/normal.js';

/** A process against its limits. Any one unit; one limit may be absent. */
export interface ProcessAgainstLimits {
  readonly mean: number;
  readonly sigma: number;
  readonly lower?: number;
  readonly upper?: number;
}

export interface CapabilityFigures {
  /** (upper - lower) / (6 sigma); needs both limits. */
  readonly cp?: number;
  /** Distance to the nearer limit over 3 sigma; needs a limit. */
  readonly cpk?: number;
  /** Fractions of a normal process. */
  readonly below: number;
  readonly above: number;
  readonly inLimits: number;
}

/**
 * Capability indices and fractions outside of a normal process (ISO 22514-2:2017, clause 6; NIST
 * e-Handbook 6.1.6). Sigma must be above 0, else figures are NaN.
 *
 * @example
 * processCapability({ mean: 16, sigma: 2, lower: 8, upper: 20 }).cp // -> 1
 */
export function processCapability(process: ProcessAgainstLimits): CapabilityFigures {
  const { mean, sigma, lower, upper } = process;
  const toLower = lower === undefined ? undefined : (mean - lower) / sigma;
  const toUpper = upper === undefined ? undefined : (upper - mean) / sigma;
  const below = toLower === undefined ? 0 : normalUpperTail(toLower);
  const above = toUpper === undefined ? 0 : normalUpperTail(toUpper);
  const nearest = Math.min(
    toLower ?? Number.POSITIVE_INFINITY,
    toUpper ?? Number.POSITIVE_INFINITY,
  );
  return {
    ...(toLower === undefined || toUpper === undefined ? {} : { cp: (toLower + toUpper) / 6 }),
    ...(nearest === Number.POSITIVE_INFINITY ? {} : { cpk: nearest / 3 }),
    below,
    above,
    inLimits: 1 - below - above,
  };
}

/** Fractions outside on the side of the nearer limit and on the other. */
export interface FractionsOutside {
  readonly nearer: number;
  readonly farther: number;
  readonly total: number;
}

/**
 * Fractions of a normal process outside its limits from Cp and Cpk. Without `cp` the requirement
 * counts as one-sided.
 *
 * @example
 * fractionsFromCapability({ cp: 2, cpk: 1.5 }).nearer // -> ~3.3977e-6
 */
export function fractionsFromCapability(indices: {
  readonly cpk: number;
  readonly cp?: number;
}): FractionsOutside {
  const { cp, cpk } = indices;
  const nearer = normalUpperTail(3 * cpk);
  const farther = cp === undefined ? 0 : normalUpperTail(3 * (2 * cp - cpk));
  return { nearer, farther, total: nearer + farther };
}

/**
 * Cpk that leaves the given fraction outside: of a centred process with two limits, or of a process
 * with one limit. NaN unless the fraction lies between 0 and 1.
 *
 * @example
 * capabilityFromFraction(0.0026997960632601866, 'two-sided') // -> ~1
 */
export function capabilityFromFraction(outside: number, sides: 'two-sided' | 'one-sided'): number {
  return normalUpperQuantile(sides === 'two-sided' ? outside / 2 : outside) / 3;
}
