import type { PlanningContext } from '../job/planning-context.js';
import type { PairCost, RouteModel } from './model.js';
import type { RoutePlanning } from './planning.js';
import type { Culprit } from './sequence.js';

/**
 * Models that together hold every choice of a model but those that close a circle: it closes only
 * when the chain of every culprit is of a certain kind. Two culprits become forbidden pairs of one
 * model. With more, the choices split into disjoint cases (the first culprit is not of its kind; the
 * first is and the second is not; ...) by dropping chains; datums come first, because most hangs on
 * them. A case in which some feature has no chain left is none.
 */
export function withoutCircle(
  model: RouteModel,
  circle: readonly Culprit[],
  planning: RoutePlanning,
  context: PlanningContext,
): readonly RouteModel[] {
  const culprits = circle.filter((culprit) => hasChoice(model, culprit, planning));
  const [one, two] = culprits;
  if (one !== undefined && two !== undefined && culprits.length === 2)
    return [{ ...model, pairs: [...model.pairs, ...circlePairs(model, one, two, planning)] }];
  return casesOf(model, culprits, planning, context);
}

/** Whether the feature has a chain that does not help to close the circle. */
function hasChoice(model: RouteModel, culprit: Culprit, planning: RoutePlanning): boolean {
  return chainsOf(model, culprit).some((id) => !isOfKind(planning, culprit, id));
}

/** Every couple of chains of two culprits that closes the circle. */
function circlePairs(
  model: RouteModel,
  one: Culprit,
  two: Culprit,
  planning: RoutePlanning,
): readonly PairCost[] {
  const kind = (culprit: Culprit): readonly string[] =>
    chainsOf(model, culprit).filter((id) => isOfKind(planning, culprit, id));
  const others = kind(two);
  return kind(one).flatMap((a) =>
    others.map((b): PairCost => (a < b ? { a, b, cost: null } : { a: b, b: a, cost: null })),
  );
}

function chainsOf(model: RouteModel, { feature }: Culprit): readonly string[] {
  return model.features.find(({ id }) => id === feature)?.chains.map(({ id }) => id) ?? [];
}

function isOfKind(planning: RoutePlanning, culprit: Culprit, id: string): boolean {
  return [...(planning.chains.get(id)?.byContext.values() ?? [])].some((chain) =>
    culprit.holds(chain),
  );
}

function casesOf(
  model: RouteModel,
  culprits: readonly Culprit[],
  planning: RoutePlanning,
  context: PlanningContext,
): readonly RouteModel[] {
  const isDatum = ({ feature }: Culprit): number =>
    Number(context.job.features.some((entry) => entry.id === feature && entry.datum !== undefined));
  const sorted = [...culprits].sort((a, b) => isDatum(b) - isDatum(a));
  const cases: RouteModel[] = [];
  let rest = model;
  for (const culprit of sorted) {
    const holds = (id: string): boolean => isOfKind(planning, culprit, id);
    const without = keepChains(rest, culprit.feature, (id) => !holds(id));
    if (without.features.every((feature) => feature.chains.length > 0)) cases.push(without);
    rest = keepChains(rest, culprit.feature, holds);
  }
  return cases;
}

function keepChains(model: RouteModel, feature: string, keep: (id: string) => boolean): RouteModel {
  const dropped = new Set(
    model.features
      .find(({ id }) => id === feature)
      ?.chains.filter(({ id }) => !keep(id))
      .map(({ id }) => id),
  );
  return {
    ...model,
    features: model.features.map((entry) =>
      entry.id === feature
        ? { ...entry, chains: entry.chains.filter(({ id }) => !dropped.has(id)) }
        : entry,
    ),
    pairs: model.pairs.filter(({ a, b }) => !dropped.has(a) && !dropped.has(b)),
  };
}
