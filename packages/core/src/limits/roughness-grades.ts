/** Ra of the roughness grades N1 to N12, um (ISO 1302:1978 series). */
const gradeRaUm: readonly number[] = [0.025, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.3, 12.5, 25, 50];

/** The preferred Ra series in rising order, um: the values of N1 to N12. */
export const preferredRaUm: readonly number[] = gradeRaUm;

/**
 * Ra of a roughness grade, um; undefined outside N1 to N12. Values after ISO 1302:1978.
 *
 * @param grade 1 to 12
 * @example
 * roughnessGradeRaUm(7) // -> 1.6
 */
export function roughnessGradeRaUm(grade: number): number | undefined {
  return gradeRaUm[grade - 1];
}

/**
 * The coarsest preferred Ra that does not exceed a given Ra, um; undefined below 0.025 um.
 *
 * @example
 * preferredRaWithinUm(2) // -> 1.6
 */
export function preferredRaWithinUm(raUm: number): number | undefined {
  return gradeRaUm.filter((value) => value <= raUm).at(-1);
}
