import type { MaterialsRow } from '../catalog/generated/materials.js';
import type { TreatmentsRow } from '../catalog/generated/treatments.js';
import { fitsVessel } from './load.js';
import { plateObjection } from './plate-mismatch.js';

/** Whether one HIP on the plate may stand for stress relief and HIP. */
export interface HipAsRelief {
  readonly allowed: boolean;
  /** What speaks against it; empty when allowed. */
  readonly objections: readonly string[];
  /** What has to be seen to when it is done. */
  readonly conditions: readonly string[];
}

/**
 * Verdict on HIP with the parts still on the plate in place of a stress relief. ASTM F3301-18a
 * (introduction, read) lets it serve as stress relief; it needs an empty part, a plate that fits the
 * vessel with the parts and stands the cycle, and metals that do not bond.
 *
 * @param input.plateSideMm side of the square plate, mm
 * @param input.buildHeightMm plate and part, mm
 * @param input.vesselMm clear width, depth and height of the vessel, mm; absent when not known
 * @example
 * hipAsRelief({ schedule: treatmentById(defaultCatalog(), 'r56400-hip-1'), part: materialById(defaultCatalog(), 'r56400'), plate: materialById(defaultCatalog(), 's31603'), powderTrapped: false, plateSideMm: 250, buildHeightMm: 90, clearanceMm: 25, vesselMm: [450, 450, 1200] }).objections // -> ["titanium and steel bond under pressure at 920 °C and melt together from about 1085 °C"]
 */
export function hipAsRelief(input: {
  readonly schedule: TreatmentsRow;
  readonly part: MaterialsRow;
  readonly plate: MaterialsRow;
  readonly powderTrapped: boolean;
  readonly plateSideMm: number;
  readonly buildHeightMm: number;
  readonly clearanceMm: number;
  readonly vesselMm: readonly [number, number, number] | undefined;
}): HipAsRelief {
  const { schedule, part, plate, plateSideMm, buildHeightMm, clearanceMm, vesselMm } = input;
  const objections: string[] = [];
  if (input.powderTrapped)
    objections.push('powder that is still in the part becomes solid under pressure');
  if (schedule.onPlate === 'no') objections.push('the schedule is not for parts on the plate');
  if (
    vesselMm !== undefined &&
    !fitsVessel(vesselMm, [plateSideMm, plateSideMm, buildHeightMm], clearanceMm)
  )
    objections.push(
      `plate and parts with ${clearanceMm} mm clear all round do not fit the vessel of ${vesselMm.join(' x ')} mm`,
    );
  const metals = plateObjection({
    part: part.family,
    plate: plate.family,
    plateSolidusC: plate.solidusC,
    holdC: schedule.temperatureC,
    pressed: true,
  });
  if (metals !== undefined) objections.push(metals);
  return {
    allowed: objections.length === 0,
    objections,
    conditions: [
      'prove the part empty before the vessel',
      'thin overhangs keep their supports',
      'the plate takes vessel volume that is paid for',
    ],
  };
}
