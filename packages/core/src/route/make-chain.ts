import {
  type CuttingStep,
  roundPrinted,
  type StepStock,
  type SurfaceState,
  stepStock,
} from '../allowance/chain-stock.js';
import type { WorkAmount } from '../cost/process-time.js';
import type { Process } from '../job/planning-context.js';
import {
  type ChainContext,
  type ChainSubject,
  type FoundChain,
  type FoundStep,
  type Growth,
  isInternal,
} from './chain.js';
import { type ChainDemand, sides } from './chain-demand.js';
import { finishEffect, type PlannedFinish } from './finishes.js';
import type { Locating } from './location.js';
import { opensSolid } from './process-sequences.js';
import type { SetUp, Stage } from './set-ups.js';

/** A step that has its set-up and work, but not yet its stock written out. */
export interface PlacedStep {
  readonly setUp: SetUp;
  readonly work: PlacedWork;
}

/** What a step has to do, whichever way the part is held. */
export interface PlacedWork {
  readonly before: SurfaceState;
  readonly cut: CuttingStep;
  readonly amount: WorkAmount;
  readonly timeFactor: number;
}

/** Change of size in heat that still follows the step that makes the size. */
export function growthAfter(
  chainContext: ChainContext,
  sequence: readonly Process[],
  stages: readonly Stage[],
): Growth | undefined {
  const lastSize = sequence.findLastIndex((process) => process.row.itEconomic !== undefined);
  if (lastSize < 0) return chainContext.growth;
  return stages[lastSize] === 'soft' ? chainContext.ageGrowth : undefined;
}

/** How a placed sequence locates the feature. */
export function locatingOf(
  { start, geometry }: Pick<ChainSubject, 'start' | 'geometry'>,
  process: Process | undefined,
  setUp: SetUp | undefined,
): Locating {
  return {
    start,
    extentMm: geometry.extentMm,
    ...(setUp === undefined ? {} : { setUp }),
    ...(process === undefined ? {} : { process }),
  };
}

/** Writes a placed sequence out as a chain: stock, printed size, target. */
export function makeChain(
  shared: ChainSubject,
  sequence: readonly Process[],
  placed: readonly PlacedStep[],
  stages: readonly Stage[],
  acting: readonly PlannedFinish[],
  demand: ChainDemand,
  { objective, leadMinutes }: Pick<FoundChain, 'objective' | 'leadMinutes'>,
): FoundChain {
  const { feature, chainContext, geometry, start } = shared;
  const internal = isInternal(feature);
  const [first] = sequence;
  const opened = shared.solid && first !== undefined && opensSolid(first, feature);
  const steps = placed.map(({ setUp, work }, index): FoundStep => {
    const { before, cut, amount, timeFactor } = work;
    return {
      process: sequence[index] as Process,
      setUp,
      stage: stages[index] ?? 'hard',
      amount,
      timeFactor,
      stock: stepStock(before, cut, geometry.twoSided) as StepStock,
      toleranceMm: demand.tolerancesMm[index] ?? 0,
      raUm: demand.raUm[index] ?? start.raUm,
    };
  });
  const locatingIndex = sequence.findLastIndex((process) => process.needs.correctsLocation);
  const stockPerSideMm = steps.reduce((sum, step) => sum + step.stock.nominalMm, 0);
  const growth = growthAfter(chainContext, sequence, stages)?.meanPerMm ?? 0;
  const middle =
    feature.size === undefined ? undefined : (feature.size.lowerMm + feature.size.upperMm) / 2;
  const outward = internal ? -1 : 1;
  const afterwards = sides(geometry) * demand.laterRemovalMm * outward;
  const targetMm = middle === undefined ? undefined : (middle + afterwards) / (1 + growth);
  const route = steps.map((step) => `${step.process.id}@${step.setUp.id}`).join('>');
  const id = `${feature.id}:${route === '' ? 'as-printed' : route}${acting.length > 0 && steps.length > 0 ? ':exposed' : ''}`;
  return {
    id,
    mark: `${id}|${steps.map(({ amount, timeFactor }) => `${amount.stockMm} ${timeFactor}`).join('|')}`,
    feature,
    steps,
    masks: [],
    objective,
    leadMinutes,
    setUps: [...new Set(steps.map((step) => step.setUp.id))].sort(),
    locating: locatingOf(shared, sequence[locatingIndex], steps[locatingIndex]?.setUp),
    demand,
    start,
    geometry,
    requirements: shared.requirements,
    stockPerSideMm: opened ? geometry.acrossMm / 2 : stockPerSideMm,
    printedSolid: opened,
    printedSizeMm:
      opened || (middle === undefined && feature.thread === undefined)
        ? undefined
        : printedSize(
            shared,
            middle ?? shared.nominal,
            sequence.length === 0
              ? demand.laterRemovalMm
              : stockPerSideMm + finishEffect(acting).meanMm,
            sequence.length === 0,
          ),
    targetMm,
  };
}

/**
 * Size that the build model must show: the finished size plus stock and what the finishes take (less
 * what a coating adds), undone for growth in heat and the printer's mean error.
 *
 * @param addedPerSideMm stock and the mean removal of what follows it
 */
function printedSize(
  shared: ChainSubject,
  finishedMm: number,
  addedPerSideMm: number,
  asPrinted: boolean,
): number {
  const internal = isInternal(shared.feature);
  const outward = internal ? -1 : 1;
  const added = outward * sides(shared.geometry) * addedPerSideMm;
  const size =
    (finishedMm + added) / (1 + shared.chainContext.growth.meanPerMm) - shared.start.sizeMeanMm;
  return asPrinted
    ? Math.round(size * 1000) / 1000
    : roundPrinted(size, shared.context.defaultValue('printed-size-step'), internal);
}
