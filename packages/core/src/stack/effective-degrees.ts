/** A standard uncertainty that a contributor puts into the result, with its degrees of freedom. */
export interface UncertaintyPart {
  /** In the unit of the result. */
  readonly sigma: number;
  /** Infinite for a value that is known, not estimated. */
  readonly degreesOfFreedom: number;
}

/**
 * Effective degrees of freedom of a sum of estimated uncertainties (Welch-Satterthwaite, JCGM
 * 100:2008, G.4.1, formula G.2b): u^4 / sum(u_i^4 / nu_i). Round down before looking up Student's t.
 *
 * @example
 * effectiveDegreesOfFreedom([{ sigma: 3, degreesOfFreedom: 4 }, { sigma: 4, degreesOfFreedom: 9 }]) // -> ~12.835
 */
export function effectiveDegreesOfFreedom(parts: readonly UncertaintyPart[]): number {
  const square = parts.reduce((sum, { sigma }) => sum + sigma * sigma, 0);
  const weighted = parts.reduce(
    (sum, { sigma, degreesOfFreedom }) => sum + sigma ** 4 / degreesOfFreedom,
    0,
  );
  return weighted === 0 ? Number.POSITIVE_INFINITY : (square * square) / weighted;
}
