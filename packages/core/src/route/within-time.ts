import type { PlanningContext } from '../job/planning-context.js';
import { type ChosenRoute, chooseRoute } from './choose-route.js';
import type { RouteModel, RouteSolution, SolveOptions } from './model.js';
import type { RoutePlanning } from './planning.js';
import { chainRun } from './price-chain.js';

// The cheapest route that takes no longer than some time, exactly, by a solver that minimises one sum.
//
// Money and lead time of a route are sums over the same choices: the part plan, the chains, the
// set-ups in use. For every rate r >= 0 the least of money + r x (time - limit) is a lower bound of
// the money of any route within the limit (Lagrange; Fisher 1981, Management Science 27:1-18). The
// best rate is found exactly, because the bound is the lower hull of finitely many (time, money)
// points, and each solve either touches the line through two of them or gives a point below it. What
// is left between the bound and the best route found is closed by branching: on the part plan, on a
// set-up (barred, or paid whether it is used or not), on a chain. Each branch splits the routes into
// two sets that together hold them all, and both are smaller, so the search ends and misses none.

/** A route with its sums. Money in minor units a lot, without what does not hang on the route. */
export interface TimedRoute {
  readonly chosen: ChosenRoute;
  readonly money: number;
  /** Working minutes. */
  readonly leadMinutes: number;
}

export interface RouteWithin {
  /** Absent when no route is that quick, or none is cheaper than asked. */
  readonly route?: TimedRoute;
  /** Every solve on the way was proven. */
  readonly proven: boolean;
}

/** Times are compared to this, minutes. */
const slackMinutes = 1e-6;

/**
 * Opens a search over the routes of a planning context with both aims. The function that comes back
 * finds the cheapest route within a time, among those that cost less than `below`; what one call has
 * solved the next one uses.
 */
export function routesWithin(
  planning: RoutePlanning,
  context: PlanningContext,
  options: SolveOptions = {},
): (limitMinutes: number, below?: number) => RouteWithin {
  const sums = routeSums(planning, context);
  let proven = true;
  const solve = (node: Node, rate: number): Trial | undefined => {
    const known = node.trials.get(rate);
    if (known !== undefined) return known.trial;
    const model = node.model(rate);
    const chosen = chooseRoute({ ...planning, model }, context, options);
    const { solution } = chosen;
    if (solution.status === 'feasible' || solution.status === 'unknown') proven = false;
    const trial =
      solution.partPlan === undefined ? undefined : trialOf(chosen, node, sums, solution);
    node.trials.set(rate, { trial });
    return trial;
  };
  const root = rootNode(planning.model, sums);
  return (limitMinutes, below = Number.POSITIVE_INFINITY) => {
    let best: TimedRoute | undefined;
    let ceiling = below;
    const offer = ({ route }: Trial): void => {
      if (route.leadMinutes > limitMinutes + slackMinutes || route.money >= ceiling) return;
      best = route;
      ceiling = route.money;
    };
    const open: { readonly node: Node; readonly bound: number }[] = [
      { node: root, bound: Number.NEGATIVE_INFINITY },
    ];
    for (;;) {
      open.sort((a, b) => b.bound - a.bound);
      const next = open.pop();
      if (next === undefined) break;
      // Money is whole, so a better route is at least one unit cheaper.
      if (next.bound > ceiling - 1 + 1e-3) continue;
      const bounded = boundOf(next.node, limitMinutes, solve, offer);
      if (bounded === undefined || bounded.bound > ceiling - 1 + 1e-3) continue;
      for (const node of childrenOf(next.node, bounded.slow, bounded.quick))
        open.push({ node, bound: bounded.bound });
    }
    return { ...(best === undefined ? {} : { route: best }), proven };
  };
}

/** Money and time of every choice of the model, by id. */
interface RouteSums {
  readonly money: ReadonlyMap<string, number>;
  readonly minutes: ReadonlyMap<string, number>;
}

function routeSums(
  { model, plans, setUps, chains }: RoutePlanning,
  context: PlanningContext,
): RouteSums {
  const choices = [
    ...model.partPlans,
    ...model.setups,
    ...model.features.flatMap((feature) => feature.chains),
  ];
  const minutes = new Map<string, number>();
  for (const [id, plan] of plans) minutes.set(id, plan.cost.leadMinutes);
  for (const [id, { cost }] of setUps) minutes.set(id, cost.leadMinutes);
  for (const [id, { byContext }] of chains) {
    const [chain] = byContext.values();
    if (chain !== undefined) minutes.set(id, chainRun(chain, context).leadMinutes);
  }
  return { money: new Map(choices.map(({ id, cost }) => [id, cost])), minutes };
}

/** A route found in a node: its own sums, and its sums as the node counts them. */
interface Trial {
  readonly route: TimedRoute;
  readonly solution: RouteSolution;
  readonly money: number;
  readonly minutes: number;
}

/** A part of all routes. */
interface Node {
  readonly sums: RouteSums;
  readonly choices: RouteModel;
  /** Set-ups that are paid whether they are used or not. */
  readonly forced: ReadonlySet<string>;
  /** The choices with money + rate x minutes as cost; minutes alone at an infinite rate. */
  model(rate: number): RouteModel;
  readonly trials: Map<number, { readonly trial: Trial | undefined }>;
  readonly children: Map<string, readonly Node[]>;
}

function rootNode(model: RouteModel, sums: RouteSums): Node {
  return nodeOf(model, new Set(), sums);
}

function nodeOf(choices: RouteModel, forced: ReadonlySet<string>, sums: RouteSums): Node {
  const priced = (id: string, rate: number): number => {
    if (forced.has(id)) return 0;
    const minutes = sums.minutes.get(id) ?? 0;
    return rate === Number.POSITIVE_INFINITY ? minutes : (sums.money.get(id) ?? 0) + rate * minutes;
  };
  return {
    sums,
    choices,
    forced,
    model: (rate) => ({
      ...choices,
      partPlans: choices.partPlans.map((plan) => ({ ...plan, cost: priced(plan.id, rate) })),
      setups: choices.setups.map((setUp) => ({ ...setUp, cost: priced(setUp.id, rate) })),
      features: choices.features.map((feature) => ({
        ...feature,
        chains: feature.chains.map((chain) => ({ ...chain, cost: priced(chain.id, rate) })),
      })),
    }),
    trials: new Map(),
    children: new Map(),
  };
}

function trialOf(
  chosen: ChosenRoute,
  { forced }: Node,
  sums: RouteSums,
  solution: RouteSolution,
): Trial {
  const used = [solution.partPlan ?? '', ...Object.values(solution.chains), ...solution.setups];
  const paid = new Set([...used, ...forced]);
  const total = (of: ReadonlyMap<string, number>, ids: Iterable<string>): number => {
    let sum = 0;
    for (const id of ids) sum += of.get(id) ?? 0;
    return sum;
  };
  return {
    route: {
      chosen,
      money: total(sums.money, used),
      leadMinutes: total(sums.minutes, used),
    },
    solution,
    money: total(sums.money, paid),
    minutes: total(sums.minutes, paid),
  };
}

/** Most steps towards the best rate; each one lands on another corner of the hull. */
const rateSteps = 200;

/**
 * Lower bound of the money of the node's routes within the limit, with a route on either side of the
 * limit for branching; undefined when the node holds none, or its cheapest keeps the limit.
 */
function boundOf(
  node: Node,
  limit: number,
  solve: (node: Node, rate: number) => Trial | undefined,
  offer: (trial: Trial) => void,
): { readonly bound: number; readonly slow: Trial; readonly quick: Trial } | undefined {
  let slow = solve(node, 0);
  if (slow === undefined) return undefined;
  offer(slow);
  if (slow.minutes <= limit + slackMinutes) return undefined;
  let quick = solve(node, Number.POSITIVE_INFINITY);
  if (quick === undefined || quick.minutes > limit + slackMinutes) return undefined;
  offer(quick);
  let bound = slow.money;
  for (let step = 0; step < rateSteps; step += 1) {
    const rate = (quick.money - slow.money) / (slow.minutes - quick.minutes);
    if (rate <= 0) break;
    const trial = solve(node, rate);
    if (trial === undefined) return undefined;
    offer(trial);
    const value = trial.money + rate * trial.minutes;
    bound = Math.max(bound, value - rate * limit);
    const line = quick.money + rate * quick.minutes;
    if (value >= line - 1e-6 * Math.max(1, Math.abs(line))) break;
    if (trial.minutes <= limit + slackMinutes) quick = trial;
    else slow = trial;
  }
  return { bound, slow, quick };
}

/** Two parts of a node that hold all of its routes, by something in which two routes differ. */
function childrenOf(node: Node, slow: Trial, quick: Trial): readonly Node[] {
  const { choices, forced, sums } = node;
  const child = (key: string, make: () => readonly Node[]): readonly Node[] => {
    const known = node.children.get(key) ?? make();
    node.children.set(key, known);
    return known;
  };
  const plan = slow.solution.partPlan ?? '';
  if (plan !== quick.solution.partPlan)
    return child(`plan ${plan}`, () =>
      [true, false].flatMap((only) =>
        restricted(
          { ...choices, partPlans: choices.partPlans.filter(({ id }) => (id === plan) === only) },
          forced,
          sums,
        ),
      ),
    );
  const inBoth = (id: string): boolean =>
    slow.solution.setups.includes(id) && quick.solution.setups.includes(id);
  const setUp = [...slow.solution.setups, ...quick.solution.setups]
    .filter((id) => !inBoth(id) && !forced.has(id))
    .sort()[0];
  if (setUp !== undefined)
    return child(`set-up ${setUp}`, () => [
      ...restricted(
        withChains(choices, (chain) => !chain.setups.includes(setUp)),
        forced,
        sums,
      ),
      ...restricted(choices, new Set([...forced, setUp]), sums),
    ]);
  const feature = choices.features.find(
    ({ id }) => slow.solution.chains[id] !== quick.solution.chains[id],
  );
  if (feature === undefined) return [];
  const chosen = slow.solution.chains[feature.id] ?? '';
  const own = new Set(feature.chains.map(({ id }) => id));
  return child(`chain ${chosen}`, () =>
    [true, false].flatMap((only) =>
      restricted(
        withChains(choices, ({ id }) => !own.has(id) || (id === chosen) === only),
        forced,
        sums,
      ),
    ),
  );
}

function withChains(
  model: RouteModel,
  keep: (chain: RouteModel['features'][number]['chains'][number]) => boolean,
): RouteModel {
  return {
    ...model,
    features: model.features.map((feature) => ({
      ...feature,
      chains: feature.chains.filter(keep),
    })),
  };
}

/** The node of a smaller model, rid of what can no longer be chosen; none when a feature has no chain. */
function restricted(
  model: RouteModel,
  forced: ReadonlySet<string>,
  sums: RouteSums,
): readonly Node[] {
  const plans = new Set(model.partPlans.map(({ id }) => id));
  if (plans.size === 0) return [];
  const features = model.features.map((feature) => ({
    ...feature,
    chains: feature.chains.flatMap((chain) => {
      const partPlans = chain.partPlans.filter((id) => plans.has(id));
      return partPlans.length === 0 ? [] : [{ ...chain, partPlans }];
    }),
  }));
  if (features.some(({ chains }) => chains.length === 0)) return [];
  const left = new Set(features.flatMap(({ chains }) => chains.map(({ id }) => id)));
  const pairs = model.pairs.filter(({ a, b }) => left.has(a) && left.has(b));
  return [nodeOf({ ...model, features, pairs }, forced, sums)];
}
