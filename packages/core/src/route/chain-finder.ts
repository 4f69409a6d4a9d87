import { type FeatureGeometry, featureGeometry } from '../job/feature-geometry.js';
import type { PlanningContext, Process } from '../job/planning-context.js';
import { requirementsOf } from '../job/requirements.js';
import type { Feature } from '../job/types.js';
import { equivalentGrade } from '../limits/grades.js';
import { type AsBuiltState, asBuiltState, isPlateSide } from './as-built-state.js';
import type { ChainContext, ChainSubject, FeatureChains, FoundChain, Mask } from './chain.js';
import { nominalOf, type Shortfall, sequenceProfile } from './chain-demand.js';
import { isDatumOfAny, isSensitiveDatum, replaces, undominated } from './chain-dominance.js';
import { type Found, nearest, search } from './chain-search.js';
import type { PlannedFinish } from './finishes.js';
import { exposures, maskOf, withMasks } from './masking.js';
import { type PlacedSequence, placements } from './placements.js';
import { probableStockMm } from './probable-stock.js';
import { opensSolid, processSequences } from './process-sequences.js';
import { accessOf, type SetUp, type Stage, setUpsFor } from './set-ups.js';

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
  const solid = isPrintedClosed(feature, geometry, context);
  const access = accessOf(feature);
  const located = feature.geometric.filter((tolerance) => tolerance.datums.length > 0);
  const sensitiveDatum = isSensitiveDatum(feature, context);
  const isDatum = isDatumOfAny(feature, context);
  const indifferent = located.length === 0 && !isDatum;
  const copying = {
    rough: context.defaultValue('error-copying-rough'),
    finish: context.defaultValue('error-copying-finish'),
  };
  const options = new Map<Stage, Map<Process, readonly SetUp[]>>();
  const setUpOptions = (process: Process, stage: Stage): readonly SetUp[] => {
    const ofStage = options.get(stage) ?? new Map<Process, readonly SetUp[]>();
    options.set(stage, ofStage);
    const known = ofStage.get(process);
    if (known !== undefined) return known;
    const found = context.workCentres.flatMap((centre) =>
      setUpsFor(process, centre, feature, stage, access),
    );
    ofStage.set(process, found);
    return found;
  };
  const reaches = (process: Process): boolean => setUpOptions(process, 'hard').length > 0;
  const masks = new Map<string, Mask>();
  const maskAgainst = (finish: PlannedFinish): Mask => {
    const mask = masks.get(finish.process.id) ?? maskOf(finish, feature, context);
    masks.set(finish.process.id, mask);
    return mask;
  };
  const starts = new Map<string, Start>();
  const startOf = (chainContext: ChainContext): Start => {
    const { cutOff, relieved, curl, heatFormPer100Mm } = chainContext;
    const key = `${isPlateSide(feature) ? cutOff : ''}|${relieved}|${curl?.formMm ?? 0}|${heatFormPer100Mm}`;
    const start = starts.get(key) ?? {
      key,
      state: asBuiltState(feature, geometry, context, cutOff, relieved, curl, heatFormPer100Mm),
    };
    starts.set(key, start);
    return start;
  };
  const workedSequences = ({
    sizeSigmaMm,
    raUm,
  }: AsBuiltState): readonly (readonly Process[])[] => {
    const startGrade = equivalentGrade(nominal, sizeSigmaMm * 6000);
    return [
      ...processSequences(feature, context, startGrade, raUm, false, reaches).filter(
        ([first]) => first !== undefined && !(solid && opensSolid(first, feature)),
      ),
      ...(solid ? processSequences(feature, context, startGrade, raUm, true, reaches) : []),
    ];
  };
  const placedFrom = (
    shared: ChainSubject,
    sequences: readonly (readonly Process[])[],
  ): readonly PlacedSequence[] =>
    placements(
      shared,
      sequences.map((sequence) => sequenceProfile(sequence, shared.start, geometry, nominal)),
    );
  const worked = new Map<string, readonly PlacedSequence[]>();
  const asWell: ChainSubject['asWell'] = new Map();
  const found = new Map<string, Found>();
  const results = new Map<string, FeatureChains>();
  return (chainContext) => {
    const start = startOf(chainContext);
    const machining = `${start.key}|${machiningKey(chainContext)}`;
    const shared: ChainSubject = {
      feature,
      context,
      chainContext,
      geometry,
      requirements,
      start: start.state,
      nominal,
      solid,
      setUpOptions,
      ...(context.job.policy.stockBy === 'probability'
        ? { probableStock: probableStockOf(start.state, geometry, nominal, chainContext, context) }
        : {}),
      copying,
      located,
      isDatum,
      asWell,
      sensitiveDatum,
      indifferent,
    };
    const ways = [
      ...(feature.thread === undefined ? exposures(shared, true) : []).map((exposure) => ({
        exposure,
        key: `printed|${machining}|${finishKey(exposure.acting)}`,
        search: () => search(shared, placedFrom(shared, [[]]), exposure.acting),
      })),
      ...exposures(shared, false).map((exposure) => ({
        exposure,
        key: `worked|${machining}|${finishKey(exposure.acting)}`,
        search: () => {
          const placed = worked.get(machining) ?? placedFrom(shared, workedSequences(start.state));
          worked.set(machining, placed);
          return search(shared, placed, exposure.acting);
        },
      })),
    ];
    // Contexts that treat this feature alike share the result itself.
    const likeness = ways
      .map(({ exposure, key }) => `${key}|${finishKey(exposure.masked)}`)
      .join('\n');
    const known = results.get(likeness);
    if (known !== undefined) return known;
    const chains: FoundChain[] = [];
    const shortfalls = new Map<string, Shortfall>();
    for (const { exposure, key, search: find } of ways) {
      const here = found.get(key) ?? find();
      found.set(key, here);
      if (here.chains.length > 0) {
        const kept = exposure.masked.map(maskAgainst);
        for (const chain of here.chains) chains.push(withMasks(chain, kept, context));
      }
      for (const shortfall of here.shortfalls) nearest(shortfalls, shortfall);
    }
    const result = featureChains(shared, chains, [...shortfalls.values()]);
    results.set(likeness, result);
    return result;
  };
}

/** A feature as printed. */
interface Start {
  readonly key: string;
  readonly state: AsBuiltState;
}

/** What machining sees of a chain context, besides the printed state. */
function machiningKey({
  aged,
  ageFormPer100Mm,
  slowdown,
  growth,
  ageGrowth,
}: ChainContext): string {
  return [
    aged,
    ageFormPer100Mm,
    slowdown,
    growth.meanPerMm,
    growth.sigmaPerMm,
    ageGrowth.meanPerMm,
    ageGrowth.sigmaPerMm,
  ].join('|');
}

function finishKey(finishes: readonly PlannedFinish[]): string {
  return finishes.map(({ process }) => process.id).join('+');
}

function featureChains(
  shared: ChainSubject,
  found: readonly FoundChain[],
  shortfalls: readonly Shortfall[],
): FeatureChains {
  const chains = undominated(found, shared).sort((a, b) => (a.id < b.id ? -1 : 1));
  const byRoute = new Map(chains.map((chain) => [chain.route, chain]));
  const result: FeatureChains = {
    feature: shared.feature,
    chains,
    shortfalls,
    covers: (other) =>
      other === result ||
      other.chains.every((chain) => {
        const same = byRoute.get(chain.route);
        return (
          (same !== undefined &&
            same.objective <= chain.objective &&
            (shared.context.bothAims !== true || same.leadMinutes <= chain.leadMinutes)) ||
          chains.some((mine) => replaces(mine, chain, shared))
        );
      }),
  };
  return result;
}

/** Looks the stock of a first cut up once for each clamping error and tolerance. */
function probableStockOf(
  start: AsBuiltState,
  geometry: FeatureGeometry,
  nominalMm: number,
  { growth }: ChainContext,
  context: PlanningContext,
): (setUp: SetUp, toleranceMm: number) => number {
  const known = new Map<string, number>();
  return ({ centre }, toleranceMm) => {
    const key = `${centre.roughRelocationUm}|${toleranceMm}`;
    const stock =
      known.get(key) ??
      probableStockMm(
        {
          start,
          twoSided: geometry.twoSided,
          nominalMm,
          growth,
          toleranceMm,
          settingSigmaMm: centre.roughRelocationUm / 1000,
        },
        context.job.policy.minimumProbability,
        context,
      );
    known.set(key, stock);
    return stock;
  };
}

/** Narrow holes and slots are closed in the build model when they are machined. */
function isPrintedClosed(
  feature: Feature,
  { acrossMm }: FeatureGeometry,
  context: PlanningContext,
): boolean {
  if (feature.kind === 'slot') return acrossMm < context.defaultValue('slot-closed-below');
  const hole = feature.kind === 'bore' || feature.thread?.internal === true;
  return hole && acrossMm < context.defaultValue('print-solid-below');
}
