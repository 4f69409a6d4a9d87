import { minutesPerDay, totalOf } from '../cost/charges.js';
import { chooseMethods, type InspectionChoice } from '../inspection/choose-methods.js';
import type { PlanningContext } from '../job/planning-context.js';
import { requirementsOf } from '../job/requirements.js';
import type { Policy } from '../job/types.js';

/** A choice of measuring methods with its sums. */
export interface TimedInspection {
  readonly choice: InspectionChoice;
  /** Minor currency units a lot. */
  readonly money: number;
  /** Working minutes. */
  readonly leadMinutes: number;
}

/**
 * Choices of measuring methods from the cheapest to the quickest: the best for money, for time, and
 * for every weight of the two between. A choice that is best for no weight is not among them.
 */
export function inspectionChoices(context: PlanningContext): readonly TimedInspection[] {
  const items = context.job.features.flatMap((feature) =>
    requirementsOf(feature, () => context.defaultValue('rz-per-ra')).map((requirement) => ({
      feature,
      requirement,
    })),
  );
  const chosenFor = (aim: Pick<Policy, 'objective' | 'costPerDay'>): TimedInspection => {
    const job = { ...context.job, policy: { ...context.job.policy, ...aim } };
    const choice = chooseMethods(items, { ...context, job });
    const costs = [...choice.characteristics, ...choice.stations].map(({ cost }) => cost);
    return {
      choice,
      money: costs.reduce((sum, cost) => sum + totalOf(cost.charges), 0),
      leadMinutes: costs.reduce((sum, cost) => sum + cost.leadMinutes, 0),
    };
  };
  const between = (cheap: TimedInspection, quick: TimedInspection): TimedInspection[] => {
    if (quick.leadMinutes >= cheap.leadMinutes - 1e-6) return [];
    const perMinute = (quick.money - cheap.money) / (cheap.leadMinutes - quick.leadMinutes);
    const costPerDay = (perMinute * minutesPerDay(context)) / context.minorPerMajor;
    const middle = chosenFor({ objective: 'weighted', costPerDay });
    const below = (a: TimedInspection): number => a.money + perMinute * a.leadMinutes;
    // The weighted aim counts in whole minor units for each characteristic.
    const noise = items.length + 1;
    if (below(middle) >= below(cheap) - noise) return [];
    return [...between(cheap, middle), middle, ...between(middle, quick)];
  };
  const cheap = chosenFor({ objective: 'cost' });
  const quick = chosenFor({ objective: 'days' });
  if (quick.leadMinutes >= cheap.leadMinutes - 1e-6) return [cheap];
  if (quick.money <= cheap.money) return [quick];
  return [cheap, ...between(cheap, quick), quick];
}
