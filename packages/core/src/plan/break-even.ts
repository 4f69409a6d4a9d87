import type { Catalog } from '../catalog/catalog.js';
import { totalOf } from '../cost/charges.js';
import { percentOf, perPart } from '../cost/money.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Job } from '../job/types.js';
import { partPlans } from '../route/part-plans.js';
import { chainRun } from '../route/price-chain.js';
import type { PlanOptions } from './plan-job.js';
import { routeChanges } from './route-marks.js';
import { type SolvedJob, solveAtQuantity, solveJob } from './solve-job.js';
import { tidy } from './tidy.js';

/** Lot sizes at which the best route changes, schema `break-evens/1`. Money in minor units. */
export interface BreakEvens {
  readonly schema: 'break-evens/1';
  readonly currency: string;
  readonly minorDigits: number;
  readonly from: number;
  readonly to: number;
  /** Lot sizes that were solved, rising. */
  readonly solved: readonly number[];
  readonly changes: readonly BreakEven[];
}

/** From this lot size on another route is the best one. */
export interface BreakEven {
  readonly quantity: number;
  readonly perPart: number;
  readonly perLot: number;
  readonly days: number;
  /** The route that was best for one part less, priced for this lot; absent when it cannot be taken. */
  readonly oldRoutePerLot?: number;
  /** The new route priced for one part less, and what the best route costs there. */
  readonly newRouteBefore?: number;
  readonly bestBefore: number;
  readonly routeChanges: readonly string[];
}

export interface BreakEvenOptions extends PlanOptions {
  /** Lot sizes looked at; 1 and 200 if absent. */
  readonly from?: number;
  readonly to?: number;
}

/** Up to here every lot size is solved, above it steps of a tenth. */
const everySizeTo = 20;

/**
 * Lot sizes at which the best route goes to other places. Every size up to 20 is solved, above that
 * sizes a tenth apart; where two neighbours differ, the change between them is found by halving. Each
 * change is checked by fixing either route and pricing it on both sides of the change. A route that is
 * best only somewhere between two solved sizes with the same route is not found.
 *
 * @throws RangeError when the sizes are no whole numbers from 1 on in rising order, or when the job
 * cannot be planned
 */
export function breakEvens(
  job: Job,
  catalog: Catalog,
  { from = 1, to = 200, ...options }: BreakEvenOptions = {},
): BreakEvens {
  if (!Number.isInteger(from) || !Number.isInteger(to) || from < 1 || to < from)
    throw new RangeError(
      `lot sizes ${from} to ${to}: whole numbers from 1 on, rising, are accepted`,
    );
  const known = new Map<number, SolvedJob>();
  let last = solveJob(job, catalog, from, options);
  if (last.chosen.plan === undefined)
    throw new RangeError('the job cannot be planned as it stands: see the conflicts of its plan');
  known.set(from, last);
  const at = (quantity: number): SolvedJob => {
    const solved = known.get(quantity) ?? solveAtQuantity(last, quantity, options);
    known.set(quantity, solved);
    last = solved;
    return solved;
  };
  const changes: BreakEven[] = [];
  /** Changes after `low` up to and with `high`, by halving. */
  const between = (low: number, high: number): void => {
    const changed = routeChanges(at(low).chosen.works, at(high).chosen.works);
    if (changed.length === 0) return;
    if (high - low > 1) {
      const middle = Math.floor((low + high) / 2);
      between(low, middle);
      between(middle, high);
      return;
    }
    changes.push(changeAt(at(low), at(high), changed));
  };
  const sizes = gridOf(from, to);
  for (const [index, size] of sizes.entries()) {
    const next = sizes[index + 1];
    if (next !== undefined) between(size, next);
  }
  const { minorPerMajor } = last.context;
  return tidy({
    schema: 'break-evens/1' as const,
    currency: job.order.currency,
    minorDigits: Math.round(Math.log10(minorPerMajor)),
    from,
    to,
    solved: [...known.keys()].sort((a, b) => a - b),
    changes,
  });
}

function gridOf(from: number, to: number): readonly number[] {
  const sizes: number[] = [];
  for (
    let size = from;
    size < to;
    size = Math.max(size + 1, everySizeTo < size ? Math.floor(size * 1.1) : size + 1)
  )
    sizes.push(size);
  return [...sizes, to];
}

function changeAt(before: SolvedJob, after: SolvedJob, changed: readonly string[]): BreakEven {
  const { quantity } = after.context;
  const old = fixedRouteLot(before, after);
  const now = fixedRouteLot(after, before);
  return {
    quantity,
    perPart: perPart(after.totals.lot, quantity),
    perLot: after.totals.lot,
    days: after.days,
    ...(old === undefined ? {} : { oldRoutePerLot: old }),
    ...(now === undefined ? {} : { newRouteBefore: now }),
    bestBefore: before.totals.lot,
    routeChanges: changed,
  };
}

/**
 * What the lot of `other` costs by the route of `taken`: the same treatments at the same work centres,
 * the same chains in the same set-ups; undefined when the other lot does not allow that route.
 */
function fixedRouteLot(taken: SolvedJob, other: SolvedJob): number | undefined {
  const { solution, plan: takenPlan } = taken.chosen;
  const { planning, context, totals } = other;
  if (takenPlan === undefined) return undefined;
  const places = new Map(takenPlan.works.map((work) => [work.process, work.centre.id]));
  const fixed: PlanningContext = {
    ...context,
    workCentres: context.workCentres.map((centre) => ({
      ...centre,
      processes: centre.processes.filter(
        (process) => !places.has(process) || places.get(process) === centre.id,
      ),
    })),
  };
  const plan = partPlans(planning.part, fixed, planning.sets).plans.find(
    ({ id }) => id === takenPlan.id,
  );
  if (plan === undefined) return undefined;
  let model = totalOf(plan.cost.charges);
  for (const id of solution.setups) {
    const setUp = planning.setUps.get(id);
    if (setUp === undefined) return undefined;
    model += totalOf(setUp.cost.charges);
  }
  for (const id of Object.values(solution.chains)) {
    const chain = planning.chains.get(id)?.byContext.get(plan.chains.key);
    if (chain === undefined) return undefined;
    model += chainRun(chain, context).money;
  }
  const { contingencyPercent, marginPercent } = context.job.policy;
  const worked = model + totals.inspection;
  const contingency = percentOf(worked, contingencyPercent);
  return worked + contingency + percentOf(worked + contingency, marginPercent);
}
