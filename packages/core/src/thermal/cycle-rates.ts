import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Cycle } from './cycle-types.js';
import {
  type HeatedMass,
  heatDiffusivity,
  powerRampCPerMin,
  sectionRampCPerMin,
} from './heating.js';
import type { ThermalStep } from './route-types.js';
import type { Cooling } from './schedule-text.js';

/** The slowest of the limits on the heating rate, and which one it is. */
export function rampOf(
  step: ThermalStep,
  centre: WorkCentresRow,
  section: number,
  masses: readonly HeatedMass[] | undefined,
  context: PlanningContext,
): Pick<Cycle, 'rampCPerMin' | 'rampLimit'> {
  const { material } = context;
  const limits: { rampCPerMin: number; rampLimit: Cycle['rampLimit'] }[] = [
    {
      rampCPerMin: context.defaultValue(step.treatment === 'hip' ? 'hip-ramp' : 'ramp'),
      rampLimit: 'usual rate',
    },
  ];
  const thickPlate = step.onPlate && context.defaultValue('plate-thickness') > 40;
  if (thickPlate || (material.family === 'tool-steel' && step.treatment !== 'hip'))
    limits.push({
      rampCPerMin: context.defaultValue('ramp-careful'),
      rampLimit: 'thick plate or tool steel',
    });
  if (section > 0)
    limits.push({
      rampCPerMin: sectionRampCPerMin(
        context.defaultValue('section-temperature-difference'),
        section,
        heatDiffusivity(material.conductivityWMK, material.densityKgM3, material.heatCapacityJKgK),
      ),
      rampLimit: 'section',
    });
  if (masses !== undefined && centre.heatingKw !== undefined)
    limits.push({
      rampCPerMin: powerRampCPerMin(
        centre.heatingKw,
        context.defaultValue('furnace-efficiency'),
        masses,
      ),
      rampLimit: 'furnace power',
    });
  const least = limits.reduce((a, b) => (b.rampCPerMin < a.rampCPerMin ? b : a));
  return { ...least, rampCPerMin: Math.max(0.1, Math.floor(least.rampCPerMin * 10 + 1e-9) / 10) };
}

const coolingDefault: Readonly<Record<Cooling['manner'], string>> = {
  furnace: 'cool-furnace',
  gas: 'cool',
  air: 'cool-air',
  fan: 'cool-fan',
  quench: 'cool-quench',
};

/** Cooling rate for timing: the schedule's own figure, else the usual one of its manner. */
export function coolingRate(step: ThermalStep, cooling: Cooling, context: PlanningContext): number {
  if (cooling.rateCPerMin !== undefined) return cooling.rateCPerMin;
  return context.defaultValue(
    step.treatment === 'hip' ? 'hip-ramp' : coolingDefault[cooling.manner],
  );
}

/** Temperature down to which air is kept away. */
export function inertBelow(
  step: ThermalStep,
  cooling: Cooling,
  context: PlanningContext,
): number | undefined {
  if (cooling.inertBelowC !== undefined) return cooling.inertBelowC;
  return context.material.family === 'titanium' && step.treatment !== 'quench'
    ? context.defaultValue('air-below-titanium')
    : undefined;
}
