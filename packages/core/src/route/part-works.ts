import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import { addCosts, objectiveOf, runCost, visitCost, type WorkCost } from '../cost/charges.js';
import { defaultInput } from '../cost/inputs.js';
import { stepTiming } from '../cost/step-timing.js';
import type { PartGeometry } from '../job/part-geometry.js';
import type { PlanningContext, Process } from '../job/planning-context.js';
import type { Cycle } from '../thermal/cycle-types.js';
import type { LoadCapacity } from '../thermal/load.js';
import type { ThermalStep } from '../thermal/routes.js';
import type { PlannedFinish } from './finishes.js';
import type { LoadShare } from './furnace-cost.js';

/** Places in the route, in working order. */
export const stageOrder = {
  powder: 0,
  onPlate: 10,
  cutOff: 20,
  supports: 30,
  heat: 40,
  insideTest: 42,
  finishBeforeSoft: 45,
  soft: 50,
  age: 60,
  finishBefore: 65,
  datum: 68,
  hard: 70,
  faceTest: 74,
  pressureTest: 76,
  finishAfter: 80,
  finishLast: 90,
  leakTest: 95,
  inspection: 99,
} as const;

/** A treatment with the loads that it takes in one furnace. */
export interface ThermalLoads {
  readonly step: ThermalStep;
  readonly cycle: Cycle;
  readonly share: LoadShare;
  /** Parts or plates in a full load; undefined when nothing limits it. */
  readonly capacity: LoadCapacity | undefined;
}

/** An operation on the whole part or lot, as against the steps on single features. */
export interface PartWork {
  readonly process: string;
  readonly title: string;
  readonly kind:
    | 'powder-removal'
    | 'thermal'
    | 'cut-off'
    | 'support-removal'
    | 'finishing'
    | 'coating'
    | 'testing';
  readonly stage: number;
  readonly centre: WorkCentresRow;
  readonly cost: WorkCost;
  readonly reasons: readonly string[];
  readonly thermal?: ThermalLoads;
  readonly finish?: PlannedFinish;
}

/** Takes the cheapest by the objective; equal ones by work centre id. */
export function cheapest<T extends { readonly cost: WorkCost; readonly centre: WorkCentresRow }>(
  options: readonly T[],
  context: PlanningContext,
): T | undefined {
  return [...options].sort(
    (a, b) =>
      objectiveOf(a.cost, context) - objectiveOf(b.cost, context) ||
      (a.centre.id < b.centre.id ? -1 : 1),
  )[0];
}

function centresOf(process: string, context: PlanningContext): readonly WorkCentresRow[] {
  return context.workCentres.filter((centre) => centre.processes.includes(process));
}

export function powderRemoval(part: PartGeometry, context: PlanningContext): PartWork | undefined {
  const process = context.processes.get('powder-removal');
  if (process === undefined) return undefined;
  const { trappedPowder, powderProof } = context.job.geometry;
  const factorId =
    trappedPowder === 'none'
      ? undefined
      : trappedPowder === 'open-channels'
        ? 'powder-channel-factor'
        : 'powder-closed-factor';
  const factor =
    factorId === undefined ? undefined : defaultInput(factorId, 'time factor', context);
  const timing = stepTiming(
    process,
    context,
    { areaMm2: 0, stockMm: 0, solidVolumeMm3: 0, count: 1 },
    factor?.value ?? 1,
    factor,
  );
  const plates = Math.ceil(context.quantity / part.partsPerPlate);
  const works = centresOf(process.id, context).map(
    (centre): PartWork => ({
      process: process.id,
      title: process.row.name,
      kind: 'powder-removal',
      stage: stageOrder.powder,
      centre,
      cost: addCosts(
        visitCost(centre, context, { programmed: false, probed: false, pieces: plates }),
        runCost(centre, context, timing.minutes, process.row.name, timing),
      ),
      reasons: [
        'powder comes out before any heat, or it sinters in place',
        ...(trappedPowder === 'none' || powderProof
          ? []
          : ['channels must be proven empty before the furnace']),
      ],
    }),
  );
  return cheapest(works, context);
}

/** Cut-off by one process at its best work centre. */
export function cutOffWork(
  process: Process,
  part: PartGeometry,
  context: PlanningContext,
): PartWork | undefined {
  const timing = stepTiming(
    process,
    context,
    { areaMm2: part.cutAreaMm2, stockMm: 0, solidVolumeMm3: 0, count: 1 },
    1,
  );
  const plates = Math.ceil(context.quantity / part.partsPerPlate);
  const works = centresOf(process.id, context).map(
    (centre): PartWork => ({
      process: process.id,
      title: process.row.name,
      kind: 'cut-off',
      stage: stageOrder.cutOff,
      centre,
      cost: addCosts(
        visitCost(centre, context, { programmed: false, probed: false, pieces: plates }),
        runCost(centre, context, timing.minutes, process.row.name, timing),
      ),
      reasons: ['frees the part from the plate'],
    }),
  );
  return cheapest(works, context);
}

export function supportWorks(
  context: PlanningContext,
  only?: string,
): readonly PartWork[] | { readonly missing: string } {
  const { supports } = context.job.geometry;
  const wanted = [
    {
      area: supports.latticeAreaMm2,
      process: 'support-removal-hand',
      why: 'lattice supports come off by hand',
    },
    {
      area: supports.solidAreaMm2,
      process: 'support-removal-machining',
      why: 'solid supports need machining',
    },
  ].filter((entry) => entry.area > 0 && (only === undefined || entry.process === only));
  const works: PartWork[] = [];
  for (const { area, process: id, why } of wanted) {
    const process = context.processes.get(id);
    if (process === undefined) return { missing: id };
    const height = context.defaultValue('support-height');
    const timing = stepTiming(
      process,
      context,
      { areaMm2: area, stockMm: height, solidVolumeMm3: 0, count: 1 },
      1,
    );
    const machined = id === 'support-removal-machining';
    const best = cheapest(
      centresOf(id, context).map(
        (centre): PartWork => ({
          process: id,
          title: process.row.name,
          kind: 'support-removal',
          stage: stageOrder.supports,
          centre,
          cost: addCosts(
            visitCost(centre, context, { programmed: machined, probed: machined }),
            runCost(centre, context, timing.minutes, process.row.name, timing),
          ),
          reasons: [why],
        }),
      ),
      context,
    );
    if (best === undefined) return { missing: id };
    works.push(best);
  }
  return works;
}

export function finishWork(
  finish: PlannedFinish,
  part: PartGeometry,
  context: PlanningContext,
): PartWork | undefined {
  const { process } = finish;
  const timing = stepTiming(
    process,
    context,
    {
      areaMm2: part.surfaceAreaMm2,
      stockMm: (process.row.effectTypicalUm ?? 0) / 1000,
      solidVolumeMm3: 0,
      count: 1,
    },
    1,
  );
  const stage = {
    'before-machining': stageOrder.finishBefore,
    'after-machining': stageOrder.finishAfter,
    last: stageOrder.finishLast,
  }[finish.placement];
  const required = context.job.policy.required.includes(process.id);
  return cheapest(
    centresOf(process.id, context).map(
      (centre): PartWork => ({
        process: process.id,
        title: process.row.name,
        kind: process.row.family === 'coating' ? 'coating' : 'finishing',
        stage,
        centre,
        cost: addCosts(
          visitCost(centre, context, { programmed: false, probed: false }),
          runCost(centre, context, timing.minutes, process.row.name, timing),
        ),
        reasons: required ? ['the job requires it'] : [],
        finish,
      }),
    ),
    context,
  );
}
