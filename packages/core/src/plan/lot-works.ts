import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import { addCosts, minutesPerDay, type WorkCost } from '../cost/charges.js';
import type { InspectionChoice } from '../inspection/choose-methods.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { ChosenRoute } from '../route/choose-route.js';
import type { RoutePlanning } from '../route/planning.js';
import type { ScheduledWork } from '../schedule/lot-flow.js';

/** The choices that the calendar reads. */
export interface LotRoute {
  readonly context: PlanningContext;
  readonly planning: RoutePlanning;
  readonly chosen: ChosenRoute;
  readonly inspection: InspectionChoice;
  readonly inspectionVisit: WorkCost;
  readonly inspectionCentre: { readonly id: string };
}

/** The operations of the chosen route as the calendar sees them, numbered as in the plan. */
export function lotWorks(route: LotRoute): readonly ScheduledWork[] {
  const { context, planning, chosen, inspection, inspectionVisit, inspectionCentre } = route;
  const works = chosen.works.map((work, index): ScheduledWork => {
    const operation = (index + 1) * 10;
    if (work.kind === 'part') {
      const { finish, centre, cost, kind, process } = work.work;
      const masks = chosen.chains.flatMap((chain) =>
        chain.masked.filter((entry) => entry.finish.process.id === finish?.process.id),
      );
      const partByPart =
        kind === 'support-removal' || (kind === 'finishing' && !inBatches(process, context));
      return scheduled(
        operation,
        centre,
        addCosts(cost, ...masks.map((mask) => mask.cost)),
        { partByPart, byTheClock: kind === 'thermal' },
        context,
      );
    }
    const steps = work.chains.flatMap((chain) =>
      chain.steps.filter((step) => step.setUp.id === work.setUp.id),
    );
    const visit = planning.setUps.get(work.setUp.id)?.cost;
    return scheduled(
      operation,
      work.setUp.centre,
      addCosts(...(visit === undefined ? [] : [visit]), ...steps.map((step) => step.cost)),
      {
        partByPart: !steps.some((step) => inBatches(step.process.id, context)),
        byTheClock: false,
      },
      context,
    );
  });
  const room = context.workCentres.find(({ id }) => id === inspectionCentre.id);
  if (room === undefined) return works;
  const measured = [...inspection.characteristics, ...inspection.stations];
  return [
    ...works,
    scheduled(
      (works.length + 1) * 10,
      room,
      addCosts(inspectionVisit, ...measured.map((entry) => entry.cost)),
      { partByPart: true, byTheClock: false },
      context,
    ),
  ];
}

function inBatches(process: string, context: PlanningContext): boolean {
  return context.processes.get(process)?.needs.timeBasis === 'batch';
}

function scheduled(
  operation: number,
  centre: WorkCentresRow,
  cost: WorkCost,
  how: Pick<ScheduledWork, 'partByPart' | 'byTheClock'>,
  context: PlanningContext,
): ScheduledWork {
  const perDay = minutesPerDay(context);
  const { id, sourcing, queueDays, turnaroundDays } = centre;
  const workDays = Math.max(0, cost.leadMinutes / perDay - queueDays - turnaroundDays);
  const own = sourcing === 'in-house';
  const setupDays = own ? Math.min(workDays, cost.setupMinutes / perDay) : 0;
  return {
    operation,
    workCentre: id,
    sourcing,
    queueDays,
    turnaroundDays,
    setupDays,
    runDays: workDays - setupDays,
    partByPart: own && how.partByPart,
    byTheClock: how.byTheClock,
  };
}
