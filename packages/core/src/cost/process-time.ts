import { middle, type PlanningContext, type Process } from '../job/planning-context.js';
import { learningOf } from './learning.js';

/** What one step works on, for one feature. */
export interface WorkAmount {
  readonly areaMm2: number;
  /** Nominal stock taken off per side, mm. */
  readonly stockMm: number;
  /** Volume to open from solid, mm3; 0 when the hole is printed. */
  readonly solidVolumeMm3: number;
  /** How many alike on one part. */
  readonly count: number;
  /** A curved face, which a cutter covers line by line. */
  readonly freeform?: boolean;
}

/**
 * Run time of one step for the whole lot, minutes. Rates are the geometric mean of the catalogue's
 * range; the alloy family's own rate comes first. `stepTiming` says the same with its inputs.
 *
 * @param factor time multiple for a finer grade or roughness, see {@link finenessFactor}
 */
export function stepMinutes(
  process: Process,
  context: PlanningContext,
  amount: WorkAmount,
  factor: number,
): number {
  const { needs, rate } = process;
  if (needs.timeBasis === 'batch')
    return Math.ceil(context.quantity / (needs.batchParts ?? 1)) * factor * rate;
  const parts = context.quantity * learningOf(process.id, context);
  const pieces = parts * amount.count;
  const handling = (): number => pieces * context.defaultValue('handling-per-step');
  switch (needs.timeBasis) {
    case 'volume': {
      const each = Math.max(
        removedMm3(amount) / 1000 / rate,
        coverMinutes(process, context, amount),
      );
      return handling() + pieces * factor * each;
    }
    case 'area':
      return handling() + (pieces * factor * (amount.areaMm2 / 100)) / rate;
    case 'cut-area':
      return handling() + (pieces * factor * amount.areaMm2) / rate;
    case 'each':
      return handling() + pieces * factor * rate;
    case 'depth':
      return (pieces * factor * amount.stockMm * 1000) / rate;
    case 'part':
      return parts * factor * rate;
  }
}

export function removedMm3({ solidVolumeMm3, areaMm2, stockMm }: WorkAmount): number {
  return solidVolumeMm3 > 0 ? solidVolumeMm3 : areaMm2 * stockMm;
}

/** Default that gives the rate at which a cutter passes over a curved face. */
export function coverRateId({ needs }: Process): string {
  return needs.rank === 1 ? 'freeform-rough-rate' : 'freeform-finish-rate';
}

/** Least time to pass over a curved face, minutes; 0 for other faces. */
export function coverMinutes(
  process: Process,
  context: PlanningContext,
  amount: WorkAmount,
): number {
  if (amount.freeform !== true) return 0;
  return amount.areaMm2 / 100 / context.defaultValue(coverRateId(process));
}

/**
 * Time multiple of a step that must hold a finer grade or roughness than the process gives at no
 * extra cost: 1 at the economical grade and Ra, `gradeTimeFactor` at the best, geometric between.
 * The dearer of the two counts. It never falls when a requirement gets tighter.
 */
export function finenessFactor(
  process: Process,
  gradeNeeded: number | undefined,
  raNeededUm: number | undefined,
): number {
  const { row, needs } = process;
  let share = 0;
  if (gradeNeeded !== undefined && row.itBest !== undefined && row.itEconomic !== undefined) {
    const span = row.itEconomic - row.itBest;
    if (span > 0) share = Math.max(share, (row.itEconomic - gradeNeeded) / span);
  }
  if (raNeededUm !== undefined && row.raLowUm !== undefined && row.raHighUm !== undefined) {
    const usual = middle(row.raLowUm, row.raHighUm);
    const span = Math.log(usual / row.raLowUm);
    if (span > 0) share = Math.max(share, Math.log(usual / raNeededUm) / span);
  }
  return needs.gradeTimeFactor ** Math.min(1, Math.max(0, share));
}
