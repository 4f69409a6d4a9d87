import type { PlanningContext } from '../job/planning-context.js';
import type { SolveOptions } from '../route/model.js';
import { routePlanning } from '../route/planning.js';
import { type RouteWithin, routesWithin } from '../route/within-time.js';
import { chooseStackedRoute, shortfalls, withoutShortfall } from './stack-loop.js';

/**
 * Routes within a time of which every requirement holds by its exact stack. When the best one does
 * not hold, what falls short leaves the model, and the search is taken up again; routes found before
 * stay the best, because the model only gets smaller.
 */
export function stackedRoutesWithin(
  context: PlanningContext,
  options: SolveOptions,
): (limitMinutes: number, below?: number) => RouteWithin {
  let { planning } = chooseStackedRoute(routePlanning(context), context, options);
  let within = routesWithin(planning, context, options);
  const settled = new Set<string>();
  return (limitMinutes, below) => {
    for (;;) {
      const answer = within(limitMinutes, below);
      if (answer.route === undefined) return answer;
      const failed = shortfalls(answer.route.chosen, context).filter(
        ({ key }) => !settled.has(key),
      );
      if (failed.length === 0) return answer;
      for (const fault of failed) {
        settled.add(fault.key);
        planning = withoutShortfall(planning, fault, context).without;
      }
      within = routesWithin(planning, context, options);
    }
  };
}
