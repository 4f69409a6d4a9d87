import type { PlanningContext } from '../job/planning-context.js';
import { datumFeature } from '../job/requirements.js';
import type { Chain, FoundChain } from './chain.js';
import { type PartWork, stageOrder } from './part-works.js';
import type { SetUp } from './set-ups.js';

/** One operation of the route before it is numbered: a whole-part work or a visit to a set-up. */
export type SequencedWork =
  | { readonly kind: 'part'; readonly work: PartWork }
  | { readonly kind: 'visit'; readonly setUp: SetUp; readonly chains: readonly Chain[] };

export type Sequence =
  | { readonly ok: true; readonly works: readonly SequencedWork[] }
  /** What together forces two set-ups to come each before the other, one entry per feature. */
  | { readonly ok: false; readonly culprits: readonly Culprit[] };

/** A feature whose chain helps to close a circle of set-ups, and all chains that would do so too. */
export interface Culprit {
  readonly feature: string;
  holds(chain: FoundChain): boolean;
}

interface Edge {
  readonly before: string;
  readonly after: string;
  /** Features whose chains cause the edge. */
  readonly causes: readonly Culprit[];
}

/**
 * Orders whole-part works and set-up visits. Between stages the order is fixed (powder out before
 * heat, relief before cut-off, heat before finish machining, finishes, inspection last); within a
 * stage a set-up follows those that its features passed before and those that make its datums.
 * Ties: lower mean rank of steps, then set-up id.
 */
export function sequenceWorks(
  works: readonly PartWork[],
  chains: readonly Chain[],
  context: PlanningContext,
): Sequence {
  const visits = new Map<string, { setUp: SetUp; chains: Chain[]; rank: number }>();
  for (const chain of chains)
    for (const step of chain.steps) {
      const visit = visits.get(step.setUp.id) ?? { setUp: step.setUp, chains: [], rank: 9 };
      if (!visit.chains.includes(chain)) visit.chains.push(chain);
      visit.rank = Math.min(visit.rank, step.process.needs.rank ?? 9);
      visits.set(step.setUp.id, visit);
    }
  const edges = precedenceEdges(chains, context);
  const datumDepth = depths([...visits.keys()], edges);
  const ordered: { stage: number; visit: string }[] = [];
  const open = new Set(visits.keys());
  while (open.size > 0) {
    const ready = [...open].filter(
      (id) => !edges.some((edge) => edge.after === id && open.has(edge.before)),
    );
    if (ready.length === 0) return { ok: false, culprits: culpritsOf([...open], edges) };
    ready.sort((a, b) => {
      const one = visits.get(a);
      const two = visits.get(b);
      return (
        stageOf(one?.setUp) - stageOf(two?.setUp) ||
        (one?.rank ?? 0) - (two?.rank ?? 0) ||
        (datumDepth.get(b) ?? 0) - (datumDepth.get(a) ?? 0) ||
        (a < b ? -1 : 1)
      );
    });
    const next = ready[0] as string;
    open.delete(next);
    ordered.push({ stage: stageOf(visits.get(next)?.setUp), visit: next });
  }
  const parts = beforeMachining(works, ordered[0]?.stage === stageOrder.soft);
  const merged: SequencedWork[] = [];
  const rest = [...ordered];
  for (const part of parts) {
    while (rest[0] !== undefined && rest[0].stage < part.stage)
      merged.push(visitOf(rest.shift(), visits));
    merged.push({ kind: 'part', work: part.work });
  }
  while (rest.length > 0) merged.push(visitOf(rest.shift(), visits));
  return { ok: true, works: merged };
}

/** A finish before machining comes before the soft stage too, when something is machined there. */
function beforeMachining(
  works: readonly PartWork[],
  machinedSoft: boolean,
): readonly { readonly stage: number; readonly work: PartWork }[] {
  return works
    .map((work) => ({
      stage:
        machinedSoft && work.stage === stageOrder.finishBefore
          ? stageOrder.finishBeforeSoft
          : work.stage,
      work,
    }))
    .sort((a, b) => a.stage - b.stage);
}

function visitOf(
  entry: { visit: string } | undefined,
  visits: ReadonlyMap<string, { setUp: SetUp; chains: Chain[] }>,
): SequencedWork {
  const visit = visits.get(entry?.visit ?? '');
  if (visit === undefined) throw new RangeError('a visit vanished from the sequence');
  return { kind: 'visit', setUp: visit.setUp, chains: visit.chains };
}

function stageOf(setUp: SetUp | undefined): number {
  return stageOrder[setUp?.stage ?? 'hard'];
}

function precedenceEdges(chains: readonly Chain[], context: PlanningContext): readonly Edge[] {
  const edges: Edge[] = [];
  const byFeature = new Map(chains.map((chain) => [chain.feature.id, chain]));
  for (const chain of chains) {
    chain.steps.forEach((step, index) => {
      const before = chain.steps[index - 1];
      if (before !== undefined && before.setUp.id !== step.setUp.id)
        edges.push(passage(chain, before.setUp.id, step.setUp.id));
    });
    for (const tolerance of chain.feature.geometric)
      for (const { letter } of tolerance.datums) {
        const datum = datumFeature(context.job, letter);
        const base = datum === undefined ? undefined : byFeature.get(datum.id);
        const from = base?.locating.setUp?.id;
        const to = chain.locating.setUp?.id;
        if (base === undefined || from === undefined || to === undefined || from === to) continue;
        edges.push({
          before: from,
          after: to,
          causes: [locatedIn(base, from), locatedIn(chain, to)],
        });
      }
  }
  const visits = new Map(
    chains.flatMap((chain) =>
      chain.steps.map((step) => [step.setUp.id, stageOf(step.setUp)] as const),
    ),
  );
  for (const [before, early] of visits)
    for (const [after, late] of visits) if (early < late) edges.push({ before, after, causes: [] });
  return edges;
}

function passage(chain: Chain, before: string, after: string): Edge {
  const holds = ({ steps }: FoundChain): boolean =>
    steps.some((step, index) => step.setUp.id === after && steps[index - 1]?.setUp.id === before);
  return { before, after, causes: [{ feature: chain.feature.id, holds }] };
}

function locatedIn(chain: Chain, setUp: string): Culprit {
  return { feature: chain.feature.id, holds: ({ locating }) => locating.setUp?.id === setUp };
}

/** How many set-ups hang on each: those that make datums for many come first. */
function depths(ids: readonly string[], edges: readonly Edge[]): ReadonlyMap<string, number> {
  return new Map(
    ids.map((id) => [
      id,
      new Set(edges.filter((edge) => edge.before === id).map((edge) => edge.after)).size,
    ]),
  );
}

/** Features on one circle among the set-ups that could not be ordered. */
function culpritsOf(open: readonly string[], edges: readonly Edge[]): readonly Culprit[] {
  const inside = edges.filter((edge) => open.includes(edge.before) && open.includes(edge.after));
  const path: string[] = [];
  let at = open[0] as string;
  while (!path.includes(at)) {
    path.push(at);
    at = inside.find((edge) => edge.after === at)?.before ?? at;
  }
  const circle = path.slice(path.indexOf(at));
  const causes = new Map<string, Culprit[]>();
  circle.forEach((after, index) => {
    const before = circle[(index + 1) % circle.length];
    const edge = inside.find((entry) => entry.after === after && entry.before === before);
    for (const cause of edge?.causes ?? [])
      causes.set(cause.feature, [...(causes.get(cause.feature) ?? []), cause]);
  });
  return [...causes]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([feature, list]) => ({
      feature,
      holds: (chain) => list.every((cause) => cause.holds(chain)),
    }));
}
