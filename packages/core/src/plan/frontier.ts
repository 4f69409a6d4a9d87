import type { Catalog } from '../catalog/catalog.js';
import { minutesPerDay, totalOf, visitCost } from '../cost/charges.js';
import { percentOf, perPart } from '../cost/money.js';
import { type PlanningContext, planningContext } from '../job/planning-context.js';
import type { Job } from '../job/types.js';
import type { TimedRoute } from '../route/within-time.js';
import { addWorkingDays } from '../schedule/calendar.js';
import { inspectionChoices, type TimedInspection } from './inspection-trade-off.js';
import type { PlanOptions } from './plan-job.js';
import { routeChanges } from './route-marks.js';
import { stackedRoutesWithin } from './stacked-routes.js';
import { tidy } from './tidy.js';
import { workingCalendar } from './working-calendar.js';

/** Cost against days, schema `frontier/1`. Money in minor units. */
export interface Frontier {
  readonly schema: 'frontier/1';
  readonly currency: string;
  readonly minorDigits: number;
  readonly quantity: number;
  /** From the cheapest, which takes longest, to the quickest; empty when the job cannot be made. */
  readonly points: readonly FrontierPoint[];
  /** Every solve on the way was proven, so no point is missing and none is dominated. */
  readonly proven: boolean;
}

export interface FrontierPoint {
  /** Working days of the work one after the other. */
  readonly days: number;
  /** The same in whole days, as a date counts them: what this point is the cheapest for. */
  readonly wholeDays: number;
  readonly readyOn?: string;
  readonly perPart: number;
  readonly perLot: number;
  /** Above the cheapest. */
  readonly extraPerLot: number;
  /** What each whole day gained against the point before costs; 0 for the cheapest. */
  readonly extraPerDay: number;
  /** Operations in and out against the point before. */
  readonly routeChanges: readonly string[];
}

/**
 * Every trade of money against time: for each number of whole working days the cheapest route that is
 * done by then, as long as fewer days cost more. The job's own objective does not matter. The search
 * goes from the cheapest route down: it asks for the cheapest route that takes at least one whole day
 * less, until there is none; each answer is exact (see route/within-time.ts), so the list is complete.
 * Days are those of the route model: operations one after the other, with queue and turnaround.
 *
 * @throws RangeError when the catalogue lacks a table row that planning needs
 */
export function frontier(job: Job, catalog: Catalog, options: PlanOptions = {}): Frontier {
  const quantity = options.quantity ?? job.order.quantity;
  const policy = { ...job.policy, objective: 'cost' as const };
  const context: PlanningContext = {
    ...planningContext({ ...job, policy }, catalog, quantity),
    bothAims: true,
  };
  const within = stackedRoutesWithin(context, options);
  const inspections = inspectionChoices(context);
  const visit = inspectionVisit(context);
  const dayMinutes = minutesPerDay(context);
  const found: Found[] = [];
  let proven = true;
  let limit = Number.POSITIVE_INFINITY;
  for (;;) {
    const best = cheapestWithin(limit - visit.leadMinutes, inspections, (minutes, below) => {
      const answer = within(minutes, below);
      proven &&= answer.proven;
      return answer.route;
    });
    if (best === undefined) break;
    const last = found.at(-1);
    if (last !== undefined && moneyOf(last) >= moneyOf(best)) found.pop();
    found.push(best);
    const whole = wholeDays((minutesOf(best) + visit.leadMinutes) / dayMinutes);
    limit = (whole - 1) * dayMinutes;
  }
  const calendar = workingCalendar(context);
  const { startOn } = job.order;
  const points: FrontierPoint[] = [];
  for (const [index, entry] of found.entries()) {
    const days = (minutesOf(entry) + visit.leadMinutes) / dayMinutes;
    const worked = moneyOf(entry) + totalOf(visit.charges);
    const contingency = percentOf(worked, policy.contingencyPercent);
    const perLot = worked + contingency + percentOf(worked + contingency, policy.marginPercent);
    const before = points.at(-1);
    points.push({
      days,
      wholeDays: wholeDays(days),
      ...(startOn === undefined ? {} : { readyOn: addWorkingDays(startOn, days, calendar) }),
      perPart: perPart(perLot, quantity),
      perLot,
      extraPerLot: perLot - (points[0]?.perLot ?? perLot),
      extraPerDay:
        before === undefined
          ? 0
          : Math.round((perLot - before.perLot) / (before.wholeDays - wholeDays(days))),
      routeChanges: routeChanges(
        found[index - 1]?.route.chosen.works ?? entry.route.chosen.works,
        entry.route.chosen.works,
      ),
    });
  }
  return tidy({
    schema: 'frontier/1' as const,
    currency: job.order.currency,
    minorDigits: Math.round(Math.log10(context.minorPerMajor)),
    quantity,
    points,
    proven,
  });
}

interface Found {
  readonly route: TimedRoute;
  readonly inspection: TimedInspection;
}

function moneyOf({ route, inspection }: Found): number {
  return route.money + inspection.money;
}

function minutesOf({ route, inspection }: Found): number {
  return route.leadMinutes + inspection.leadMinutes;
}

/** A part of a day counts as a day; so dates do. */
function wholeDays(days: number): number {
  return Math.max(1, Math.ceil(days - 1e-9));
}

/** The cheapest route and inspection that together keep the limit. */
function cheapestWithin(
  limitMinutes: number,
  inspections: readonly TimedInspection[],
  routeWithin: (limitMinutes: number, below: number) => TimedRoute | undefined,
): Found | undefined {
  let best: Found | undefined;
  for (const inspection of inspections) {
    const below = best === undefined ? Number.POSITIVE_INFINITY : moneyOf(best) - inspection.money;
    const route = routeWithin(limitMinutes - inspection.leadMinutes, below);
    if (route !== undefined) best = { route, inspection };
  }
  return best;
}

function inspectionVisit(context: PlanningContext): ReturnType<typeof visitCost> {
  const centre = context.workCentres.find((entry) => entry.processes.includes('final-inspection'));
  if (centre === undefined)
    throw new RangeError('the catalogue has no work centre for final-inspection');
  return visitCost(centre, context, { programmed: false, probed: false });
}
