import type { MaterialsRow } from '../catalog/generated/materials.js';
import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import { addCosts, minutesPerDay, visitCost } from '../cost/charges.js';
import type { PartGeometry } from '../job/part-geometry.js';
import type { PlanningContext } from '../job/planning-context.js';
import { planCycle } from '../thermal/cycle.js';
import type { CycleLoad } from '../thermal/cycle-types.js';
import { type LoadCapacity, looseCapacity, plateCapacity } from '../thermal/load.js';
import { plateOf, roomOf } from '../thermal/route-objections.js';
import { furnacesFor, type ThermalStep } from '../thermal/routes.js';
import { furnaceCost, type LoadShare, loadShare } from './furnace-cost.js';
import { cheapest, type PartWork, stageOrder } from './part-works.js';

/** One treatment at the furnace that suits the objective best, with its loads and its cost. */
export function thermalWork(
  step: ThermalStep,
  part: PartGeometry,
  context: PlanningContext,
  reasons: readonly string[],
): PartWork | undefined {
  const plates = Math.ceil(context.quantity / part.partsPerPlate);
  const plate = plateOf(context);
  const works = furnacesFor(step, context).map((centre): PartWork => {
    const capacity = capacityOf(centre, step, part, plate, context);
    const pieces = step.onPlate ? plates : context.quantity;
    const share = loadShare(pieces, capacity, context.job.policy.furnaceAlone === true);
    const { loads } = share;
    const cycle = planCycle(
      step,
      centre,
      loadOf(step, part, plate, share, capacity, context),
      context,
    );
    const visit = visitCost(centre, context, { programmed: false, probed: false, pieces, loads });
    const heat = furnaceCost(
      centre,
      cycle,
      share,
      capacity,
      context,
      `${titleOf(step)}, ${share.shared ? `${shortShare(share.paid)} of a full load` : `${loads} load${loads === 1 ? '' : 's'}`}`,
      step.schedule.source,
    );
    const elapsedDays =
      centre.sourcing === 'in-house' ? Math.ceil(cycle.totalMinutes / 1440) * loads : 0;
    return {
      process: step.treatment,
      title: titleOf(step),
      kind: 'thermal',
      stage: step.onPlate
        ? stageOrder.onPlate
        : step.treatment === 'age'
          ? stageOrder.age
          : stageOrder.heat,
      centre,
      cost: {
        ...addCosts(visit, heat),
        leadMinutes: visit.leadMinutes + elapsedDays * minutesPerDay(context),
      },
      reasons,
      thermal: { step, cycle, share, capacity },
    };
  });
  return cheapest(works, context);
}

const treatmentTitles: Readonly<Record<string, string>> = {
  'stress-relief': 'Stress relief',
  hip: 'Hot isostatic pressing',
  homogenise: 'Homogenise',
  'solution-anneal': 'Solution anneal',
  quench: 'Quench',
  anneal: 'Anneal',
  age: 'Age',
};

export function titleOf(step: ThermalStep): string {
  const title = treatmentTitles[step.treatment] ?? step.treatment;
  return step.onPlate ? `${title} on the plate` : title;
}

function capacityOf(
  centre: WorkCentresRow,
  step: ThermalStep,
  part: PartGeometry,
  plate: MaterialsRow,
  context: PlanningContext,
): LoadCapacity | undefined {
  const limits = { roomMm: roomOf(centre), limitKg: centre.capacityKg };
  if (step.onPlate)
    return plateCapacity(
      limits,
      context.defaultValue('plate-side'),
      part.massKg === undefined
        ? undefined
        : plateKg(plate, context) + part.massKg * part.partsPerPlate,
    );
  return looseCapacity(
    limits,
    part.boxMm,
    part.massKg,
    step.treatment === 'hip' ? context.defaultValue('hip-clearance') : 0,
    context.defaultValue('furnace-fill'),
  );
}

/**
 * The masses that are heated together: a full load when others fill it up, taken to be alike, else
 * what the lot puts into it.
 */
function loadOf(
  step: ThermalStep,
  part: PartGeometry,
  plate: MaterialsRow,
  share: LoadShare,
  capacity: LoadCapacity | undefined,
  context: PlanningContext,
): CycleLoad {
  const full = share.shared ? capacity?.count : undefined;
  const pieces = full ?? Math.ceil(share.pieces / share.loads);
  const onPlates = pieces * part.partsPerPlate;
  const parts = step.onPlate
    ? full === undefined
      ? Math.min(context.quantity, onPlates)
      : onPlates
    : pieces;
  return {
    partsKg: part.massKg === undefined ? undefined : part.massKg * parts,
    platesKg: step.onPlate ? pieces * plateKg(plate, context) : 0,
    plate,
  };
}

/** Two digits that count. */
function shortShare(share: number): string {
  return String(Number(share.toPrecision(2)));
}

function plateKg(plate: MaterialsRow, context: PlanningContext): number {
  const side = context.defaultValue('plate-side');
  return (side * side * context.defaultValue('plate-thickness') * plate.densityKgM3) / 1e9;
}
