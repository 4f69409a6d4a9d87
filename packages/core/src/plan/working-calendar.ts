import type { PlanningContext } from '../job/planning-context.js';
import type { WorkingCalendar } from '../schedule/calendar.js';

/** When the shop works: its week, less the days that the job calls closed. */
export function workingCalendar(context: PlanningContext): WorkingCalendar {
  return {
    daysPerWeek: context.defaultValue('working-days-per-week'),
    closedOn: context.job.order.closedOn ?? [],
  };
}
