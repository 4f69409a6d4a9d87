import { type FeatureGeometry, featureGeometry } from '../job/feature-geometry.js';
import type { PlanningContext, Process } from '../job/planning-context.js';
import { requirementsOf } from '../job/requirements.js';
import type { Feature } from '../job/types.js';
import { equivalentGrade } from '../limits/grades.js';
import { type AsBuiltState, asBuiltState, isPlateSide } from './as-built-state.js';
import type { Chain, ChainContext, ChainSubject, FeatureChains } from './chain.js';
import { nominalOf, type Shortfall } from './chain-demand.js';
import { isDatumOfAny, isSensitiveDatum, replaces, undominated } from './chain-dominance.js';
import { type Found, nearest, search } from './chain-search.js';
import type { PlannedFinish } from './finishes.js';
import { exposures, maskingOf, withMasking } from './masking.js';
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
  const cache = new Map<string, Found>();
  const find = (
    shared: ChainSubject,
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
      chainContext.curl,
    );
    const shared: ChainSubject = {
      feature,
      context,
      chainContext,
      geometry,
      requirements,
      start,
      nominal,
      solid,
      setUpOptions,
      ...(context.job.policy.stockBy === 'probability'
        ? { probableStock: probableStockOf(start, geometry, nominal, chainContext, context) }
        : {}),
      copying,
      located,
      isDatum,
      sensitiveDatum,
      indifferent,
    };
    const chains: Chain[] = [];
    const shortfalls = new Map<string, Shortfall>();
    const startGrade = equivalentGrade(nominal, start.sizeSigmaMm * 6000);
    let sequences: readonly (readonly Process[])[] | undefined;
    const worked = (): readonly (readonly Process[])[] => {
      sequences ??= [
        ...processSequences(feature, context, startGrade, start.raUm, false, reaches).filter(
          ([first]) => first !== undefined && !(solid && opensSolid(first, feature)),
        ),
        ...(solid ? processSequences(feature, context, startGrade, start.raUm, true, reaches) : []),
      ];
      return sequences;
    };
    const take = (found: Found, finishes: readonly PlannedFinish[]): void => {
      const masks =
        found.chains.length === 0
          ? []
          : finishes.map((finish) => maskingOf(finish, feature, context));
      for (const chain of found.chains)
        chains.push(withMasking(chain, masks, chainContext, context));
      for (const shortfall of found.shortfalls) nearest(shortfalls, shortfall);
    };
    if (feature.thread === undefined)
      for (const exposure of exposures(shared, true))
        take(search(shared, [[]], exposure.acting), exposure.masked);
    const machiningKey = [
      isPlateSide(feature) ? chainContext.cutOff : '',
      chainContext.relieved,
      chainContext.curl?.formMm ?? 0,
      chainContext.aged,
      chainContext.slowdown,
      chainContext.ageGrowth.meanPerMm,
      chainContext.ageGrowth.sigmaPerMm,
      chainContext.growth.meanPerMm,
      chainContext.growth.sigmaPerMm,
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
