import {
  roundPrinted,
  type StepStock,
  type SurfaceState,
  stepStock,
} from '../allowance/chain-stock.js';
import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import { addCosts, objectiveOf, runCost, runObjective, type WorkCost } from '../cost/charges.js';
import { stepMinutes } from '../cost/process-time.js';
import { type FeatureGeometry, featureGeometry } from '../job/feature-geometry.js';
import type { PlanningContext, Process } from '../job/planning-context.js';
import { type FeatureRequirement, requirementsOf } from '../job/requirements.js';
import type { Feature, GeometricTolerance } from '../job/types.js';
import { equivalentGrade } from '../limits/grades.js';
import { type AsBuiltState, asBuiltState, isPlateSide, surfaceLayer } from './as-built-state.js';
import {
  type ChainDemand,
  chainDemand,
  nominalOf,
  type Shortfall,
  type SpreadTerm,
  sides,
} from './chain-demand.js';
import { finishEffect, type PlannedFinish, sizeShift } from './finishes.js';
import { type Locating, probabilityInZone, probabilityUnder } from './location.js';
import { processSequences } from './process-sequences.js';
import { accessOf, type SetUp, type Stage, setUpsFor } from './set-ups.js';

/** What a part plan means for the features: plans that agree here share their chains. */
export interface ChainContext {
  readonly key: string;
  readonly cutOff: string;
  readonly relieved: boolean;
  /** Change of size of a printed surface over all heat, and over the last age alone. */
  readonly growth: Growth;
  readonly ageGrowth: Growth;
  /** Whether an age splits machining into a soft and a hard stage. */
  readonly aged: boolean;
  /** Cutting time in the hard stage relative to the soft one. */
  readonly slowdown: number;
  readonly finishes: readonly PlannedFinish[];
}

export interface Growth {
  readonly meanPerMm: number;
  readonly sigmaPerMm: number;
  readonly source: string;
  readonly confidence: SpreadTerm['confidence'];
}

export interface ChainStep {
  readonly process: Process;
  readonly setUp: SetUp;
  readonly stage: Stage;
  readonly minutes: number;
  readonly cost: WorkCost;
  readonly stock?: StepStock;
  readonly toleranceMm: number;
  readonly raUm: number;
}

/** The ordered operations that finish one feature under one chain context. */
export interface Chain {
  readonly id: string;
  readonly feature: Feature;
  readonly context: ChainContext;
  readonly steps: readonly ChainStep[];
  /** Finished faces are plugged or masked against the finishes after machining. */
  readonly masked: readonly {
    readonly finish: PlannedFinish;
    readonly cost: WorkCost;
    readonly centre: WorkCentresRow;
  }[];
  readonly cost: WorkCost;
  readonly objective: number;
  readonly setUps: readonly string[];
  readonly locating: Locating;
  readonly demand: ChainDemand;
  readonly start: AsBuiltState;
  readonly geometry: FeatureGeometry;
  readonly requirements: readonly FeatureRequirement[];
  readonly stockPerSideMm: number;
  /** The hole is closed in the build model and drilled. */
  readonly printedSolid: boolean;
  /** Absent when the feature is printed solid or has no size. */
  readonly printedSizeMm: number | undefined;
  /** Mean size to aim at when the last size-making step is done, mm. */
  readonly targetMm: number | undefined;
}

export interface FeatureChains {
  readonly feature: Feature;
  readonly chains: readonly Chain[];
  /** Nearest misses per requirement, when no chain works. */
  readonly shortfalls: readonly Shortfall[];
  /** Whether every chain of another context could be replaced by one of these. */
  covers(other: FeatureChains): boolean;
}

/**
 * Finds the non-dominated chains of one feature under one chain context after the other. Work that
 * contexts share (the steps do not care whether a finish before machining follows) is done once.
 */
export function chainFinder(
  feature: Feature,
  context: PlanningContext,
): (chainContext: ChainContext) => FeatureChains {
  const geometry = featureGeometry(feature, context);
  const requirements = requirementsOf(feature, () => context.defaultValue('rz-per-ra'));
  const nominal = nominalOf(feature, geometry);
  const hole = feature.kind === 'bore' || feature.thread?.internal === true;
  const solid = hole && geometry.acrossMm < context.defaultValue('print-solid-below');
  const access = accessOf(feature, context);
  const located = feature.geometric.filter(
    (tolerance) => tolerance.datums.length > 0 && !tolerance.kind.startsWith('profile'),
  );
  const sensitiveDatum = isSensitiveDatum(feature, context);
  const indifferent = located.length === 0 && !isDatumOfAny(feature, context);
  const copying = {
    rough: context.defaultValue('error-copying-rough'),
    finish: context.defaultValue('error-copying-finish'),
  };
  const options = new Map<string, readonly SetUp[]>();
  const setUpOptions = (process: Process, stage: Stage): readonly SetUp[] => {
    const key = `${process.id}/${stage}`;
    const known = options.get(key);
    if (known !== undefined) return known;
    const found = context.workCentres.flatMap((centre) =>
      setUpsFor(process, centre, feature, stage, access),
    );
    options.set(key, found);
    return found;
  };
  const reaches = (process: Process): boolean => setUpOptions(process, 'hard').length > 0;
  const cache = new Map<string, Found>();
  const find = (
    shared: Shared,
    sequences: readonly (readonly Process[])[],
    key: string,
    acting: readonly PlannedFinish[],
  ): Found => {
    const known = cache.get(key);
    if (known !== undefined) return known;
    const found = search(shared, sequences, acting);
    cache.set(key, found);
    return found;
  };
  return (chainContext) => {
    const start = asBuiltState(
      feature,
      geometry,
      context,
      chainContext.cutOff,
      chainContext.relieved,
    );
    const shared: Shared = {
      feature,
      context,
      chainContext,
      geometry,
      requirements,
      start,
      nominal,
      solid,
      setUpOptions,
      copying,
      located,
      sensitiveDatum,
      indifferent,
    };
    const chains: Chain[] = [];
    const shortfalls = new Map<string, Shortfall>();
    const startGrade = equivalentGrade(nominal, start.sizeSigmaMm * 6000);
    const worked = (): readonly (readonly Process[])[] => [
      ...processSequences(feature, context, startGrade, start.raUm, false, reaches).filter(
        (sequence) => sequence.length > 0,
      ),
      ...(solid ? processSequences(feature, context, startGrade, start.raUm, true, reaches) : []),
    ];
    const take = (found: Found, masked: readonly PlannedFinish[]): void => {
      for (const chain of found.chains)
        chains.push(withMasking(chain, masked, chainContext, context));
      for (const shortfall of found.shortfalls) nearest(shortfalls, shortfall);
    };
    if (feature.thread === undefined)
      for (const exposure of exposures(shared, true))
        take(search(shared, [[]], exposure.acting), exposure.masked);
    const machiningKey = [
      isPlateSide(feature) ? chainContext.cutOff : '',
      chainContext.relieved,
      chainContext.aged,
      chainContext.slowdown,
      chainContext.ageGrowth.meanPerMm,
      chainContext.ageGrowth.sigmaPerMm,
      chainContext.growth.meanPerMm,
    ].join('|');
    for (const exposure of exposures(shared, false)) {
      const acting = exposure.acting.map((finish) => finish.process.id).join('+');
      const key = `${machiningKey}|${acting}`;
      take(find(shared, cache.has(key) ? [] : worked(), key, exposure.acting), exposure.masked);
    }
    const left = undominated(chains, shared).sort((a, b) => (a.id < b.id ? -1 : 1));
    const byRoute = new Map(left.map((chain) => [routeOf(chain), chain]));
    return {
      feature,
      chains: left,
      shortfalls: [...shortfalls.values()],
      covers: (other) =>
        other.chains.every((chain) => {
          const same = byRoute.get(routeOf(chain));
          return (
            (same !== undefined && same.objective <= chain.objective) ||
            left.some((mine) => replaces(mine, chain, shared))
          );
        }),
    };
  };
}

/** The chain without regard to masking. */
function routeOf(chain: Chain): string {
  return chain.id.replace(':masked', '').replace(':exposed', '');
}

interface Found {
  readonly chains: readonly Chain[];
  readonly shortfalls: readonly Shortfall[];
}

function nearest(known: Map<string, Shortfall>, shortfall: Shortfall): void {
  const other = known.get(shortfall.requirement.id);
  if (other === undefined || shortfall.distance < other.distance)
    known.set(shortfall.requirement.id, shortfall);
}

/** Every placement of every sequence that meets the requirements, dominated ones left out. */
function search(
  shared: Shared,
  sequences: readonly (readonly Process[])[],
  acting: readonly PlannedFinish[],
): Found {
  const { context, chainContext, requirements } = shared;
  const kept: Chain[] = [];
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
    for (const stages of stageSplits(chainContext, sequence)) {
      const growth = growthAfter(chainContext, sequence, stages);
      const demand = demands.get(growth) ?? demandOf(shared, sequence, acting, growth);
      demands.set(growth, demand);
      if ('requirement' in demand) {
        nearest(shortfalls, demand);
        continue;
      }
      placeSteps(
        { shared, sequence, stages, demand, kept },
        [],
        shared.start.surface,
        0,
        (placed) => {
          const chain = makeChain(shared, sequence, placed, stages, acting, demand);
          const misplaced = requirements.find(
            (entry) => !placeable(entry, chain, context.job.policy.minimumProbability),
          );
          if (misplaced === undefined) {
            kept.push(chain);
            return;
          }
          const sigma =
            chain.locating.setUp?.centre.positionUm ?? chain.start.locationSigmaMm * 1000;
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
  return { chains: undominated(kept, shared), shortfalls: [...shortfalls.values()] };
}

function startsWith(sequence: readonly Process[], start: readonly Process[]): boolean {
  return start.every((process, index) => sequence[index]?.id === process.id);
}

interface Placing {
  readonly shared: Shared;
  readonly sequence: readonly Process[];
  readonly stages: readonly Stage[];
  readonly demand: ChainDemand;
  /** Chains found so far; a partial placement that one of them dominates is dropped. */
  readonly kept: readonly Chain[];
}

/** A step that has its set-up, stock and time, but not yet its priced charges. */
interface PlacedStep {
  readonly setUp: SetUp;
  readonly stock: StepStock;
  readonly minutes: number;
}

/** Places the steps one after the other; a step stays in the set-up of the step before when it can. */
function placeSteps(
  placing: Placing,
  placed: readonly PlacedStep[],
  before: SurfaceState,
  objective: number,
  done: (steps: readonly PlacedStep[]) => void,
): void {
  const { shared, sequence, stages, demand } = placing;
  const index = placed.length;
  const process = sequence[index];
  if (process === undefined) {
    done(placed);
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
  const opened = shared.solid && index === 0 && process.needs.opensSolid;
  const after: SurfaceState = {
    ...surfaceLayer(shared.context, process.id),
    formMm:
      shared.start.surface.formMm * shared.copying[process.needs.rank === 1 ? 'rough' : 'finish'],
    toleranceMm: demand.usualTolerancesMm[index] ?? 0,
  };
  for (const setUp of open) {
    const stock = stepStock(
      before,
      {
        process: process.id,
        settingMm: settingMm(setUp, last),
        rule: process.needs.allowanceRule,
        shiftMm: sizeShift(process).meanMm,
        stockMinMm: process.row.stockMinMm ?? 0,
        stockMaxMm: process.row.stockMaxMm ?? Number.POSITIVE_INFINITY,
        after,
      },
      shared.geometry.round,
    );
    if (stock === undefined) continue;
    const slow = shared.chainContext.aged && stage === 'hard' ? shared.chainContext.slowdown : 1;
    const minutes = stepMinutes(
      process,
      shared.context,
      {
        areaMm2: shared.geometry.areaMm2,
        stockMm: stock.nominalMm,
        solidVolumeMm3: opened ? shared.geometry.holeVolumeMm3 : 0,
        count: shared.feature.count,
      },
      (demand.factors[index] ?? 1) * slow,
    );
    const steps = [...placed, { setUp, stock, minutes }];
    const sum = objective + runObjective(setUp.centre, shared.context, minutes);
    if (!beaten(placing, steps, sum)) placeSteps(placing, steps, after, sum, done);
  }
}

/** A finished chain already does it with a part of these set-ups for no more money. */
function beaten(
  { shared, sequence, kept }: Placing,
  steps: readonly PlacedStep[],
  objective: number,
): boolean {
  const locatingIndex = sequence.findLastIndex((process) => process.needs.correctsLocation);
  const settled = steps.length > locatingIndex;
  const locating = locatingOf(shared.start, sequence[locatingIndex], steps[locatingIndex]?.setUp);
  return kept.some(
    (chain) =>
      chain.objective <= objective &&
      chain.setUps.every((id) => steps.some((step) => step.setUp.id === id)) &&
      (shared.indifferent || (settled && locatesAsWell(chain.locating, locating, shared))),
  );
}

function locatingOf(
  start: AsBuiltState,
  process: Process | undefined,
  setUp: SetUp | undefined,
): Locating {
  return {
    start,
    ...(setUp === undefined ? {} : { setUp }),
    ...(process === undefined ? {} : { process }),
  };
}

/**
 * Whether a chain that locates the feature as `a` does can take the place of one that locates it as
 * `b` in every pair: it is made in the same set-up; or no tolerance hangs on a shared set-up, it is
 * not made earlier against the age, and it is not worse against a datum that stays as printed.
 */
function locatesAsWell(
  a: Locating,
  b: Locating,
  shared: Pick<Shared, 'sensitiveDatum' | 'located' | 'context' | 'geometry'>,
): boolean {
  if (a.setUp?.id === b.setUp?.id) return true;
  if (shared.sensitiveDatum || a.setUp === undefined || b.setUp === undefined) return false;
  if (a.setUp.stage !== b.setUp.stage) return false;
  const { minimumProbability } = shared.context.job.policy;
  const printed = (locating: Locating): number =>
    Math.hypot(
      locating.setUp?.centre.positionUm ?? 0,
      locating.setUp?.centre.roughRelocationUm ?? 0,
    );
  if (printed(a) > printed(b)) return false;
  return shared.located.every(
    (tolerance) =>
      probabilityUnder(tolerance, 're-located', a, a, shared.geometry) >= minimumProbability - 1e-9,
  );
}

/** Leaves out a chain when another costs no more, uses no other set-ups and locates as well. */
function undominated(chains: readonly Chain[], shared: Shared): Chain[] {
  const sorted = [...chains].sort(
    (a, b) =>
      a.objective - b.objective ||
      a.setUps.length - b.setUps.length ||
      (a.id < b.id ? -1 : a.id > b.id ? 1 : 0),
  );
  const kept: Chain[] = [];
  for (const chain of sorted)
    if (!kept.some((other) => replaces(other, chain, shared))) kept.push(chain);
  return kept;
}

function replaces(
  a: Chain,
  b: Chain,
  shared: Pick<Shared, 'indifferent' | 'sensitiveDatum' | 'located' | 'context' | 'geometry'>,
): boolean {
  return (
    a.objective <= b.objective &&
    a.setUps.every((id) => b.setUps.includes(id)) &&
    (shared.indifferent || locatesAsWell(a.locating, b.locating, shared))
  );
}

function isDatumOfAny(feature: Feature, context: PlanningContext): boolean {
  return (
    feature.datum !== undefined &&
    context.job.features.some((other) => other.id !== feature.id && refersTo(other, feature.datum))
  );
}

function refersTo(feature: Feature, letter: string | undefined): boolean {
  return feature.geometric.some((tolerance) =>
    tolerance.datums.some((datum) => datum.letter === letter),
  );
}

/**
 * Some feature that refers to this datum could be made well enough in the same set-up, but not after
 * re-clamping, by some process at some work centre.
 */
function isSensitiveDatum(feature: Feature, context: PlanningContext): boolean {
  if (feature.datum === undefined) return false;
  const least = context.job.policy.minimumProbability - 1e-9;
  const makers = [...context.processes.values()].filter(
    (process) => process.needs.correctsLocation,
  );
  return context.job.features.some((other) => {
    if (other.id === feature.id || !refersTo(other, feature.datum)) return false;
    const geometry = featureGeometry(other, context);
    const start = asBuiltState(other, geometry, context, 'cut-off-wire-edm', true);
    return makers.some((process) =>
      context.workCentres.some((centre) => {
        if (!centre.processes.includes(process.id)) return false;
        const locating: Locating = {
          start,
          process,
          setUp: { id: '', centre, stage: 'hard', directions: [], holding: '' },
        };
        return other.geometric.some(
          (tolerance) =>
            tolerance.datums.length > 0 &&
            !tolerance.kind.startsWith('profile') &&
            probabilityUnder(tolerance, 'same set-up', locating, locating, geometry) >= least &&
            probabilityUnder(tolerance, 're-located', locating, locating, geometry) < least,
        );
      }),
    );
  });
}

function withMasking(
  chain: Chain,
  finishes: readonly PlannedFinish[],
  chainContext: ChainContext,
  context: PlanningContext,
): Chain {
  if (finishes.length === 0)
    return chain.context === chainContext ? chain : { ...chain, context: chainContext };
  const masked = finishes.map((finish) => maskingOf(finish, chain.feature, context));
  const cost = addCosts(chain.cost, ...masked.map((entry) => entry.cost));
  return {
    ...chain,
    id: `${chain.id}:masked`,
    context: chainContext,
    masked,
    cost,
    objective: objectiveOf(cost, context),
  };
}

interface Shared {
  readonly feature: Feature;
  readonly context: PlanningContext;
  readonly chainContext: ChainContext;
  readonly geometry: FeatureGeometry;
  readonly requirements: readonly FeatureRequirement[];
  readonly start: AsBuiltState;
  readonly nominal: number;
  readonly solid: boolean;
  /** Set-ups in which a process reaches the feature. */
  setUpOptions(process: Process, stage: Stage): readonly SetUp[];
  /** Share of the form error that a rough and a finish cut leave. */
  readonly copying: { readonly rough: number; readonly finish: number };
  /** Tolerances against datums. */
  readonly located: readonly GeometricTolerance[];
  /** Another feature needs it in its own set-up to be located well enough. */
  readonly sensitiveDatum: boolean;
  /** It matters to nothing in which set-up the feature is made. */
  readonly indifferent: boolean;
}

interface Exposure {
  /** Finishes that act on the finished surface. */
  readonly acting: readonly PlannedFinish[];
  readonly masked: readonly PlannedFinish[];
}

/** Finishes before machining act only on what is left as printed; later ones act or are masked. */
function exposures(shared: Shared, asPrinted: boolean): readonly Exposure[] {
  const { finishes } = shared.chainContext;
  const { allowedFinishes } = shared.feature;
  const before = asPrinted
    ? finishes.filter((finish) => finish.placement === 'before-machining')
    : [];
  const after = finishes.filter((finish) => finish.placement !== 'before-machining');
  const barred = (finish: PlannedFinish): boolean =>
    (allowedFinishes !== undefined && !allowedFinishes.includes(finish.process.id)) ||
    (shared.feature.thread !== undefined && (finish.process.row.effectHighUm ?? 0) > 2);
  const reach = (finish: PlannedFinish): boolean =>
    shared.feature.kind !== 'channel' ||
    ['wetting', 'field', 'flow-path'].includes(finish.process.row.lineOfSight);
  const maskable = after.filter((finish) => finish.process.needs.maskable);
  const options: Exposure[] = [];
  if (!after.some(barred) && !before.some(barred))
    options.push({ acting: [...before, ...after].filter(reach), masked: [] });
  if (
    maskable.length > 0 &&
    !before.some(barred) &&
    after.every((finish) => finish.process.needs.maskable || !barred(finish))
  )
    options.push({
      acting: [...before, ...after.filter((finish) => !finish.process.needs.maskable)].filter(
        reach,
      ),
      masked: maskable,
    });
  return options;
}

function stageSplits(
  chainContext: ChainContext,
  sequence: readonly Process[],
): readonly (readonly Stage[])[] {
  const all = (stage: Stage): Stage[] => sequence.map(() => stage);
  if (!chainContext.aged || sequence.length === 0) return [all('hard')];
  const split = sequence.map((process): Stage => (process.needs.rank === 1 ? 'soft' : 'hard'));
  const mixed = split.includes('soft') && split.includes('hard');
  return [all('hard'), all('soft'), ...(mixed ? [split] : [])];
}

/** Change of size in heat that still follows the step that makes the size. */
function growthAfter(
  chainContext: ChainContext,
  sequence: readonly Process[],
  stages: readonly Stage[],
): Growth | undefined {
  const lastSize = sequence.findLastIndex((process) => process.row.itEconomic !== undefined);
  if (lastSize < 0) return chainContext.growth;
  return stages[lastSize] === 'soft' ? chainContext.ageGrowth : undefined;
}

function demandOf(
  shared: Shared,
  sequence: readonly Process[],
  acting: readonly PlannedFinish[],
  growth: Growth | undefined,
): ChainDemand | Shortfall {
  return chainDemand({
    feature: shared.feature,
    geometry: shared.geometry,
    requirements: shared.requirements,
    sequence,
    start: shared.start,
    finish: finishEffect(acting),
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
    minimumProbability: shared.context.job.policy.minimumProbability,
  });
}

function makeChain(
  shared: Shared,
  sequence: readonly Process[],
  placed: readonly PlacedStep[],
  stages: readonly Stage[],
  acting: readonly PlannedFinish[],
  demand: ChainDemand,
): Chain {
  const { feature, context, chainContext, geometry, start } = shared;
  const internal = isInternal(feature);
  const opened = shared.solid && sequence[0]?.needs.opensSolid === true;
  const steps = placed.map(({ setUp, stock, minutes }, index): ChainStep => {
    const process = sequence[index] as Process;
    return {
      process,
      setUp,
      stage: stages[index] ?? 'hard',
      minutes,
      cost: runCost(setUp.centre, context, minutes, `${process.row.name}, ${feature.id}`),
      stock,
      toleranceMm: demand.tolerancesMm[index] ?? 0,
      raUm: demand.raUm[index] ?? start.raUm,
    };
  });
  const cost = addCosts(...steps.map((step) => step.cost));
  const locatingIndex = sequence.findLastIndex((process) => process.needs.correctsLocation);
  const locatingSetUp = steps[locatingIndex]?.setUp;
  const locatingProcess = sequence[locatingIndex];
  const stockPerSideMm = steps.reduce((sum, step) => sum + (step.stock?.nominalMm ?? 0), 0);
  const growth = growthAfter(chainContext, sequence, stages)?.meanPerMm ?? 0;
  const middle =
    feature.size === undefined ? undefined : (feature.size.lowerMm + feature.size.upperMm) / 2;
  const outward = internal ? -1 : 1;
  const afterwards = sides(geometry) * demand.laterRemovalMm * outward;
  const targetMm = middle === undefined ? undefined : (middle + afterwards) / (1 + growth);
  const route = steps.map((step) => `${step.process.id}@${step.setUp.id}`).join('>');
  return {
    id: `${feature.id}:${route === '' ? 'as-printed' : route}${acting.length > 0 && steps.length > 0 ? ':exposed' : ''}`,
    feature,
    context: chainContext,
    steps,
    masked: [],
    cost,
    objective: objectiveOf(cost, context),
    setUps: [...new Set(steps.map((step) => step.setUp.id))].sort(),
    locating: {
      start,
      ...(locatingSetUp === undefined ? {} : { setUp: locatingSetUp }),
      ...(locatingProcess === undefined ? {} : { process: locatingProcess }),
    },
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
            stockPerSideMm,
            demand,
            sequence.length === 0,
          ),
    targetMm,
  };
}

export function isInternal(feature: Feature): boolean {
  return (
    feature.kind === 'bore' ||
    feature.kind === 'slot' ||
    feature.kind === 'channel' ||
    feature.thread?.internal === true
  );
}

/**
 * Size that the build model must show: the finished size plus stock, undone for growth in heat, what
 * the finishes take, and (for surfaces left as printed) the printer's mean error.
 */
function printedSize(
  shared: Shared,
  finishedMm: number,
  stockPerSideMm: number,
  demand: ChainDemand,
  asPrinted: boolean,
): number {
  const internal = isInternal(shared.feature);
  const outward = internal ? -1 : 1;
  const added =
    outward * sides(shared.geometry) * (asPrinted ? demand.laterRemovalMm : stockPerSideMm);
  const error = asPrinted ? shared.start.sizeMeanMm : 0;
  const size = (finishedMm + added) / (1 + shared.chainContext.growth.meanPerMm) - error;
  return asPrinted
    ? Math.round(size * 1000) / 1000
    : roundPrinted(size, shared.context.defaultValue('printed-size-step'), internal);
}

/** Setting error: three standard deviations of the clamping of a new set-up, none in the same one. */
function settingMm(here: SetUp, before: SetUp | undefined): number {
  if (before === undefined) return (3 * here.centre.roughRelocationUm) / 1000;
  if (here.id === before.id) return 0;
  return (3 * Math.hypot(here.centre.positionUm, here.centre.relocationUm)) / 1000;
}

function maskingOf(
  finish: PlannedFinish,
  feature: Feature,
  context: PlanningContext,
): Chain['masked'][number] {
  const centre =
    context.workCentres.find((entry) => entry.processes.includes('support-removal-hand')) ??
    context.workCentres.find((entry) => entry.processes.includes(finish.process.id));
  if (centre === undefined)
    throw new RangeError(`no work centre for masking against ${finish.process.id}`);
  const minutes = context.defaultValue('masking') * feature.count * context.quantity;
  return {
    finish,
    centre,
    cost: runCost(
      centre,
      context,
      minutes,
      `mask ${feature.id} against ${finish.process.row.name.toLowerCase()}`,
    ),
  };
}

/** Whether a located requirement can be met at all: with its datum in the same set-up. */
function placeable(
  requirement: FeatureRequirement,
  chain: Chain,
  minimumProbability: number,
): boolean {
  if (requirement.kind !== 'geometric' || requirement.tolerance.datums.length === 0) return true;
  if (requirement.tolerance.kind.startsWith('profile')) return true;
  return (
    probabilityInZone(requirement.tolerance, chain.locating, chain.locating, chain.geometry) >=
    minimumProbability - 1e-9
  );
}
