import type { WorkCost } from '../cost/charges.js';
import { totalOf } from '../cost/charges.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { PartWork } from './part-works.js';

/**
 * The work centres at which a piece of part-level work is worth doing: the best one by the objective,
 * or, when both aims count, each at which it costs less or is done sooner than at any other.
 */
export function workPlaces(
  make: (context: PlanningContext) => PartWork | undefined,
  context: PlanningContext,
): readonly PartWork[] {
  if (context.bothAims !== true) {
    const best = make(context);
    return best === undefined ? [] : [best];
  }
  const works = context.workCentres.flatMap((centre) => {
    const work = make({ ...context, workCentres: [centre] });
    return work === undefined ? [] : [work];
  });
  return undominatedCosts(works, ({ cost }) => cost);
}

/** Leaves out what costs no less and is done no sooner than another; cheapest first. */
export function undominatedCosts<T>(
  list: readonly T[],
  costOf: (entry: T) => WorkCost,
): readonly T[] {
  const sums = list.map((entry) => {
    const { charges, leadMinutes } = costOf(entry);
    return { entry, money: totalOf(charges), leadMinutes };
  });
  let soonest = Number.POSITIVE_INFINITY;
  return sums
    .sort((a, b) => a.money - b.money || a.leadMinutes - b.leadMinutes)
    .filter(({ leadMinutes }) => {
      if (leadMinutes >= soonest) return false;
      soonest = leadMinutes;
      return true;
    })
    .map(({ entry }) => entry);
}
