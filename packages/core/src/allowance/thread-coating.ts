import type { Catalog } from '../catalog/catalog.js';
import type { ThreadTolerancesRow } from '../catalog/generated/thread-tolerances.js';
import type { Thread } from '../limits/types.js';
import { type CoatedLimits, type CoatingGrowth, pitchDiameterShift } from './coating.js';

/** Pitch diameter limits of a thread, with where they come from. */
export interface PitchDiameterLimits extends CoatedLimits {
  /** Pitch diameter of the basic profile, mm: the h or H line. */
  readonly basicMm: number;
  readonly source: string;
  readonly confidence: ThreadTolerancesRow['confidence'];
}

/** Tolerance of a grade over that of grade 6. Source: ISO 965-1 (from memory). */
const gradeShare: Readonly<Record<string, number>> = {
  '3': 0.5,
  '4': 0.63,
  '5': 0.8,
  '6': 1,
  '7': 1.25,
  '8': 1.6,
  '9': 2,
};

/** Least width of pitch diameter limits that threads are cut to, mm. */
const leastRoomMm = 0.04;

/** Distance of a tolerance position from the basic profile, um. Source: ISO 965-1 (from memory). */
function deviationUm(position: string, pitchMm: number): number | undefined {
  const base: Readonly<Record<string, number>> = { e: 50, f: 30, g: 15, h: 0 };
  const start = base[position.toLowerCase()];
  if (start === undefined) return undefined;
  return position.toLowerCase() === 'h' ? 0 : Math.round(start + 11 * pitchMm);
}

/**
 * Pitch diameter limits of an ISO metric thread before any coating, mm: d - 0.6495 P, the distance of
 * the tolerance position (15 + 11 P um for g and G) and the tolerance of the grade from the table.
 * Source: ISO 965-1, tables and formulas of the deviations (from memory; within 1 um of the tables).
 *
 * @returns undefined for a size, pitch or class that the table does not hold
 * @example
 * pitchDiameterLimits(defaultCatalog(), { designation: 'M8-6g', majorMm: 8, pitchMm: 1.25, toleranceClass: '6g', internal: false })?.upperMm // -> ~7.159
 */
export function pitchDiameterLimits(
  catalog: Catalog,
  thread: Thread,
): PitchDiameterLimits | undefined {
  const [, grade = '', position = ''] = /^([3-9])([a-zA-Z])/.exec(thread.toleranceClass) ?? [];
  const row = catalog.threadTolerances.find(
    (entry) =>
      thread.majorMm > entry.overMm &&
      thread.majorMm <= entry.toMm &&
      entry.pitchMm === thread.pitchMm,
  );
  const awayUm = deviationUm(position, thread.pitchMm);
  const share = gradeShare[grade];
  if (row === undefined || awayUm === undefined || share === undefined) return undefined;
  const basicMm = thread.majorMm - 0.75 * Math.sqrt(0.75) * thread.pitchMm;
  const toleranceMm = (share * (thread.internal ? row.internalUm : row.externalUm)) / 1000;
  const near = basicMm + ((thread.internal ? 1 : -1) * awayUm) / 1000;
  return {
    lowerMm: tidy(thread.internal ? near : near - toleranceMm),
    upperMm: tidy(thread.internal ? near + toleranceMm : near),
    basicMm,
    source: row.source,
    confidence: row.confidence,
  };
}

/**
 * Pitch diameter limits to cut a thread to before it is coated, mm. The class on the drawing holds
 * for the thread before coating; the coated thread must not pass the maximum material limit of
 * position h or H, and each side of growth moves the pitch diameter by four times itself. Source:
 * ISO 965-1, clause on coated threads (from memory).
 *
 * @param growth growth per side, mm: the thickness of a plating, half of that of an anodic film
 * @returns undefined when less than 0.04 mm is left between the limits, which a tap or thread mill does
 *   not hold (common practice, no source), or the table has no such thread
 * @example
 * threadBeforeCoating(defaultCatalog(), { designation: 'M8-6H', majorMm: 8, pitchMm: 1.25, toleranceClass: '6H', internal: true }, { lowMm: 0.0225, highMm: 0.0275 }) // -> {"lowerMm":7.298101,"upperMm":7.348101}
 */
export function threadBeforeCoating(
  catalog: Catalog,
  thread: Thread,
  growth: CoatingGrowth,
): CoatedLimits | undefined {
  const limits = pitchDiameterLimits(catalog, thread);
  if (limits === undefined) return undefined;
  const most = pitchDiameterShift(growth.highMm);
  const lowerMm = thread.internal
    ? tidy(Math.max(limits.lowerMm, limits.basicMm + most))
    : limits.lowerMm;
  const upperMm = thread.internal
    ? limits.upperMm
    : tidy(Math.min(limits.upperMm, limits.basicMm - most));
  return upperMm - lowerMm < leastRoomMm ? undefined : { lowerMm, upperMm };
}

/** Millionths of a millimetre. */
function tidy(lengthMm: number): number {
  return Math.round(lengthMm * 1e6) / 1e6;
}
