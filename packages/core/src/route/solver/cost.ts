import type { RouteModel } from '../model.js';
import { choiceCost, indexModel, readChoice } from './indexed-model.js';

/**
 * Cost of one choice in the model's own unit: part plan + chains + set-ups used, once each + pairs
 * with both chains chosen. Infinity when the model does not allow the choice: a forbidden pair, a
 * chain that does not list the part plan, a feature without a chain of its own, an unknown id. The
 * terms are added in the order of their ids, so that the sum does not depend on the order of rows.
 * Throws InputError when `checkRouteModel` finds a problem.
 *
 * @example
 * routeCost({ schema: 'route-model/1', partPlans: [{ id: 'P', cost: 5 }], setups: [{ id: 'S', cost: 3 }], features: [{ id: 'F', chains: [{ id: 'C', cost: 2, setups: ['S'], partPlans: ['P'] }] }], pairs: [] }, 'P', { F: 'C' }) // -> 10
 */
export function routeCost(
  model: RouteModel,
  partPlan: string,
  chains: Readonly<Record<string, string>>,
): number {
  const indexed = indexModel(model);
  const choice = readChoice(indexed, partPlan, chains);
  return choice === undefined ? Number.POSITIVE_INFINITY : choiceCost(indexed, choice);
}
