import type { MaterialsRow } from '../catalog/generated/materials.js';
import type { Hold } from './heat-curve.js';

/** What is heated together. */
export interface CycleLoad {
  /** Mass of the parts in a full load, kg; undefined when the part's volume is not known. */
  readonly partsKg: number | undefined;
  /** Mass of the build plates in it, kg. */
  readonly platesKg: number;
  readonly plate: MaterialsRow;
}

/** Times and temperatures of one treatment as it is planned for one furnace. */
export interface Cycle {
  readonly soakMinutes: number;
  readonly rampCPerMin: number;
  readonly rampLimit: 'usual rate' | 'thick plate or tool steel' | 'section' | 'furnace power';
  readonly coolCPerMin: number;
  readonly releaseC: number;
  /** Temperature down to which inert gas or vacuum is kept, C. */
  readonly inertBelowC?: number;
  readonly holds: readonly Hold[];
  readonly totalMinutes: number;
  readonly uniformityClass: string;
  /** Electricity of one load; undefined when mass or heating power is not known. */
  readonly energyKwh?: number;
  /** Argon of one load, when the furnace works under argon. */
  readonly argonM3?: number;
  /** Minutes from the start against temperature, C. */
  readonly curve: readonly (readonly [number, number])[];
}
