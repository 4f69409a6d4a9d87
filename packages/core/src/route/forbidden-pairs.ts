import type { PlanningContext } from '../job/planning-context.js';
import { datumFeature } from '../job/requirements.js';
import type { Feature, GeometricTolerance } from '../job/types.js';
import type { FoundChain, ModelChain } from './chain.js';
import { probabilityInZone } from './location.js';
import type { PairCost } from './model.js';
import { stages } from './set-ups.js';

/** Chains of one feature that get its place in the same way under the same chain contexts. */
interface AlikePlaces {
  readonly byContext: ReadonlyMap<string, FoundChain>;
  readonly paths: Map<string, AlikePaths>;
}

/** Of those, the chains that pass through the same set-ups in the same order. */
interface AlikePaths {
  readonly chain: FoundChain;
  readonly ids: string[];
}

/**
 * Pairs of chains that cannot go together: the toleranced feature would not lie in its zone with the
 * policy's probability, or it would be finished before its datum, or each would have to come first.
 * That hangs only on how the two get their place and on their paths through set-ups, so chains that
 * are alike in that are judged once. In the order of the features and of their chains.
 */
export function forbiddenPairs(
  context: PlanningContext,
  chains: Iterable<ModelChain>,
): readonly PairCost[] {
  const alike = groupAlike(chains);
  const least = context.job.policy.minimumProbability - 1e-9;
  const pairs: PairCost[] = [];
  for (const feature of context.job.features)
    for (const [datum, tolerances] of tolerancesByDatum(feature, context))
      for (const a of alike.get(feature.id) ?? [])
        for (const b of alike.get(datum) ?? []) {
          const both = commonContext(a, b);
          if (both === undefined) continue;
          const apart = !goTogether(...both, tolerances, least);
          for (const one of a.paths.values())
            for (const two of b.paths.values())
              if (apart || needEachOtherFirst(one.chain, two.chain))
                pairs.push(...everyPair(one.ids, two.ids));
        }
  return pairs;
}

function everyPair(some: readonly string[], others: readonly string[]): readonly PairCost[] {
  return some.flatMap((a) =>
    others.map((b): PairCost => (a < b ? { a, b, cost: null } : { a: b, b: a, cost: null })),
  );
}

function groupAlike(chains: Iterable<ModelChain>): ReadonlyMap<string, readonly AlikePlaces[]> {
  const groups = new Map<string, Map<string, AlikePlaces>>();
  for (const { id, feature, byContext } of chains) {
    const ofFeature = groups.get(feature) ?? new Map<string, AlikePlaces>();
    groups.set(feature, ofFeature);
    let key = '';
    for (const [context, { locating }] of byContext)
      key += `${context} ${locating.setUp?.id} ${locating.process?.id} ${locating.start.formMm}\n`;
    const group = ofFeature.get(key) ?? { byContext, paths: new Map() };
    ofFeature.set(key, group);
    const [chain] = byContext.values();
    if (chain === undefined) continue;
    const path = chain.steps.map(({ setUp }) => setUp.id).join('>');
    const known = group.paths.get(path);
    if (known === undefined) group.paths.set(path, { chain, ids: [id] });
    else known.ids.push(id);
  }
  return new Map([...groups].map(([feature, ofFeature]) => [feature, [...ofFeature.values()]]));
}

/** Located tolerances of a feature by the feature that carries the datum. */
function tolerancesByDatum(
  feature: Feature,
  context: PlanningContext,
): ReadonlyMap<string, readonly GeometricTolerance[]> {
  const found = new Map<string, GeometricTolerance[]>();
  for (const tolerance of feature.geometric) {
    for (const { letter } of tolerance.datums) {
      const datum = datumFeature(context.job, letter);
      if (datum === undefined || datum.id === feature.id) continue;
      const list = found.get(datum.id);
      if (list === undefined) found.set(datum.id, [tolerance]);
      else list.push(tolerance);
    }
  }
  return found;
}

function commonContext(
  a: AlikePlaces,
  b: AlikePlaces,
): readonly [FoundChain, FoundChain] | undefined {
  for (const [key, chain] of a.byContext) {
    const other = b.byContext.get(key);
    if (other !== undefined) return [chain, other];
  }
  return undefined;
}

function goTogether(
  chain: FoundChain,
  base: FoundChain,
  tolerances: readonly GeometricTolerance[],
  least: number,
): boolean {
  const rank = stageRank(chain);
  if (rank !== undefined && (stageRank(base) ?? -1) > rank) return false;
  return tolerances.every(
    (tolerance) => probabilityInZone(tolerance, chain.locating, base.locating) >= least,
  );
}

/**
 * The set-up that makes the datum comes before the one that places the feature, but one of the two
 * passes through them the other way round.
 */
function needEachOtherFirst(chain: FoundChain, base: FoundChain): boolean {
  const from = base.locating.setUp?.id;
  const to = chain.locating.setUp?.id;
  if (from === undefined || to === undefined || from === to) return false;
  return [chain, base].some(({ steps }) => {
    const first = steps.findIndex(({ setUp }) => setUp.id === to);
    return first >= 0 && steps.slice(first).some(({ setUp }) => setUp.id === from);
  });
}

/** Place in the working order of the stage that locates the feature; undefined when it stays as printed. */
function stageRank(chain: FoundChain): number | undefined {
  const stage = chain.locating.setUp?.stage;
  return stage === undefined ? undefined : stages.indexOf(stage);
}
