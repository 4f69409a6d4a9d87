import { type CuttingStep, type SurfaceState, stepStockMm } from '../allowance/chain-stock.js';
import { addRun, noRun, type RunSum, runObjective } from '../cost/charges.js';
import { stepMinutes } from '../cost/process-time.js';
import type { FeatureGeometry } from '../job/feature-geometry.js';
import type { Process } from '../job/planning-context.js';
import type { FeatureRequirement } from '../job/requirements.js';
import { surfaceLayer } from './as-built-state.js';
import type { ChainContext, ChainSubject, FoundChain, Growth, Placement } from './chain.js';
import { type ChainDemand, chainDemand, type Shortfall } from './chain-demand.js';
import { locatesAsWell, undominated } from './chain-dominance.js';
import { type FinishEffect, finishEffect, type PlannedFinish, sizeShift } from './finishes.js';
import { type Locating, probabilityInZone } from './location.js';
import {
  growthAfter,
  locatingOf,
  makeChain,
  type PlacedStep,
  type PlacedWork,
} from './make-chain.js';
import { opensSolid } from './process-sequences.js';
import type { SetUp, Stage } from './set-ups.js';

export interface Found {
  readonly chains: readonly FoundChain[];
  readonly shortfalls: readonly Shortfall[];
}

/** Keeps the smaller miss of each requirement. */
export function nearest(known: Map<string, Shortfall>, shortfall: Shortfall): void {
  const other = known.get(shortfall.requirement.id);
  if (other === undefined || shortfall.distance < other.distance)
    known.set(shortfall.requirement.id, shortfall);
}

/** Every placement of every sequence that meets the requirements, dominated ones left out. */
export function search(
  shared: ChainSubject,
  sequences: readonly (readonly Process[])[],
  acting: readonly PlannedFinish[],
): Found {
  const { context, chainContext, requirements } = shared;
  const kept: Candidate[] = [];
  const finish = finishEffect(acting);
  const layers = new Map<string, { rzMm: number; layerMm: number }>();
  const layerOf = (id: string): { rzMm: number; layerMm: number } => {
    const layer = layers.get(id) ?? surfaceLayer(context, id);
    layers.set(id, layer);
    return layer;
  };
  const shortfalls = new Map<string, Shortfall>();
  const enough: Process[][] = [];
  for (const sequence of sequences) {
    if (
      enough.some(
        (shorter) =>
          startsWith(sequence, shorter) &&
          (shared.indifferent ||
            !sequence.slice(shorter.length).some((process) => process.needs.correctsLocation)),
      )
    )
      continue;
    const demands = new Map<Growth | undefined, ChainDemand | Shortfall>();
    for (const stages of stageSplits(shared, sequence)) {
      const growth = growthAfter(chainContext, sequence, stages);
      const demand = demands.get(growth) ?? demandOf(shared, sequence, finish, growth);
      demands.set(growth, demand);
      if ('requirement' in demand) {
        nearest(shortfalls, demand);
        continue;
      }
      const locatingIndex = sequence.findLastIndex((process) => process.needs.correctsLocation);
      const placing: Placing = { shared, sequence, stages, demand, kept, locatingIndex, layerOf };
      placeSteps(
        placing,
        [],
        shared.start.surface,
        noRun,
        0,
        (placed, objective, { leadMinutes }) => {
          const locating = locatingOf(
            shared,
            sequence[locatingIndex],
            placed[locatingIndex]?.setUp,
          );
          const misplaced = requirements.find(
            (entry) => !placeable(entry, locating, context.job.policy.minimumProbability),
          );
          if (misplaced === undefined) {
            kept.push({
              id: placed.map(({ setUp }, index) => `${sequence[index]?.id}@${setUp.id}`).join('>'),
              objective,
              leadMinutes,
              setUps: [...new Set(placed.map(({ setUp }) => setUp.id))],
              locating,
              sequence,
              stages,
              placed,
              demand,
            });
            return;
          }
          const sigma = locating.setUp?.centre.positionUm ?? shared.start.locationSigmaMm * 1000;
          nearest(shortfalls, {
            requirement: misplaced,
            best: `about ${((2 * 3.44 * sigma) / 1000).toFixed(3)} mm`,
            distance: sigma,
          });
        },
      );
    }
    // Whatever goes on after a sequence that already does it at no extra time costs more.
    const easy = [...demands.values()].every(
      (demand) => !('requirement' in demand) && demand.factors.every((factor) => factor === 1),
    );
    if (easy && sequence.length > 0) enough.push([...sequence]);
  }
  return {
    chains: undominated(kept, shared).map(({ sequence, placed, stages, demand, ...sum }) =>
      makeChain(shared, sequence, placed, stages, acting, demand, sum),
    ),
    shortfalls: [...shortfalls.values()],
  };
}

function startsWith(sequence: readonly Process[], start: readonly Process[]): boolean {
  return start.every((process, index) => sequence[index]?.id === process.id);
}

/** A placed sequence that meets the requirements, before it is written out as a chain. */
interface Candidate extends Placement {
  readonly sequence: readonly Process[];
  readonly stages: readonly Stage[];
  readonly placed: readonly PlacedStep[];
  readonly demand: ChainDemand;
}

interface Placing {
  readonly shared: ChainSubject;
  readonly sequence: readonly Process[];
  readonly stages: readonly Stage[];
  readonly demand: ChainDemand;
  /** Candidates found so far; a partial placement that one of them dominates is dropped. */
  readonly kept: readonly Candidate[];
  /** Step that gives the feature its place; -1 when none does. */
  readonly locatingIndex: number;
  layerOf(process: string): { readonly rzMm: number; readonly layerMm: number };
}

/** Places the steps one after the other; a step stays in the set-up of the step before when it can. */
function placeSteps(
  placing: Placing,
  placed: readonly PlacedStep[],
  before: SurfaceState,
  run: RunSum,
  objective: number,
  done: (steps: readonly PlacedStep[], objective: number, run: RunSum) => void,
): void {
  const { shared, sequence, stages, demand } = placing;
  const index = placed.length;
  const process = sequence[index];
  if (process === undefined) {
    done(placed, objective, run);
    return;
  }
  const stage = stages[index] ?? 'hard';
  const options = shared.setUpOptions(process, stage);
  const last = placed[index - 1]?.setUp;
  const stay = options.find((option) => option.id === last?.id);
  // Coming back to a set-up that was left would be a second visit.
  const open =
    stay === undefined
      ? options.filter((option) => !placed.some((step) => step.setUp.id === option.id))
      : [stay];
  const { rzMm, layerMm } = placing.layerOf(process.id);
  const after: SurfaceState = {
    rzMm,
    layerMm,
    formMm:
      shared.start.surface.formMm * shared.copying[process.needs.rank === 1 ? 'rough' : 'finish'],
    toleranceMm: demand.usualTolerancesMm[index] ?? 0,
  };
  const atCentre = new Map<SetUp['centre'], CentreWork | undefined>();
  for (const setUp of open) {
    // Which way the part is held does not matter to stock and time.
    const { centre } = setUp;
    const here = atCentre.has(centre)
      ? atCentre.get(centre)
      : centreWork(placing, index, before, after, run, setUp, last);
    atCentre.set(centre, here);
    if (here === undefined) continue;
    const steps = [...placed, { setUp, work: here.work }];
    if (!beaten(placing, steps, here))
      placeSteps(placing, steps, after, here.run, here.objective, done);
  }
}

/** One step at one work centre, with the run times up to and with it. */
interface CentreWork {
  readonly work: PlacedWork;
  readonly run: RunSum;
  readonly objective: number;
}

/** Stock, time and cost of one step in a set-up; undefined when it would have to take too much. */
function centreWork(
  { shared, sequence, stages, demand }: Placing,
  index: number,
  before: SurfaceState,
  after: SurfaceState,
  run: RunSum,
  setUp: SetUp,
  last: SetUp | undefined,
): CentreWork | undefined {
  const { context, feature, geometry, chainContext } = shared;
  const process = sequence[index] as Process;
  const opened = shared.solid && index === 0 && opensSolid(process, feature);
  const probable =
    index === 0 && !opened && process.needs.allowanceRule === 'full'
      ? shared.probableStock
      : undefined;
  const cut: CuttingStep = {
    process: process.id,
    settingMm: settingMm(setUp, last),
    rule: process.needs.allowanceRule,
    shiftMm: sizeShift(process).meanMm,
    stockMinMm: process.row.stockMinMm ?? 0,
    stockMaxMm: process.row.stockMaxMm ?? Number.POSITIVE_INFINITY,
    ...(probable === undefined ? {} : { probableMm: probable(setUp, after.toleranceMm) }),
    after,
  };
  const stockMm = stepStockMm(before, cut, geometry.twoSided);
  if (stockMm === undefined) return undefined;
  const slow = chainContext.aged && stages[index] !== 'soft' ? chainContext.slowdown : 1;
  const amount = {
    areaMm2: geometry.areaMm2,
    stockMm,
    solidVolumeMm3: opened ? geometry.holeVolumeMm3 : 0,
    count: feature.count,
    freeform: feature.kind === 'freeform',
  };
  const timeFactor = (demand.factors[index] ?? 1) * slow;
  const sum = addRun(run, setUp.centre, stepMinutes(process, context, amount, timeFactor), context);
  return {
    work: { before, cut, amount, timeFactor },
    run: sum,
    objective: runObjective(sum, context),
  };
}

/** A candidate already does it with a part of these set-ups for no more money (and time, if both count). */
function beaten(
  { shared, sequence, kept, locatingIndex }: Placing,
  steps: readonly PlacedStep[],
  { objective, run }: CentreWork,
): boolean {
  const settled = shared.indifferent || steps.length > locatingIndex;
  if (!settled) return false;
  let locating: Locating | undefined;
  for (const candidate of kept) {
    if (candidate.objective > objective) continue;
    if (shared.context.bothAims === true && candidate.leadMinutes > run.leadMinutes) continue;
    if (!candidate.setUps.every((id) => steps.some((step) => step.setUp.id === id))) continue;
    if (shared.indifferent) return true;
    locating ??= locatingOf(shared, sequence[locatingIndex], steps[locatingIndex]?.setUp);
    if (locatesAsWell(candidate.locating, locating, shared)) return true;
  }
  return false;
}

function stageSplits(
  { chainContext, isDatum }: ChainSubject,
  sequence: readonly Process[],
): readonly (readonly Stage[])[] {
  const all = (stage: Stage): Stage[] => sequence.map(() => stage);
  if (sequence.length === 0) return [all('hard')];
  const early = isDatum ? [all('datum')] : [];
  if (!chainContext.aged) return [all('hard'), ...early];
  const split = sequence.map((process): Stage => (process.needs.rank === 1 ? 'soft' : 'hard'));
  const mixed = split.includes('soft') && split.includes('hard');
  return [all('hard'), ...early, all('soft'), ...(mixed ? [split] : [])];
}

function demandOf(
  shared: ChainSubject,
  sequence: readonly Process[],
  finish: FinishEffect,
  growth: Growth | undefined,
): ChainDemand | Shortfall {
  return chainDemand({
    feature: shared.feature,
    geometry: shared.geometry,
    requirements: shared.requirements,
    sequence,
    start: shared.start,
    finish,
    heat:
      growth === undefined
        ? []
        : [
            {
              name: 'change of size in heat',
              sigmaMm: growth.sigmaPerMm * shared.nominal,
              source: growth.source,
              confidence: growth.confidence,
            },
          ],
    // What is left as printed is compensated in the build model instead.
    heatShiftMm:
      growth === undefined || sequence.length === 0
        ? 0
        : (Math.abs(growth.meanPerMm) + 3 * growth.sigmaPerMm) * shared.nominal,
    heatFormMm:
      growth === shared.chainContext.ageGrowth && sequence.length > 0
        ? ageBendingMm(shared.chainContext, shared.geometry)
        : 0,
    minimumProbability: shared.context.job.policy.minimumProbability,
  });
}

/** How far the age bends a feature that is finished before it, mm. */
export function ageBendingMm(
  { ageFormPer100Mm }: Pick<ChainContext, 'ageFormPer100Mm'>,
  { acrossMm, extentMm }: Pick<FeatureGeometry, 'acrossMm' | 'extentMm'>,
): number {
  return (ageFormPer100Mm * Math.max(acrossMm, extentMm)) / 100;
}

/** Setting error: three standard deviations of the clamping of a new set-up, none in the same one. */
function settingMm(here: SetUp, before: SetUp | undefined): number {
  if (before === undefined) return (3 * here.centre.roughRelocationUm) / 1000;
  if (here.id === before.id) return 0;
  return (3 * Math.hypot(here.centre.positionUm, here.centre.relocationUm)) / 1000;
}

/** Whether a located requirement can be met at all: with its datum in the same set-up. */
function placeable(
  requirement: FeatureRequirement,
  locating: Locating,
  minimumProbability: number,
): boolean {
  if (requirement.kind !== 'geometric' || requirement.tolerance.datums.length === 0) return true;
  return probabilityInZone(requirement.tolerance, locating, locating) >= minimumProbability - 1e-9;
}
