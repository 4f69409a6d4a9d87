import type { PlanningContext } from '../job/planning-context.js';
import type { FeatureRequirement } from '../job/requirements.js';
import { datumFeature } from '../job/requirements.js';
import type { FoundChain, ModelChain } from '../route/chain.js';
import { type ChosenRoute, chooseAgain, chooseRoute } from '../route/choose-route.js';
import type { SolveOptions } from '../route/model.js';
import type { PartPlan } from '../route/part-plans.js';
import type { RoutePlanning } from '../route/planning.js';
import { chainObjective } from '../route/price-chain.js';
import { withChains } from './narrowed-model.js';
import {
  datumsOf,
  type StackedRequirement,
  sizeRequirement,
  stackedProbability,
  zoneRequirement,
} from './stacked-requirement.js';
import { closerToleranceMm, heldCloser } from './tighten-chain.js';

/** A requirement for which the exact stack refused chains, as they were, that the route had allowed. */
export interface Refusal {
  readonly feature: string;
  readonly requirement: FeatureRequirement;
  /** Letter of the datum, for a place or direction. */
  readonly datum?: string;
  /** Best probability of the chains refused. */
  readonly best: number;
}

export interface StackedRoute {
  readonly chosen: ChosenRoute;
  /** With the model from which the refused chains and pairs are gone. */
  readonly planning: RoutePlanning;
  readonly refusals: readonly Refusal[];
}

/** Probabilities this much below the policy's least one still count as met. */
const slack = 1e-6;

/**
 * Chooses the route and checks every size and located requirement of it by its exact stack. Where one
 * falls short of the policy's probability, every chain (or pair of chains with the datum's) that falls
 * short for the same requirement is held closer or leaves the model, and the route is chosen again.
 * Each round settles at least one requirement for good, so there are no more rounds than requirements
 * and datums.
 *
 * @param before what was chosen from a planning that differs in nothing but costs
 */
export function chooseStackedRoute(
  planning: RoutePlanning,
  context: PlanningContext,
  options: SolveOptions = {},
  before?: ChosenRoute,
): StackedRoute {
  const refusals: Refusal[] = [];
  const settled = new Set<string>();
  let current = planning;
  let failed = before === undefined ? likelyShortfalls(planning, context) : [];
  for (;;) {
    for (const fault of failed) {
      settled.add(fault.key);
      const { without, best } = withoutShortfall(current, fault, context);
      current = without;
      refusals.push({
        feature: fault.chain.feature.id,
        requirement: fault.requirement,
        ...(fault.letter === undefined ? {} : { datum: fault.letter }),
        best,
      });
    }
    const chosen =
      before !== undefined && current === planning
        ? chooseAgain(before, planning, context, options)
        : chooseRoute(current, context, options);
    failed = shortfalls(chosen, context).filter(({ key }) => !settled.has(key));
    if (failed.length === 0) return { chosen, planning: current, refusals };
  }
}

/** The planning without what falls short for the same requirement as a route that was chosen. */
export function withoutShortfall(
  planning: RoutePlanning,
  fault: Shortfall,
  context: PlanningContext,
): Narrowed {
  return fault.letter === undefined
    ? withoutSizes(planning, fault, context)
    : withoutPlaces(planning, fault, fault.letter, context);
}

/**
 * Sizes that the cheapest chain of their feature does not meet: it is likely to be chosen, and settling
 * these first saves a round.
 */
function likelyShortfalls(planning: RoutePlanning, context: PlanningContext): readonly Shortfall[] {
  const plans = planOfContext(planning);
  return planning.model.features.flatMap(({ chains }): readonly Shortfall[] => {
    const [first, ...rest] = chains;
    if (first === undefined) return [];
    const cheapest = rest.reduce((best, next) => (next.cost < best.cost ? next : best), first);
    const plan = planning.plans.get(cheapest.partPlans[0] ?? '');
    const key = plan?.chains.key ?? '';
    const chain = planning.chains.get(cheapest.id)?.byContext.get(key);
    return chain === undefined ? [] : sizeShortfalls(chain, plans.get(key), context);
  });
}

/** A requirement of the chosen route that its exact stack does not meet. */
export interface Shortfall {
  readonly key: string;
  readonly requirement: FeatureRequirement;
  readonly chain: FoundChain;
  readonly letter?: string;
}

export function shortfalls(
  { plan, chains }: ChosenRoute,
  context: PlanningContext,
): readonly Shortfall[] {
  if (plan === undefined) return [];
  return chains.flatMap((chain) => [
    ...sizeShortfalls(chain, plan, context),
    ...chain.requirements.flatMap((requirement): Shortfall[] => {
      if (requirement.kind !== 'geometric') return [];
      return datumsOf(requirement.tolerance, chain, chains, context)
        .filter(
          ({ letter, base }) =>
            !holds(zoneRequirement(requirement, chain, base, letter, plan, context), context),
        )
        .map(({ letter }) => ({
          key: `${requirement.id} ${letter}`,
          requirement,
          chain,
          letter,
        }));
    }),
  ]);
}

function sizeShortfalls(
  chain: FoundChain,
  plan: PartPlan | undefined,
  context: PlanningContext,
): readonly Shortfall[] {
  return chain.requirements.flatMap((requirement): readonly Shortfall[] =>
    requirement.kind !== 'size' ||
    plan === undefined ||
    holds(sizeRequirement(requirement, chain, plan, context), context)
      ? []
      : [{ key: requirement.id, requirement, chain }],
  );
}

function holds(stacked: StackedRequirement, { job }: PlanningContext): boolean {
  return stackedProbability(stacked) >= job.policy.minimumProbability - slack;
}

export interface Narrowed {
  readonly without: RoutePlanning;
  readonly best: number;
}

/** One part plan for each chain context. */
function planOfContext(planning: RoutePlanning): ReadonlyMap<string, PartPlan> {
  return new Map([...planning.plans.values()].map((plan) => [plan.chains.key, plan]));
}

/** What the exact stack says of a chain: its probability, and the chain that holds, itself or a closer one. */
interface Judgement {
  readonly probability: number;
  readonly held: FoundChain | undefined;
}

/** The same for all chains that do alike to the size. */
interface SizeJudgement {
  readonly probability: number;
  /** Closer tolerance with which it holds. */
  readonly toleranceMm: number | undefined;
}

/** Chains are shared between the plannings of a chain library, and so is what was found of them. */
const judgements = new WeakMap<FoundChain, Map<string, Judgement>>();

function judged(found: FoundChain, key: string, judge: () => Judgement): Judgement {
  const known = judgements.get(found) ?? new Map<string, Judgement>();
  judgements.set(found, known);
  const judgement = known.get(key) ?? judge();
  known.set(key, judgement);
  return judgement;
}

/**
 * Chains that fall short have the step that makes their size held closer, at its price, where the
 * process can; under the part plans where it cannot, they go.
 */
function withoutSizes(
  planning: RoutePlanning,
  { requirement, chain }: Shortfall,
  context: PlanningContext,
): Narrowed {
  if (requirement.kind !== 'size') return { without: planning, best: 0 };
  const plans = planOfContext(planning);
  const least = context.job.policy.minimumProbability - slack;
  let best = 0;
  const sizes = new Map<string, SizeJudgement>();
  const sizeJudgement = (
    stacked: StackedRequirement,
    found: FoundChain,
    plan: PartPlan,
  ): SizeJudgement => {
    const probability = stackedProbability(stacked);
    const toleranceMm =
      probability >= least
        ? undefined
        : closerToleranceMm(found, requirement, plan, context, least);
    return { probability, toleranceMm };
  };
  /** The chain that holds: itself, or a closer one. */
  const holding = (found: FoundChain, key: string): FoundChain | undefined => {
    const plan = plans.get(key);
    if (plan === undefined) return undefined;
    const judgement = judged(found, `${requirement.id}|${key}|${least}|${context.quantity}`, () => {
      const stacked = sizeRequirement(requirement, found, plan, context);
      const { process } = found.steps.findLast((step) => step.toleranceMm > 0) ?? {};
      // the way a feature is held and reached does not touch its size
      const mark = JSON.stringify([process?.id, stacked.links.map((link) => link.contributor)]);
      const alike = sizes.get(mark) ?? sizeJudgement(stacked, found, plan);
      sizes.set(mark, alike);
      const { probability, toleranceMm } = alike;
      if (probability >= least) return { probability, held: found };
      return toleranceMm === undefined
        ? { probability, held: undefined }
        : { probability, held: heldCloser(found, toleranceMm, plan, context) };
    });
    if (judgement.held !== found) best = Math.max(best, judgement.probability);
    return judgement.held;
  };
  const without = withChains(planning, chain.feature.id, (choice, model) => {
    const parts = new Map<string, Map<string, FoundChain>>();
    for (const [key, found] of model.byContext) {
      const held = holding(found, key);
      if (held === undefined) continue;
      const part = parts.get(held.mark) ?? new Map<string, FoundChain>();
      part.set(key, held);
      parts.set(held.mark, part);
    }
    return [...parts.values()].map((byContext) => {
      const [held] = byContext.values();
      const partPlans = choice.partPlans.filter((plan) =>
        byContext.has(planning.plans.get(plan)?.chains.key ?? ''),
      );
      const cost = held === undefined ? choice.cost : chainObjective(held, context);
      return { cost, partPlans, byContext, banned: [] };
    });
  });
  return { without, best };
}

/**
 * Pairs with the datum's chains that fall short are forbidden. A chain whose pairs hold under one heat
 * and not under another is split by its part plans, so that each part has its own pairs.
 */
function withoutPlaces(
  planning: RoutePlanning,
  { requirement, chain }: Shortfall,
  letter: string,
  context: PlanningContext,
): Narrowed {
  const datum = datumFeature(context.job, letter)?.id;
  if (requirement.kind !== 'geometric' || datum === undefined)
    return { without: planning, best: 0 };
  const plans = planOfContext(planning);
  const bases = chainsOf(planning, datum);
  const judged = new Map<string, number>();
  const probability = (found: FoundChain, base: FoundChain, key: string): number => {
    // all that the place hangs on: how both get theirs, and the heat
    const mark = [key, ...[found, base].map(placeMark)].join('|');
    const plan = plans.get(key);
    const known = judged.get(mark);
    if (known !== undefined || plan === undefined) return known ?? 1;
    const value = stackedProbability(
      zoneRequirement(requirement, found, base, letter, plan, context),
    );
    judged.set(mark, value);
    return value;
  };
  const least = context.job.policy.minimumProbability - slack;
  let best = 0;
  const without = withChains(planning, chain.feature.id, (choice, model) => {
    const parts = new Map<string, { partPlans: string[]; banned: readonly string[] }>();
    for (const id of choice.partPlans) {
      const key = planning.plans.get(id)?.chains.key ?? '';
      const found = model.byContext.get(key);
      const banned = bases.flatMap((base) => {
        const other = base.byContext.get(key);
        if (found === undefined || other === undefined) return [];
        const value = probability(found, other, key);
        if (value >= least) return [];
        best = Math.max(best, value);
        return [base.id];
      });
      const mark = banned.join('\n');
      const part = parts.get(mark);
      if (part === undefined) parts.set(mark, { partPlans: [id], banned });
      else part.partPlans.push(id);
    }
    return [...parts.values()].map(({ partPlans, banned }) => {
      const keys = new Set(partPlans.map((id) => planning.plans.get(id)?.chains.key));
      const byContext = new Map([...model.byContext].filter(([key]) => keys.has(key)));
      return { cost: choice.cost, partPlans, byContext, banned };
    });
  });
  return { without, best };
}

function placeMark({ locating, start, geometry }: FoundChain): string {
  const { setUp, process } = locating;
  return [
    setUp?.id,
    process?.id,
    start.locationSigmaMm,
    start.formMm,
    locating.extentMm,
    geometry.acrossMm,
  ].join(' ');
}

function chainsOf(planning: RoutePlanning, feature: string): readonly ModelChain[] {
  const ids = planning.model.features.find(({ id }) => id === feature)?.chains ?? [];
  return ids.flatMap(({ id }) => planning.chains.get(id) ?? []);
}
