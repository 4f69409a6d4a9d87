import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { CycleLoad } from './cycle-types.js';
import { type HeatCurve, minutesAbove } from './heat-curve.js';
import { type HeatedMass, heatingEnergyKwh } from './heating.js';
import type { ThermalStep } from './route-types.js';

const startC = 20;

/** Parts, plates and fixtures; undefined when the mass of the parts is not known. */
export function heatedMasses(
  load: CycleLoad,
  context: PlanningContext,
): readonly HeatedMass[] | undefined {
  if (load.partsKg === undefined) return undefined;
  const { heatCapacityJKgK: heatCapacityJPerKgK } = context.material;
  return [
    { kg: load.partsKg, heatCapacityJPerKgK },
    { kg: load.platesKg, heatCapacityJPerKgK: load.plate.heatCapacityJKgK },
    {
      kg: (load.partsKg + load.platesKg) * context.defaultValue('fixture-share'),
      heatCapacityJPerKgK,
    },
  ];
}

/** Electricity of one load, kWh: the heat in it and the power of its holds. */
export function energyOf(
  step: ThermalStep,
  centre: WorkCentresRow,
  masses: readonly HeatedMass[] | undefined,
  curve: HeatCurve,
  context: PlanningContext,
): number | undefined {
  if (masses === undefined || centre.heatingKw === undefined) return undefined;
  const held = curve.holds.reduce((sum, hold) => sum + hold.minutes, 0) / 60;
  const heated = heatingEnergyKwh(
    context.defaultValue('furnace-efficiency'),
    masses,
    step.schedule.temperatureC - startC,
  );
  return heated + centre.heatingKw * context.defaultValue('holding-power-share') * held;
}

/** Argon of one load, m3: purging the chamber and the flow while hot. */
export function argonOf(
  step: ThermalStep,
  centre: WorkCentresRow,
  curve: HeatCurve,
  untilC: number,
  context: PlanningContext,
): number | undefined {
  const { capacityXMm, capacityYMm, capacityZMm, atmospheres } = centre;
  const asked = (step.schedule.atmosphere ?? '').toLowerCase();
  if (!/argon|inert/.test(asked) || atmospheres?.includes('argon') !== true) return undefined;
  if (capacityXMm === undefined || capacityYMm === undefined || capacityZMm === undefined)
    return undefined;
  const chamberM3 = (capacityXMm * capacityYMm * capacityZMm) / 1e9;
  const hours = minutesAbove(curve.points, untilC) / 60;
  return (
    chamberM3 * context.defaultValue('argon-purges') + hours * context.defaultValue('argon-flow')
  );
}
