import { middle, type PlanningContext, type Process } from '../job/planning-context.js';
import type { Feature } from '../job/types.js';

/** Longest chain of steps on one feature. */
const longestChain = 4;

/**
 * All orders of feature-level processes that make sense on one feature: ranks rise, each step finds
 * the grade and roughness that it wants, and each step brings a finer grade or roughness than the one
 * before. The empty sequence (leave as printed) comes first. Whether a sequence reaches the
 * requirement is decided later.
 *
 * @param reaches whether some set-up brings the process to the feature
 * @param startGrade equivalent grade of the printed size
 * @param startRaUm Ra of the printed surface
 */
export function processSequences(
  feature: Feature,
  context: PlanningContext,
  startGrade: number,
  startRaUm: number,
  solid: boolean,
  reaches: (process: Process) => boolean,
): readonly (readonly Process[])[] {
  const usable = [...context.processes.values()].filter(
    (process) =>
      process.needs.level === 'feature' &&
      process.needs.rank !== undefined &&
      applies(process, feature) &&
      reaches(process),
  );
  const found: Process[][] = solid ? [] : [[]];
  const grow = (sequence: readonly Process[], grade: number, raUm: number): void => {
    if (sequence.length >= longestChain) return;
    const last = sequence[sequence.length - 1];
    for (const process of usable) {
      const { needs, row } = process;
      if (last !== undefined && (needs.rank ?? 0) <= (last.needs.rank ?? 0)) continue;
      if (needs.opensSolid && sequence.length > 0) continue;
      if (solid && sequence.length === 0 && !opensSolid(process, feature)) continue;
      if (needs.wantsItMax !== undefined && grade > needs.wantsItMax) continue;
      if (needs.wantsRaMaxUm !== undefined && raUm > needs.wantsRaMaxUm) continue;
      const nextGrade = row.itEconomic ?? grade;
      const nextRa = usualRa(process, raUm);
      const threads = isThreading(process);
      if (last !== undefined && !threads && nextGrade >= grade && nextRa >= raUm) continue;
      const next = [...sequence, process];
      if (feature.thread === undefined || threads || !row.appliesTo.includes('thread'))
        found.push(next);
      if (!threads) grow(next, Math.min(grade, nextGrade), nextRa);
    }
  };
  grow([], solid ? 18 : startGrade, solid ? 100 : startRaUm);
  const whole =
    feature.thread === undefined ? found : found.filter((sequence) => sequence.some(isThreading));
  // Short ones first: they dominate most of the longer ones.
  return whole.sort((a, b) => a.length - b.length);
}

/** Whether the process can make the feature where the build is closed: drills, and mills in a slot. */
export function opensSolid({ needs, row }: Process, feature: Feature): boolean {
  return needs.opensSolid || (feature.kind === 'slot' && row.family === 'machining');
}

export function isThreading(process: Process): boolean {
  return process.row.appliesTo.length === 1 && process.row.appliesTo[0] === 'thread';
}

/** Ra that a process leaves when nothing finer is asked of it. */
export function usualRa(process: Process, raBeforeUm: number): number {
  const { row, needs } = process;
  if (needs.raRatio !== undefined)
    return Math.max(needs.raFloorUm ?? 0, needs.raRatio * raBeforeUm);
  if (row.raLowUm === undefined || row.raHighUm === undefined) return raBeforeUm;
  return middle(row.raLowUm, row.raHighUm);
}

/** The hole under an internal thread is worked as a bore, an external thread's blank as a shaft. */
function applies(process: Process, feature: Feature): boolean {
  const kinds = process.row.appliesTo;
  if (!fitsInside(process, feature) || !reachesDepth(process, feature)) return false;
  if (feature.thread?.internal === true)
    return kinds.includes('thread') || (kinds.includes('bore') && makesCoreHole(process));
  if (feature.thread !== undefined) return kinds.includes('thread') || kinds.includes('shaft');
  return kinds.includes(feature.kind);
}

/** Tools have a least and a greatest width of hole, and a least width of slot, that they work in. */
function fitsInside({ needs }: Process, feature: Feature): boolean {
  const across = feature.size?.nominalMm ?? feature.thread?.majorMm ?? feature.widthMm;
  if (across === undefined) return true;
  if (feature.kind === 'slot') return across >= (needs.slotMinMm ?? 0);
  if (feature.kind !== 'bore' && feature.thread?.internal !== true) return true;
  return (
    across >= (needs.holeMinMm ?? 0) && across <= (needs.holeMaxMm ?? Number.POSITIVE_INFINITY)
  );
}

/**
 * Depth of a hole or internal thread over its diameter; undefined where the job gives no depth, and
 * for what is no hole.
 */
export function depthRatio(feature: Feature): number | undefined {
  const across = feature.size?.nominalMm ?? feature.thread?.majorMm;
  const depthMm = feature.depthMm ?? feature.lengthMm;
  const hole = feature.kind === 'bore' || feature.thread?.internal === true;
  return !hole || across === undefined || across <= 0 || depthMm === undefined
    ? undefined
    : depthMm / across;
}

/** Tools go only so deep into a hole, and deep-hole tools are not for shallow ones. */
export function reachesDepth({ reach }: Process, feature: Feature): boolean {
  const ratio = depthRatio(feature);
  if (reach === undefined) return true;
  return ratio === undefined
    ? reach.depthRatioMin === undefined
    : ratio >= (reach.depthRatioMin ?? 0) && ratio <= reach.depthRatioMax;
}

/** A core hole is drilled or bored along its axis. */
function makesCoreHole({ row, needs }: Process): boolean {
  return row.lineOfSight === 'axis' && needs.correctsLocation;
}
