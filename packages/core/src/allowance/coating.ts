/** Limits of a size, mm. */
export interface CoatedLimits {
  readonly lowerMm: number;
  readonly upperMm: number;
}

/** Growth of a surface by a coating, per side, mm. */
export interface CoatingGrowth {
  readonly lowMm: number;
  readonly highMm: number;
}

/** Flank angle of a metric thread, half of 60 degrees. */
const halfAngle = Math.PI / 6;

/**
 * How far the pitch diameter of a 60 degree thread moves when its flanks grow, mm: 2 g / sin 30 =
 * four times the growth per side; an external thread gets larger, an internal one smaller. Source:
 * geometry.
 *
 * @param growthMm growth per side, mm: the thickness of a plating, half of that of an anodic film
 * @example
 * pitchDiameterShift(0.005) // -> ~0.02
 */
export function pitchDiameterShift(growthMm: number): number {
  return (2 * growthMm) / Math.sin(halfAngle);
}

/**
 * Limits to work to before coating, so that every part is inside its limits after it: the thickest
 * coating on the largest part, the thinnest on the smallest.
 *
 * @param finished limits after coating, mm
 * @param per what one side of growth does to the size: 1 a face, 2 a diameter or width, 4 a pitch
 *   diameter
 * @param internal a hole or groove, which the coating makes smaller
 * @returns undefined when the coating's own spread is wider than the tolerance
 * @example
 * limitsBeforeCoating({ lowerMm: 19.98, upperMm: 20 }, { lowMm: 0.004, highMm: 0.006 }, 2, false) // -> {"lowerMm":19.972,"upperMm":19.988}
 */
export function limitsBeforeCoating(
  finished: CoatedLimits,
  growth: CoatingGrowth,
  per: 1 | 2 | 4,
  internal: boolean,
): CoatedLimits | undefined {
  const least = per * growth.lowMm;
  const most = per * growth.highMm;
  const lowerMm = tidy(internal ? finished.lowerMm + most : finished.lowerMm - least);
  const upperMm = tidy(internal ? finished.upperMm + least : finished.upperMm - most);
  return lowerMm > upperMm ? undefined : { lowerMm, upperMm };
}

/** Millionths of a millimetre, so that sums of decimal lengths read as such. */
function tidy(lengthMm: number): number {
  return Math.round(lengthMm * 1e6) / 1e6;
}
