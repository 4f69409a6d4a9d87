import { roundPrinted, type StepStock, stepStock } from '../allowance/chain-stock.js';
import type { Process } from '../job/planning-context.js';
import { type ChainSubject, type FoundChain, type FoundStep, isInternal } from './chain.js';
import { type ChainDemand, type SequenceProfile, sides } from './chain-demand.js';
import { finishEffect, type PlannedFinish } from './finishes.js';
import type { Placement } from './placements.js';
import { opensSolid } from './process-sequences.js';

/** Writes a placed sequence out as a chain: stock, printed size, target. */
export function makeChain(
  shared: ChainSubject,
  { sequence, lastSize }: SequenceProfile,
  placement: Placement,
  acting: readonly PlannedFinish[],
  demand: ChainDemand,
  { objective, leadMinutes }: Pick<FoundChain, 'objective' | 'leadMinutes'>,
): FoundChain {
  const { feature, geometry, start } = shared;
  const { route, setUps, locating } = placement;
  const internal = isInternal(feature);
  const [first] = sequence;
  const opened = shared.solid && first !== undefined && opensSolid(first, feature);
  // What is only polished keeps the size that it was printed to.
  const asPrinted = lastSize < 0 && (feature.thread === undefined || sequence.length === 0);
  const steps = placement.steps.map(({ setUp, work }, index): FoundStep => {
    const { before, cut, amount, slowdown } = work;
    return {
      process: sequence[index] as Process,
      setUp,
      stage: setUp.stage,
      amount,
      timeFactor: (demand.factors[index] ?? 1) * slowdown,
      stock: stepStock(before, cut, geometry.twoSided) as StepStock,
      toleranceMm: demand.tolerancesMm[index] ?? 0,
      raUm: demand.raUm[index] ?? start.raUm,
    };
  });
  const stockPerSideMm = steps.reduce((sum, step) => sum + step.stock.nominalMm, 0);
  const growth = placement.growth?.meanPerMm ?? 0;
  const middle =
    feature.size === undefined ? undefined : (feature.size.lowerMm + feature.size.upperMm) / 2;
  const outward = internal ? -1 : 1;
  const afterwards = sides(geometry) * demand.laterRemovalMm * outward;
  const targetMm = middle === undefined ? undefined : (middle + afterwards) / (1 + growth);
  const id = `${feature.id}:${route === '' ? 'as-printed' : route}${acting.length > 0 && steps.length > 0 ? ':exposed' : ''}`;
  return {
    id,
    mark: `${id}|${steps.map(({ amount, timeFactor }) => `${amount.stockMm} ${timeFactor}`).join('|')}`,
    route,
    feature,
    steps,
    masks: [],
    objective,
    leadMinutes,
    setUps,
    locating,
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
            asPrinted ? demand.laterRemovalMm : stockPerSideMm + finishEffect(acting).meanMm,
            asPrinted,
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
  // An inner corner whose stock is more than its radius is printed sharp.
  const size = Math.max(
    0,
    (finishedMm + added) / (1 + shared.chainContext.growth.meanPerMm) - shared.start.sizeMeanMm,
  );
  return asPrinted
    ? Math.round(size * 1000) / 1000
    : roundPrinted(size, shared.context.defaultValue('printed-size-step'), internal);
}
