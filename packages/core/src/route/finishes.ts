import type { CoatingGrowth } from '../allowance/coating.js';
import type { PlanningContext, Process } from '../job/planning-context.js';

/** A part-wide finish and where it stands against machining. */
export interface PlannedFinish {
  readonly process: Process;
  readonly placement: 'before-machining' | 'after-machining' | 'last';
}

/** What a run of part-wide finishes does to a surface that they reach. */
export interface FinishEffect {
  /** Mean removal per side, mm; growth counts negative. */
  readonly meanMm: number;
  /** Standard deviation of that, mm. */
  readonly sigmaMm: number;
  /** Range of what coatings grow per side, thickest less thinnest, mm. */
  readonly coatingRangeMm: number;
  /** Roughest Ra before the finishes that still ends within the limit; undefined when none does. */
  raBefore(limitUm: number): number | undefined;
  raAfter(raUm: number): number;
}

const noEffect: FinishEffect = {
  meanMm: 0,
  sigmaMm: 0,
  coatingRangeMm: 0,
  raBefore: (limitUm) => limitUm,
  raAfter: (raUm) => raUm,
};

/**
 * Ra after = max(floor, ratio x Ra before), finish after finish; shifts of size add, their spreads add
 * in quadrature (low to high counts as six standard deviations).
 */
export function finishEffect(finishes: readonly PlannedFinish[]): FinishEffect {
  if (finishes.length === 0) return noEffect;
  const steps = finishes.map(({ process }) => ({
    ratio: process.needs.raRatio ?? 1,
    floor: process.needs.raFloorUm ?? 0,
    wants: process.needs.wantsRaMaxUm ?? Number.POSITIVE_INFINITY,
    ...sizeShift(process),
  }));
  const coated = coatingGrowth(finishes.filter(({ process }) => process.row.effect === 'growth'));
  return {
    meanMm: steps.reduce((sum, step) => sum + step.meanMm, 0),
    sigmaMm: Math.hypot(...steps.map((step) => step.sigmaMm)),
    coatingRangeMm: coated.highMm - coated.lowMm,
    raBefore(limitUm) {
      let limit = limitUm;
      for (const step of [...steps].reverse()) {
        if (step.floor > limit) return undefined;
        limit = Math.min(
          step.ratio > 0 ? limit / step.ratio : Number.POSITIVE_INFINITY,
          step.wants,
        );
      }
      return limit;
    },
    raAfter: (raUm) => steps.reduce((ra, step) => Math.max(step.floor, step.ratio * ra), raUm),
  };
}

/** Mean removal per side (growth negative) and its standard deviation, mm. */
export function sizeShift(process: Process): { readonly meanMm: number; readonly sigmaMm: number } {
  const { effect, effectTypicalUm = 0, effectLowUm = 0, effectHighUm = 0 } = process.row;
  const sign = effect === 'growth' ? -1 : effect === 'none' ? 0 : 1;
  return {
    meanMm: (sign * effectTypicalUm) / 1000,
    sigmaMm: Math.abs(effectHighUm - effectLowUm) / 6000,
  };
}

/** Growth per side of coatings one on the other, mm: thinnest and thickest. */
export function coatingGrowth(coatings: readonly PlannedFinish[]): CoatingGrowth {
  const sum = (of: (process: Process) => number | undefined): number =>
    coatings.reduce((total, { process }) => total + (of(process) ?? 0), 0) / 1000;
  return {
    lowMm: sum(({ row }) => row.effectLowUm),
    highMm: sum(({ row }) => row.effectHighUm),
  };
}

const familyOrder = [
  'media-finishing',
  'thermal-finishing',
  'electrochemical',
  'chemical',
  'coating',
];

/** Working order of part-wide finishes that stand at the same place. */
export function inFinishOrder(finishes: readonly PlannedFinish[]): readonly PlannedFinish[] {
  const place = (finish: PlannedFinish): number =>
    ['before-machining', 'after-machining', 'last'].indexOf(finish.placement) * 10 +
    Math.max(0, familyOrder.indexOf(finish.process.row.family));
  return [...finishes].sort(
    (a, b) =>
      place(a) - place(b) ||
      (a.process.id < b.process.id ? -1 : a.process.id > b.process.id ? 1 : 0),
  );
}

/**
 * Sets of part-wide finishes to consider: those the policy requires, alone or with one more that lets
 * some surface stay as printed which could not otherwise. A finish that may stand either side of
 * machining is offered on both.
 *
 * @param printed which surfaces can stay as printed under some finishes
 */
export function finishSets(
  context: PlanningContext,
  printed: (finishes: readonly PlannedFinish[]) => readonly boolean[],
): readonly (readonly PlannedFinish[])[] {
  const partWide = [...context.processes.values()].filter(
    (process) => process.needs.level === 'part' && hasCentre(process, context),
  );
  const required = partWide.filter((process) => context.job.policy.required.includes(process.id));
  const asked = placedSets(required);
  const before = asked.map(printed);
  const helps = (set: readonly PlannedFinish[]): boolean =>
    printed(set).some((stays, surface) => stays && !before.some((stayed) => stayed[surface]));
  const optional = partWide.filter(
    (process) => !required.includes(process) && (process.needs.raRatio ?? 1) < 1,
  );
  return [
    ...asked,
    ...optional.flatMap((process) => placedSets([...required, process]).filter(helps)),
  ];
}

function placedSets(processes: readonly Process[]): readonly (readonly PlannedFinish[])[] {
  let sets: PlannedFinish[][] = [[]];
  for (const process of processes)
    sets = sets.flatMap((set) =>
      placements(process).map((placement) => [...set, { process, placement }]),
    );
  return sets.map(inFinishOrder);
}

function placements(process: Process): readonly PlannedFinish['placement'][] {
  switch (process.needs.placement) {
    case 'either':
      return ['before-machining', 'after-machining'];
    case 'before-machining':
    case 'after-machining':
    case 'last':
      return [process.needs.placement];
    case 'none':
      return ['after-machining'];
  }
}

function hasCentre(process: Process, context: PlanningContext): boolean {
  return context.workCentres.some((centre) => centre.processes.includes(process.id));
}
