import type { PlanningContext } from '../job/planning-context.js';
import { type CutOffCurl, cutOffCurl, type UnknownCurl } from './cut-off-curl.js';
import { type ReliefCycle, remainingAfter } from './remaining-stress.js';
import type { ThermalRoute, ThermalStep } from './route-types.js';

/** The hold of a step as its schedule gives it at least. */
export function reliefCycleOf({ schedule }: ThermalStep): ReliefCycle {
  return {
    temperatureC: schedule.temperatureC,
    minutes: schedule.soakMinMin ?? schedule.totalSoakMin ?? 0,
  };
}

/**
 * Curl of the whole part when it is cut off after the steps of a route that are done on the plate:
 * the box as a beam along its longer side on the plate.
 */
export function routeCurl(
  route: Pick<ThermalRoute, 'steps'>,
  boxMm: readonly [number, number, number],
  context: PlanningContext,
): CutOffCurl | UnknownCurl {
  if (context.job.part.printer === 'pbf-eb')
    return {
      known: false,
      reason:
        'the bed of an electron-beam printer sits in the stress-relief range, so the build counts as relieved (ASTM F3301-18a, introduction)',
    };
  const before = route.steps.filter((step) => step.onPlate).map(reliefCycleOf);
  const [x, y, heightMm] = boxMm;
  return cutOffCurl(
    context.material,
    { lengthMm: Math.max(x, y), widthMm: Math.min(x, y), heightMm },
    before.length === 0 ? undefined : remainingAfter(context.catalog, context.material.id, before),
  );
}
