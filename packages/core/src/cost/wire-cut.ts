/** A stretch of the wire's way across the plate, with the metal that it cuts at once. */
export interface WireStretch {
  /** Travel, mm. */
  readonly travelMm: number;
  /** Metal along the wire, summed over the parts that it meets, mm; 0 between parts. */
  readonly metalMm: number;
}

/**
 * Time to cut a plate free by wire EDM, minutes: set-up + sum over the stretches of travel x
 * max(metal / rate, 1 / fastest feed). The area rate limits the wire in metal, the feed between
 * parts. Never below set-up + area / rate.
 *
 * @param rateMm2PerMin cut area per minute, above 0
 * @param feedMaxMmPerMin fastest feed of the wire, above 0
 * @param setupMinutes from 0
 * @throws RangeError when a number is out of range
 *
 * Source: derived from the area rate by which wire EDM is rated (common practice, no source).
 *
 * @example
 * wireCutMinutes([{ travelMm: 40, metalMm: 0 }, { travelMm: 30, metalMm: 60 }], 80, 4, 45) // -> 77.5
 */
export function wireCutMinutes(
  stretches: readonly WireStretch[],
  rateMm2PerMin: number,
  feedMaxMmPerMin: number,
  setupMinutes: number,
): number {
  if (!(rateMm2PerMin > 0)) throw new RangeError(`rate must be above 0: ${rateMm2PerMin}`);
  if (!(feedMaxMmPerMin > 0)) throw new RangeError(`feed must be above 0: ${feedMaxMmPerMin}`);
  return stretches.reduce((minutes, { travelMm, metalMm }) => {
    if (!(travelMm >= 0 && metalMm >= 0))
      throw new RangeError(`lengths must not be negative: ${travelMm}, ${metalMm}`);
    return minutes + travelMm * Math.max(metalMm / rateMm2PerMin, 1 / feedMaxMmPerMin);
  }, setupMinutes);
}
