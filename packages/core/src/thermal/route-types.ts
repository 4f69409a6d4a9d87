import type { ThermalRoutesRow } from '../catalog/generated/thermal-routes.js';
import type { TreatmentsRow } from '../catalog/generated/treatments.js';

export type Treatment = TreatmentsRow['treatment'];

export interface ThermalStep {
  readonly treatment: Treatment;
  readonly schedule: TreatmentsRow;
  readonly onPlate: boolean;
}

/** An ordered list of treatments that serves the job. */
export interface ThermalRoute {
  readonly id: string;
  readonly steps: readonly ThermalStep[];
  readonly condition: string;
  readonly reason: string;
  readonly source: string;
  readonly confidence: ThermalRoutesRow['confidence'];
  /** Stress has left the part before it is cut off. */
  readonly relieved: boolean;
}
