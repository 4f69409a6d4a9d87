import type { Job } from '../job/types.js';
import type { ThermalRoute, Treatment } from './route-types.js';

const purposes: Readonly<Record<Treatment, string>> = {
  'stress-relief': 'takes out the stress of printing',
  hip: 'closes pores under gas pressure',
  homogenise: 'evens out what segregated in printing',
  'solution-anneal': 'dissolves what printing and earlier heat left behind',
  quench: 'keeps dissolved what the heat before it dissolved',
  anneal: 'relieves stress and gives ductility',
  age: 'hardens to the condition',
};

/**
 * Why each treatment of a route is there: what it does, and at the last one what the route as a whole
 * is for and who asks for it, the condition on the drawing or the end use.
 */
export function stepReasons(
  route: ThermalRoute,
  part: Pick<Job['part'], 'condition' | 'endUse'>,
): readonly (readonly string[])[] {
  const asked =
    part.condition === undefined
      ? `for ${part.endUse} service`
      : `the drawing asks for condition ${part.condition}`;
  return route.steps.map(({ treatment, onPlate }, index) => {
    const last = index === route.steps.length - 1;
    const purpose = `${purposes[treatment]}${onPlate ? ' before the part leaves the plate' : ''}`;
    return [...(route.steps.length > 1 ? [purpose] : []), ...(last ? [route.reason, asked] : [])];
  });
}
