import type { PlanningContext } from '../job/planning-context.js';
import { datumFeature } from '../job/requirements.js';
import type { Feature, GeometricTolerance } from '../job/types.js';
import type { FoundChain, ModelChain } from './chain.js';
import { probabilityInZone } from './location.js';
import type { PairCost } from './model.js';
import { stages } from './set-ups.js';

/** Chains of one feature that get its place in the same way under the same chain contexts. */
interface AlikeChains {
  readonly ids: string[];
  readonly byContext: ReadonlyMap<string, FoundChain>;
}

/**
 * Pairs of chains that cannot go together: the toleranced feature would not lie in its zone with the
 * policy's probability, or it would be finished before its datum. Both hang only on how the two get
 * their place, so chains that are alike in that are judged once. In the order of the features and of
 * their chains.
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
          if (both === undefined || goTogether(...both, tolerances, least)) continue;
          for (const one of a.ids)
            for (const two of b.ids)
              pairs.push(
                one < two ? { a: one, b: two, cost: null } : { a: two, b: one, cost: null },
              );
        }
  return pairs;
}

function groupAlike(chains: Iterable<ModelChain>): ReadonlyMap<string, readonly AlikeChains[]> {
  const groups = new Map<string, Map<string, AlikeChains>>();
  for (const { id, feature, byContext } of chains) {
    const ofFeature = groups.get(feature) ?? new Map<string, AlikeChains>();
    groups.set(feature, ofFeature);
    const key = [...byContext]
      .map(([context, { locating }]) =>
        [context, locating.setUp?.id, locating.process?.id, locating.start.formMm].join(' '),
      )
      .join('\n');
    const group = ofFeature.get(key);
    if (group === undefined) ofFeature.set(key, { ids: [id], byContext });
    else group.ids.push(id);
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
  a: AlikeChains,
  b: AlikeChains,
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

/** Place in the working order of the stage that locates the feature; undefined when it stays as printed. */
function stageRank(chain: FoundChain): number | undefined {
  const stage = chain.locating.setUp?.stage;
  return stage === undefined ? undefined : stages.indexOf(stage);
}
