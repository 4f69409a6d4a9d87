import { limitsBeforeCoating } from '../allowance/coating.js';
import { pitchDiameterLimits, threadBeforeCoating } from '../allowance/thread-coating.js';
import type { PlanningContext } from '../job/planning-context.js';
import { type Chain, type ChainStep, isInternal } from '../route/chain.js';
import { sides } from '../route/chain-demand.js';
import { actingCoatings, coatingNames } from '../route/coatings.js';
import { coatingGrowth, type PlannedFinish } from '../route/finishes.js';
import { measuredFrom } from './axis-charts.js';
import { sizeChart } from './size-chart.js';
import type { WorkingDimension } from './types.js';

/**
 * What the operator measures after a step: the size with its limits, which stand before a coating that
 * still follows; the pitch diameter of a thread that is to be coated; the roughness at the end.
 */
export function workingDimensions(
  chain: Chain,
  step: ChainStep,
  index: number,
  context: PlanningContext,
): readonly WorkingDimension[] {
  const { feature } = chain;
  const left = stockAfter(chain, index, chain.steps.length);
  const base = { feature: feature.id, step: step.process.id };
  const last = index === chain.steps.length - 1;
  const coatings = index >= lastSizeOf(chain) ? actingCoatings(chain) : [];
  const list: WorkingDimension[] = [];
  const charted = step.toleranceMm > 0 ? sizeChart(chain) : undefined;
  const dimension = charted?.dimension(index);
  const stock = charted?.stock(index);
  if (dimension !== undefined)
    list.push({
      ...base,
      lower: dimension.lowerMm,
      upper: dimension.upperMm,
      target: dimension.meanMm,
      what: `${sizeWord(chain, context)}${before(coatings)}`,
      unit: 'mm',
      diametral: chain.geometry.round,
      stockLeftPerSideMm: left,
      ...(stock === undefined
        ? {}
        : {
            stockFound: {
              leastMm: Math.max(0, stock.lowerMm),
              meanMm: stock.meanMm,
              mostMm: stock.upperMm,
            },
          }),
    });
  if (feature.thread?.internal === true && step.toleranceMm > 0)
    list.push({
      ...base,
      what: 'core diameter',
      lower: chain.geometry.acrossMm - step.toleranceMm / 2,
      upper: chain.geometry.acrossMm + step.toleranceMm / 2,
      unit: 'mm',
      target: chain.geometry.acrossMm,
      diametral: true,
      stockLeftPerSideMm: 0,
    });
  if (last && coatings.length > 0) {
    if (feature.thread === undefined) noteSpread(chain, coatings, context);
    else list.push(...pitchDiameter(chain, base, coatings, context));
  }
  const limit = chain.requirements.find((entry) => entry.kind === 'roughness');
  if (limit?.kind === 'roughness' && last)
    list.push({
      ...base,
      what: limit.parameter,
      lower: 0,
      upper: limit.raMaxUm * limit.perRa,
      unit: 'um',
      target: Math.min(step.raUm, limit.raMaxUm) * limit.perRa,
      diametral: false,
      stockLeftPerSideMm: left,
    });
  return list;
}

/** The step that makes the size; -1 when none does. */
function lastSizeOf({ steps }: Chain): number {
  return steps.findLastIndex((entry) => entry.toleranceMm > 0);
}

function sizeWord({ geometry, feature }: Chain, { job }: PlanningContext): string {
  if (geometry.round) return 'diameter';
  if (feature.kind === 'radius')
    return feature.concave === true ? 'concave radius' : 'convex radius';
  if (feature.kind === 'slot') return 'width';
  const letter = measuredFrom(feature, job);
  return letter === undefined ? 'size' : `distance from datum ${letter}`;
}

function before(coatings: readonly PlannedFinish[]): string {
  return coatings.length === 0 ? '' : ` before ${coatingNames(coatings)}`;
}

/** Stock of the steps after one, up to but not with another, per side, mm. */
function stockAfter(chain: Chain, index: number, end: number): number {
  return chain.steps
    .slice(index + 1, end)
    .reduce((sum, later) => sum + (later.stock?.nominalMm ?? 0), 0);
}

/** What rounding may do to limits that just fit. */
const slackMm = 1e-4;

/** Says when the limits before a coating hold with the wanted probability, but not for every part. */
function noteSpread(
  chain: Chain,
  coatings: readonly PlannedFinish[],
  context: PlanningContext,
): void {
  const size = chain.requirements.find((entry) => entry.kind === 'size');
  if (size?.kind !== 'size') return;
  const growth = coatingGrowth(coatings);
  const per = sides(chain.geometry);
  const safe = limitsBeforeCoating(size, growth, per, isInternal(chain.feature));
  const worked = sizeChart(chain)?.dimension(lastSizeOf(chain));
  if (worked === undefined) return;
  if (
    safe !== undefined &&
    worked.lowerMm >= safe.lowerMm - slackMm &&
    worked.upperMm <= safe.upperMm + slackMm
  )
    return;
  context.find({
    id: 'coating-spread',
    severity: 'warning',
    message: `${coatingNames(coatings)} adds ${(1000 * per * growth.lowMm).toFixed(0)} to ${(1000 * per * growth.highMm).toFixed(0)} µm to ${size.text}: the limits before it hold with the wanted probability, not for every part; agree a closer coating thickness`,
    about: chain.feature.id,
    source: coatings[0]?.process.row.effectSource ?? 'process catalogue',
  });
}

/** Limits of the pitch diameter before coating. */
function pitchDiameter(
  chain: Chain,
  base: Pick<WorkingDimension, 'feature' | 'step'>,
  coatings: readonly PlannedFinish[],
  context: PlanningContext,
): readonly WorkingDimension[] {
  const { thread } = chain.feature;
  if (thread === undefined) return [];
  const growth = coatingGrowth(coatings);
  const limits = threadBeforeCoating(context.catalog, thread, growth);
  if (limits === undefined) return [];
  const table = pitchDiameterLimits(context.catalog, thread);
  context.assume({
    what: `pitch diameter of ${thread.designation} before ${coatingNames(coatings)}`,
    value: `class limits before coating, ${(4000 * growth.lowMm).toFixed(0)} to ${(4000 * growth.highMm).toFixed(0)} µm of growth (four times the growth per side) kept inside the ${thread.internal ? 'H' : 'h'} line`,
    source: table?.source ?? 'ISO 965-1',
    confidence: table?.confidence ?? 'memory',
  });
  return [
    {
      ...base,
      what: `pitch diameter before ${coatingNames(coatings)}`,
      lower: limits.lowerMm,
      upper: limits.upperMm,
      unit: 'mm',
      target: (limits.lowerMm + limits.upperMm) / 2,
      diametral: true,
      stockLeftPerSideMm: 0,
    },
  ];
}
