import { percentOf } from '../cost/money.js';
import { addWorkingDays, latestStart, workingDaysBetween } from '../schedule/calendar.js';
import { lotFlow, transferBatchOf } from '../schedule/lot-flow.js';
import { type Express, type Shortening, shortenings } from '../schedule/shortenings.js';
import { lotWorks } from './lot-works.js';
import type { SolvedJob } from './solve-job.js';
import type { Operation, PlannedShortening, SchedulePlan, ScheduleStep } from './types.js';
import { workingCalendar } from './working-calendar.js';

/** The lot by another route. */
export interface OtherRoute {
  readonly what: string;
  readonly days: number;
  readonly costsPerLot: number;
}

/**
 * When each operation starts and ends, what the date hangs on and what would bring it in.
 *
 * @param faster looks for the fastest route; asked only when the lot is late
 */
export function schedulePlan(
  solved: SolvedJob,
  operations: readonly Operation[],
  faster: () => OtherRoute | undefined,
): SchedulePlan {
  const { context } = solved;
  const { startOn, dueOn } = context.job.order;
  const calendar = workingCalendar(context);
  const works = operations.length === 0 ? [] : lotWorks(solved);
  const wished = context.job.policy.transferBatch;
  const batch = transferBatchOf(context.quantity, wished);
  const flow = lotFlow(works, context.quantity, batch);
  const dayOf = (days: number): string | undefined =>
    startOn === undefined ? undefined : addWorkingDays(startOn, days, calendar);
  const readyOn = dayOf(flow.days);
  const lateBy = (ready: string | undefined): number =>
    ready === undefined || dueOn === undefined ? 0 : workingDaysBetween(dueOn, ready, calendar);
  const lateDays = Math.max(0, lateBy(readyOn));
  if (dueOn !== undefined && startOn === undefined)
    context.find({
      id: 'no-start',
      severity: 'note',
      message: 'a due date is given but no start: lateness is not checked',
    });
  const steps = works.map((work, index): ScheduleStep => {
    const { startsAfterDays = 0, endsAfterDays = 0 } = flow.steps[index] ?? {};
    const [startsOn, endsOn] = [
      dayOf(Math.floor(startsAfterDays + 1e-9) + 1),
      dayOf(endsAfterDays),
    ];
    return {
      operation: work.operation,
      queueDays: work.queueDays + work.turnaroundDays,
      turnaroundDays: work.turnaroundDays,
      workDays: work.setupDays + work.runDays,
      startsAfterDays,
      endsAfterDays,
      ...(startsOn === undefined ? {} : { startsOn }),
      ...(endsOn === undefined ? {} : { endsOn }),
    };
  });
  const express = expressOffers(solved);
  const ways: readonly (Shortening | (OtherRoute & { id: string; savesDays: number }))[] = [
    ...shortenings({
      works,
      quantity: context.quantity,
      transferBatch: batch,
      shiftsPerDay: context.defaultValue('shifts-per-day'),
      express,
    }),
    ...otherWay(lateDays > 0 ? faster() : undefined, flow.days),
  ];
  const end = readyOn !== undefined && dueOn !== undefined && dueOn > readyOn ? dueOn : readyOn;
  return {
    days: flow.days,
    ...(startOn === undefined ? {} : { startOn }),
    ...(readyOn === undefined ? {} : { readyOn }),
    ...(dueOn === undefined ? {} : { dueOn }),
    late: lateDays > 0,
    lateDays,
    ...(readyOn === undefined || dueOn === undefined || lateDays > 0
      ? {}
      : { spareDays: Math.max(0, -lateBy(readyOn)) }),
    ...(dueOn === undefined || works.length === 0
      ? {}
      : { startBy: latestStart(dueOn, flow.days, calendar) }),
    calendar: {
      hoursPerDay: context.defaultValue('hours-per-shift') * context.defaultValue('shifts-per-day'),
      daysPerWeek: calendar.daysPerWeek,
      closedOn: calendar.closedOn.filter(
        (day) => startOn === undefined || (day >= startOn && day <= (end ?? day)),
      ),
    },
    ...(wished === undefined ? {} : { transferBatch: batch }),
    steps,
    critical: flow.critical,
    shortenings: ways
      .map((way): PlannedShortening => {
        const ready = dayOf(way.days);
        const costsPerLot =
          'costsPerLot' in way ? way.costsPerLot : expressCost(way.id, solved, operations);
        return {
          id: way.id,
          what: nameExpress(way, operations),
          days: way.days,
          savesDays: way.savesDays,
          ...(ready === undefined ? {} : { readyOn: ready }),
          ...(ready === undefined || dueOn === undefined ? {} : { late: lateBy(ready) > 0 }),
          ...(costsPerLot === undefined ? {} : { costsPerLot }),
        };
      })
      .sort((a, b) => b.savesDays - a.savesDays || (a.id < b.id ? -1 : 1)),
  };
}

function otherWay(
  other: OtherRoute | undefined,
  days: number,
): readonly (OtherRoute & { readonly id: 'other-route'; readonly savesDays: number })[] {
  if (other === undefined || days - other.days <= 1e-6) return [];
  return [{ ...other, id: 'other-route', savesDays: days - other.days }];
}

/** Suppliers of the route that offer a faster service. */
function expressOffers({ chosen }: SolvedJob): readonly Express[] {
  return chosen.works.flatMap((work, index) => {
    const { expressDays } = work.kind === 'part' ? work.work.centre : work.setUp.centre;
    return expressDays === undefined
      ? []
      : [{ operation: (index + 1) * 10, turnaroundDays: expressDays }];
  });
}

/** What the faster service of one operation adds to the lot. */
function expressCost(
  id: string,
  { context }: SolvedJob,
  operations: readonly Operation[],
): number | undefined {
  const operation = operations.find(({ seq }) => id === `express-${seq}`);
  const centre = context.workCentres.find((entry) => entry.id === operation?.workCentre.id);
  return operation === undefined || centre?.expressPercent === undefined
    ? undefined
    : percentOf(operation.costPerLot, centre.expressPercent);
}

function nameExpress(
  { id, what }: { readonly id: string; readonly what: string },
  operations: readonly Operation[],
): string {
  const operation = operations.find(({ seq }) => id === `express-${seq}`);
  return operation === undefined
    ? what
    : `faster service for operation ${operation.seq}, ${operation.title}`;
}
