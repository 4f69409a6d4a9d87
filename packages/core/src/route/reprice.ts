import { addCosts, objectiveOf, runCost } from '../cost/charges.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Chain, FeatureChains } from './chain.js';

/**
 * Chains found for one lot size, priced for another. The run time of every step and mask is
 * proportional to the lot, so the same chains are worth keeping at any size, but for choices that
 * differ by less than the rounding of their charges.
 *
 * @param from lot size for which the chains were found
 */
export function repriced(
  found: FeatureChains,
  from: number,
  context: PlanningContext,
): FeatureChains {
  const ratio = context.quantity / from;
  return {
    feature: found.feature,
    chains: found.chains.map((chain) => repricedChain(chain, ratio, context)),
    shortfalls: found.shortfalls,
    found,
    covers: (other) => found.covers(other.found ?? other),
  };
}

function repricedChain(chain: Chain, ratio: number, context: PlanningContext): Chain {
  const steps = chain.steps.map((step) => {
    const minutes = step.minutes * ratio;
    const label = `${step.process.row.name}, ${chain.feature.id}`;
    return { ...step, minutes, cost: runCost(step.setUp.centre, context, minutes, label) };
  });
  const masked = chain.masked.map((mask) => ({
    ...mask,
    cost: runCost(
      mask.centre,
      context,
      mask.cost.runMinutes * ratio,
      mask.cost.charges[0]?.label ?? '',
    ),
  }));
  const cost = addCosts(...[...steps, ...masked].map((entry) => entry.cost));
  return { ...chain, steps, masked, cost, objective: objectiveOf(cost, context) };
}
