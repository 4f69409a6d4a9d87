import type { MaterialsRow } from '../catalog/generated/materials.js';
import type { PlanningContext } from '../job/planning-context.js';
import { hipAsRelief } from './hip-as-relief.js';
import { fitsVessel } from './load.js';
import { plateObjection } from './plate-mismatch.js';
import type { ThermalStep } from './route-types.js';

/** The build plate's metal: what the job says, else the part's own. */
export function plateOf(context: PlanningContext): MaterialsRow {
  const { plateMaterial } = context.job.geometry;
  return context.catalog.materials.find((row) => row.id === plateMaterial) ?? context.material;
}

/** Alloys whose strength is in precipitates that a hotter step undoes. */
function hardensByAge({ family, id }: MaterialsRow): boolean {
  return family === 'stainless-ph' || family === 'aluminium' || id === 'n07718' || id === 'c18150';
}

/**
 * What the metal has against an order of treatments: an age after something hotter than it without a
 * solution treatment between, a plate that melts or bonds, HIP on the plate that does not meet its
 * conditions. Undefined when nothing is known against it.
 */
export function metalObjection(
  steps: readonly ThermalStep[],
  context: PlanningContext,
): string | undefined {
  return overAged(steps, context.material) ?? plateTrouble(steps, context);
}

function overAged(steps: readonly ThermalStep[], material: MaterialsRow): string | undefined {
  if (!hardensByAge(material)) return undefined;
  for (const [index, step] of steps.entries()) {
    if (step.treatment !== 'age') continue;
    const earlier = steps.slice(0, index);
    const since = earlier.slice(
      earlier.findLastIndex((each) => each.treatment === 'solution-anneal') + 1,
    );
    const hotter = since.find(
      (each) =>
        each.schedule.temperatureC > step.schedule.temperatureC && each.treatment !== 'quench',
    );
    if (hotter !== undefined)
      return `${hotter.treatment} at ${hotter.schedule.temperatureC} °C over-ages the metal before its age at ${step.schedule.temperatureC} °C: a solution treatment has to come between`;
  }
  return undefined;
}

function plateTrouble(steps: readonly ThermalStep[], context: PlanningContext): string | undefined {
  const plate = plateOf(context);
  for (const { treatment, schedule, onPlate } of steps) {
    if (!onPlate) continue;
    if (treatment === 'hip') {
      const objection = hipOnPlate(schedule, context).objections[0];
      if (objection !== undefined) return `HIP on the plate: ${objection}`;
      continue;
    }
    const objection = plateObjection({
      part: context.material.family,
      plate: plate.family,
      plateSolidusC: plate.solidusC,
      holdC: schedule.temperatureC,
      pressed: false,
    });
    if (objection !== undefined) return `${treatment} on a plate of ${plate.name}: ${objection}`;
  }
  return undefined;
}

/** The verdict on HIP of this job's parts on their plate, in the roomiest vessel that there is. */
export function hipOnPlate(
  schedule: ThermalStep['schedule'],
  context: PlanningContext,
): ReturnType<typeof hipAsRelief> {
  const { geometry } = context.job;
  const plateSideMm = context.defaultValue('plate-side');
  const clearanceMm = context.defaultValue('hip-clearance');
  const buildHeightMm = context.defaultValue('plate-thickness') + (geometry.boxMm?.[2] ?? 0);
  const vessels = context.workCentres.flatMap((centre) => {
    const room = roomOf(centre);
    return centre.processes.includes('hip') && room !== undefined ? [room] : [];
  });
  const vesselMm =
    vessels.find((room) =>
      fitsVessel(room, [plateSideMm, plateSideMm, buildHeightMm], clearanceMm),
    ) ?? vessels[0];
  return hipAsRelief({
    schedule,
    part: context.material,
    plate: plateOf(context),
    powderTrapped: geometry.trappedPowder !== 'none' && !geometry.powderProof,
    plateSideMm,
    buildHeightMm,
    clearanceMm,
    vesselMm,
  });
}

/** Clear width, depth and height of a work centre, mm. */
export function roomOf(centre: {
  readonly capacityXMm?: number;
  readonly capacityYMm?: number;
  readonly capacityZMm?: number;
}): readonly [number, number, number] | undefined {
  const { capacityXMm, capacityYMm, capacityZMm } = centre;
  return capacityXMm === undefined || capacityYMm === undefined || capacityZMm === undefined
    ? undefined
    : [capacityXMm, capacityYMm, capacityZMm];
}
