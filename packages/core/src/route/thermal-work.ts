import type { MaterialsRow } from '../catalog/generated/materials.js';
import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import { addCosts, minutesPerDay, runCost, visitCost } from '../cost/charges.js';
import type { PartGeometry } from '../job/part-geometry.js';
import type { PlanningContext } from '../job/planning-context.js';
import { planCycle } from '../thermal/cycle.js';
import type { CycleLoad } from '../thermal/cycle-types.js';
import { type LoadCapacity, looseCapacity, plateCapacity } from '../thermal/load.js';
import { plateOf, roomOf } from '../thermal/route-objections.js';
import { furnacesFor, type ThermalStep } from '../thermal/routes.js';
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
    const loads = Math.ceil(pieces / (capacity?.count ?? pieces));
    const cycle = planCycle(
      step,
      centre,
      fullLoad(step, part, plate, pieces, loads, context),
      context,
    );
    const visit = visitCost(centre, context, { programmed: false, probed: false, pieces, loads });
    const heat = runCost(
      centre,
      context,
      cycle.totalMinutes * loads,
      `${titleOf(step)}, ${loads} load${loads === 1 ? '' : 's'}`,
      {
        kind: 'furnace',
        from: {
          formula: 'loads x time of a cycle',
          inputs: [
            { name: 'loads', value: loads, unit: '1', source: 'the plan', confidence: 'computed' },
            {
              name: 'time of a cycle',
              value: cycle.totalMinutes,
              unit: 'min',
              source: `heat treatment of the plan: ${step.schedule.source}`,
              confidence: 'computed',
            },
          ],
        },
      },
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
      thermal: { step, cycle, loads, capacity },
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

function fullLoad(
  step: ThermalStep,
  part: PartGeometry,
  plate: MaterialsRow,
  pieces: number,
  loads: number,
  context: PlanningContext,
): CycleLoad {
  const inLoad = Math.ceil(pieces / loads);
  const parts = step.onPlate ? Math.min(context.quantity, inLoad * part.partsPerPlate) : inLoad;
  return {
    partsKg: part.massKg === undefined ? undefined : part.massKg * parts,
    platesKg: step.onPlate ? inLoad * plateKg(plate, context) : 0,
    plate,
  };
}

function plateKg(plate: MaterialsRow, context: PlanningContext): number {
  const side = context.defaultValue('plate-side');
  return (side * side * context.defaultValue('plate-thickness') * plate.densityKgM3) / 1e9;
}
