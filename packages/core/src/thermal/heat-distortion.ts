import type { PlanningContext } from '../job/planning-context.js';
import type { ThermalStep, Treatment } from './route-types.js';

/** Default that says how far a treatment bends a part that is off the plate. */
const defaultOf: Readonly<Record<Treatment, string>> = {
  'stress-relief': 'distortion-relief',
  anneal: 'distortion-relief',
  homogenise: 'distortion-relief',
  hip: 'distortion-hip',
  'solution-anneal': 'distortion-solution',
  quench: 'distortion-solution',
  age: 'distortion-age',
};

/**
 * How far heat bends faces of a part that is off its plate, mm per 100 mm of length: the distortions
 * of the treatments, in quadrature because their directions are not known. On the plate it is the
 * plate that holds the shape. Common practice, no source; read from the planning defaults.
 */
export function heatDistortionPer100Mm(
  steps: readonly ThermalStep[],
  context: PlanningContext,
): number {
  return Math.hypot(
    ...steps
      .filter((step) => !step.onPlate)
      .map(({ treatment }) => context.defaultValue(defaultOf[treatment])),
  );
}
