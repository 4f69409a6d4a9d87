/** How many parts or plates go into a furnace at once. */
export interface LoadCapacity {
  readonly count: number;
  readonly limitedBy: 'volume' | 'floor' | 'mass';
  readonly byVolume?: number;
  readonly byFloor?: number;
  readonly byMass?: number;
}

export interface LoadLimits {
  /** Clear width, depth and height, mm; absent when not known. */
  readonly roomMm: readonly [number, number, number] | undefined;
  readonly limitKg: number | undefined;
}

/**
 * Loose parts in a load: by volume (box with its clearance, times the share of the room that a load
 * fills) and by mass; at least one.
 *
 * @param pieceMm box of one part, mm
 * @param clearanceMm added to each side length, mm
 * @param fill share of the room that a load uses
 * @returns undefined when neither room nor mass limits it
 * @example
 * looseCapacity({ roomMm: [450, 450, 450], limitKg: 250 }, [100, 80, 60], 2, 25, 0.5) // -> {"count":40,"limitedBy":"volume","byVolume":40,"byMass":125}
 */
export function looseCapacity(
  limits: LoadLimits,
  pieceMm: readonly [number, number, number],
  pieceKg: number | undefined,
  clearanceMm: number,
  fill: number,
): LoadCapacity | undefined {
  const byVolume =
    limits.roomMm === undefined
      ? undefined
      : atLeastOne(
          (fill * limits.roomMm[0] * limits.roomMm[1] * limits.roomMm[2]) /
            pieceMm.reduce((product, side) => product * (side + clearanceMm), 1),
        );
  return smallest({ byVolume, byMass: massCount(limits.limitKg, pieceKg) });
}

/**
 * Plates with their parts in a load: side by side on the floor of the furnace, and by mass.
 *
 * @param plateMm side of the square plate, mm
 * @param plateKg plate with its parts, kg
 * @example
 * plateCapacity({ roomMm: [600, 600, 500], limitKg: 300 }, 250, 30) // -> {"count":4,"limitedBy":"floor","byFloor":4,"byMass":10}
 */
export function plateCapacity(
  limits: LoadLimits,
  plateMm: number,
  plateKg: number | undefined,
): LoadCapacity | undefined {
  const byFloor =
    limits.roomMm === undefined
      ? undefined
      : atLeastOne(Math.floor(limits.roomMm[0] / plateMm) * Math.floor(limits.roomMm[1] / plateMm));
  return smallest({ byFloor, byMass: massCount(limits.limitKg, plateKg) });
}

function massCount(limitKg: number | undefined, pieceKg: number | undefined): number | undefined {
  if (limitKg === undefined || pieceKg === undefined || pieceKg <= 0) return undefined;
  return atLeastOne(limitKg / pieceKg);
}

function atLeastOne(count: number): number {
  return Math.max(1, Math.floor(count + 1e-9));
}

function smallest(counts: {
  readonly byVolume?: number | undefined;
  readonly byFloor?: number | undefined;
  readonly byMass?: number | undefined;
}): LoadCapacity | undefined {
  const { byVolume, byFloor, byMass } = counts;
  const known: readonly (readonly [LoadCapacity['limitedBy'], number | undefined])[] = [
    ['volume', byVolume],
    ['floor', byFloor],
    ['mass', byMass],
  ];
  let least: { limitedBy: LoadCapacity['limitedBy']; count: number } | undefined;
  for (const [limitedBy, count] of known)
    if (count !== undefined && (least === undefined || count < least.count))
      least = { limitedBy, count };
  if (least === undefined) return undefined;
  return {
    ...least,
    ...(byVolume === undefined ? {} : { byVolume }),
    ...(byFloor === undefined ? {} : { byFloor }),
    ...(byMass === undefined ? {} : { byMass }),
  };
}

/**
 * Whether a part goes into a vessel with clear space all round, in some orientation.
 *
 * @example
 * fitsVessel([450, 450, 1200], [410, 100, 100], 25) // -> true
 */
export function fitsVessel(
  vesselMm: readonly [number, number, number],
  pieceMm: readonly [number, number, number],
  clearanceMm: number,
): boolean {
  const room = [...vesselMm].sort((a, b) => a - b);
  const piece = pieceMm.map((side) => side + 2 * clearanceMm).sort((a, b) => a - b);
  return piece.every((side, axis) => side <= (room[axis] ?? 0));
}
