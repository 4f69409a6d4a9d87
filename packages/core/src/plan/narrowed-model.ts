import type { FoundChain, ModelChain } from '../route/chain.js';
import type { ChainChoice, PairCost } from '../route/model.js';
import type { RoutePlanning } from '../route/planning.js';

/** What stands in the place of a chain of the model, with the chains that it may not go with. */
export interface Replacement {
  readonly cost: number;
  readonly partPlans: readonly string[];
  readonly byContext: ReadonlyMap<string, FoundChain>;
  readonly banned: readonly string[];
}

/** The planning with each chain of a feature replaced by none, one or several. */
export function withChains(
  planning: RoutePlanning,
  feature: string,
  replace: (choice: ChainChoice, model: ModelChain) => readonly Replacement[],
): RoutePlanning {
  const { model } = planning;
  const chains = new Map(planning.chains);
  const replaced = new Map<string, readonly string[]>();
  const pairs: PairCost[] = [];
  const features = model.features.map((entry) => {
    if (entry.id !== feature) return entry;
    const choices = entry.chains.flatMap((choice) => {
      const known = planning.chains.get(choice.id);
      if (known === undefined) return [];
      const parts = replace(choice, known).filter(({ partPlans }) => partPlans.length > 0);
      const ids: string[] = [];
      return parts.map(({ cost, partPlans, byContext, banned }): ChainChoice => {
        const id = ids.length === 0 ? choice.id : freshId(choice.id, chains);
        ids.push(id);
        replaced.set(choice.id, ids);
        chains.set(id, { id, feature, byContext });
        for (const other of banned) pairs.push(pairOf(id, other, null));
        return { ...choice, id, cost, partPlans };
      });
    });
    return { ...entry, chains: choices };
  });
  for (const { id } of model.features.find((entry) => entry.id === feature)?.chains ?? [])
    if (!replaced.has(id)) replaced.set(id, []);
  const banned = new Set(pairs.map(({ a, b }) => `${a}\n${b}`));
  for (const pair of model.pairs)
    for (const a of replaced.get(pair.a) ?? [pair.a])
      for (const b of replaced.get(pair.b) ?? [pair.b]) {
        const kept = pairOf(a, b, pair.cost);
        if (!banned.has(`${kept.a}\n${kept.b}`)) pairs.push(kept);
      }
  return { ...planning, chains, model: { ...model, features, pairs } };
}

function pairOf(a: string, b: string, cost: number | null): PairCost {
  return a < b ? { a, b, cost } : { a: b, b: a, cost };
}

/** An id like that of a chain that was split, not yet in use. */
function freshId(id: string, chains: ReadonlyMap<string, ModelChain>): string {
  let count = 2;
  while (chains.has(`${id}/${count}`)) count++;
  return `${id}/${count}`;
}
