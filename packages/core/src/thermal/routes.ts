import type { ThermalRoutesRow } from '../catalog/generated/thermal-routes.js';
import type { PlanningContext } from '../job/planning-context.js';
import { fitsVessel } from './load.js';
import { metalObjection, roomOf } from './route-objections.js';
import type { ThermalRoute, ThermalStep } from './route-types.js';

export type { ThermalRoute, ThermalStep, Treatment } from './route-types.js';

export interface ThermalChoice {
  readonly accepted: readonly ThermalRoute[];
  readonly rejected: readonly { readonly route: string; readonly reason: string }[];
}

/**
 * The thermal routes that the job allows: by alloy, printing process, end use, the condition that the
 * drawing names, policy, trapped powder and what the furnaces can do. Routes of second preference are
 * taken only when the drawing or the policy asks for them, or when the tables know no other for the
 * end use: a part never gets less heat because the policy or the furnaces rule out the right one.
 */
export function thermalRoutes(context: PlanningContext): ThermalChoice {
  const accepted: { row: ThermalRoutesRow; route: ThermalRoute }[] = [];
  const rejected: { route: string; reason: string }[] = [];
  const fitting: ThermalRoutesRow[] = [];
  for (const row of [...context.catalog.thermalRoutes].sort((a, b) => (a.id < b.id ? -1 : 1))) {
    if (!suitsMaterial(row, context)) continue;
    const route = buildRoute(row, context);
    if (route === undefined) {
      rejected.push({ route: row.id, reason: 'no schedule for one of its treatments' });
      continue;
    }
    const unasked = misfit(row, route, context);
    if (unasked === undefined) fitting.push(row);
    const reason = unasked ?? hindrance(row, route, context);
    if (reason === undefined) accepted.push({ row, route });
    else rejected.push({ route: row.id, reason });
  }
  const asked = context.job.part.condition !== undefined;
  // Several routes may end in the condition asked for: those meant for the end use come first.
  const meant = fitting.filter((row) => row.endUses.includes(context.job.part.endUse));
  const required = fitting.filter((row) => context.job.policy.required.includes(row.id));
  const pool = required.length > 0 ? required : meant.length > 0 ? meant : fitting;
  const best = asked || required.length > 0 ? 2 : Math.min(...pool.map((row) => row.preference));
  const taken = accepted.filter(({ row }) => pool.includes(row) && row.preference <= best);
  for (const { row } of accepted)
    if (!taken.some((entry) => entry.row.id === row.id))
      rejected.push({
        route: row.id,
        reason: row.endUses.includes(context.job.part.endUse)
          ? `taken only when the drawing names condition ${row.servesCondition} or the policy requires it`
          : `not meant for ${context.job.part.endUse} service`,
      });
  return { accepted: taken.map(({ route }) => route), rejected };
}

function suitsMaterial(row: ThermalRoutesRow, context: PlanningContext): boolean {
  const { id, family } = context.material;
  return (
    row.printers.includes(context.job.part.printer) &&
    (row.appliesTo.includes('any') || row.appliesTo.includes(id) || row.appliesTo.includes(family))
  );
}

function buildRoute(row: ThermalRoutesRow, context: PlanningContext): ThermalRoute | undefined {
  const leading = context.job.policy.cutOffBeforeRelief ? 0 : row.onPlateSteps;
  const steps: ThermalStep[] = [];
  for (const [index, text] of (row.steps ?? []).entries()) {
    const [treatment, condition] = text.split(':');
    const schedules = context.catalog.treatments.filter(
      (entry) => entry.material === context.material.id && entry.treatment === treatment,
    );
    const schedule =
      condition === undefined
        ? (schedules.find((entry) => entry.planningDefault) ?? schedules[0])
        : schedules.find(
            (entry) => entry.condition === condition || entry.condition.startsWith(`${condition} `),
          );
    if (schedule === undefined) return undefined;
    steps.push({ treatment: schedule.treatment, schedule, onPlate: index < leading });
  }
  return {
    id: row.id,
    steps,
    condition: row.servesCondition,
    reason: row.reason,
    source: row.source,
    confidence: row.confidence,
    relieved: context.job.part.printer === 'pbf-eb' || leading > 0,
  };
}

/** Why the route is not what the job asks for. */
function misfit(
  row: ThermalRoutesRow,
  route: ThermalRoute,
  context: PlanningContext,
): string | undefined {
  const { part, policy } = context.job;
  if (part.condition !== undefined) {
    if (!sameCondition(part.condition, row.servesCondition))
      return `ends in ${row.servesCondition}, the drawing asks for ${part.condition}`;
  } else if (!row.endUses.includes(part.endUse)) {
    return `not meant for ${part.endUse} service`;
  }
  const missing = policy.required.find(
    (id) => isTreatment(id) && !route.steps.some((step) => step.treatment === id),
  );
  if (missing !== undefined) return `lacks ${missing}, which the policy requires`;
  const stuck = route.steps.find((step) => step.onPlate && step.schedule.onPlate === 'no');
  if (stuck !== undefined)
    return `${stuck.treatment} cannot be done on the plate (cooling: ${stuck.schedule.cooling ?? 'as the schedule says'})`;
  return undefined;
}

/** What stands in the way of a route that the job asks for. */
function hindrance(
  row: ThermalRoutesRow,
  route: ThermalRoute,
  context: PlanningContext,
): string | undefined {
  const { geometry, policy } = context.job;
  const forbidden = [
    row.id,
    ...route.steps.flatMap((step) => [step.treatment, step.schedule.id]),
  ].find((id) => policy.forbidden.includes(id));
  if (forbidden !== undefined) return `${forbidden} is forbidden by the policy`;
  if (geometry.trappedPowder === 'closed-cavity' && !geometry.powderProof && route.steps.length > 0)
    return route.steps.some((step) => step.treatment === 'hip')
      ? 'powder trapped in a closed cavity would become solid in HIP'
      : 'powder trapped in a closed cavity would sinter in the furnace';
  const metal = metalObjection(route.steps, context);
  if (metal !== undefined) return metal;
  const homeless = route.steps.find((step) => furnacesFor(step, context).length === 0);
  if (homeless !== undefined)
    return `no work centre runs ${homeless.treatment} at ${homeless.schedule.temperatureC} °C for this part`;
  return undefined;
}

function isTreatment(id: string): boolean {
  return [
    'stress-relief',
    'hip',
    'homogenise',
    'solution-anneal',
    'quench',
    'anneal',
    'age',
  ].includes(id);
}

/** `h 1025`, `H1025` and `h-1025` are the same call-out. */
export function sameCondition(asked: string, served: string): boolean {
  const plain = (text: string): string => text.toLowerCase().replace(/[^a-z0-9+]/g, '');
  return plain(asked) === plain(served);
}

/** Work centres that can run a treatment: by temperature and atmosphere. */
export function furnacesFor(
  step: ThermalStep,
  context: PlanningContext,
): PlanningContext['workCentres'] {
  const atmosphere = (step.schedule.atmosphere ?? 'air').toLowerCase();
  return context.workCentres.filter(
    (centre) =>
      centre.processes.includes(step.treatment) &&
      (centre.maxC === undefined || centre.maxC >= step.schedule.temperatureC) &&
      (step.treatment !== 'hip' || holdsPart(centre, context)) &&
      (centre.atmospheres === undefined ||
        centre.atmospheres.some((gas) => allows(atmosphere, gas))),
  );
}

/** A HIP vessel needs clear space round the part. */
function holdsPart(
  centre: PlanningContext['workCentres'][number],
  context: PlanningContext,
): boolean {
  const room = roomOf(centre);
  const box = context.job.geometry.boxMm;
  return (
    room === undefined ||
    box === undefined ||
    fitsVessel(room, box, context.defaultValue('hip-clearance'))
  );
}

/** "inert" and "argon or vacuum" allow argon and vacuum; air must be named. */
function allows(atmosphere: string, gas: string): boolean {
  if (gas === 'air') return /\bair\b/.test(atmosphere);
  return atmosphere.includes(gas) || atmosphere.includes('inert') || /\bair\b/.test(atmosphere);
}
