import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Confidence } from '../problems/finding.js';

/** One number that a money line was reckoned from. */
export interface CostInput {
  readonly name: string;
  readonly value: number;
  /** `min`, `EUR/h`, `parts`, `mm2` ...; `1` for a plain factor, `%` for hundredths. */
  readonly unit: string;
  readonly source: string;
  readonly confidence: Confidence;
  /** How the number itself came about, when it is not read off a table or the job. */
  readonly from?: CostReckoning;
}

/** A formula in words over the names of its inputs. Values stand in the units that the inputs name. */
export interface CostReckoning {
  readonly formula: string;
  readonly inputs: readonly CostInput[];
}

/** A number that the job gives. */
export function givenInput(name: string, value: number, unit: string): CostInput {
  return { name, value, unit, source: 'the job', confidence: 'given' };
}

/** A number of a work centre's row. */
export function centreInput(
  centre: WorkCentresRow,
  name: string,
  value: number,
  unit: string,
): CostInput {
  const { source, confidence } = centre;
  return { name, value, unit, source: `work centre ${centre.id}: ${source}`, confidence };
}

export function rateInput(centre: WorkCentresRow, context: PlanningContext): CostInput {
  return centreInput(centre, 'hourly rate', centre.ratePerH, `${context.job.order.currency}/h`);
}

/** A number that is reckoned from others. */
export function reckonedInput(
  name: string,
  value: number,
  unit: string,
  from: CostReckoning,
): CostInput {
  return { name, value, unit, source: 'reckoned', confidence: 'computed', from };
}

/** A planning default by its id; reading it records it as an assumption. */
export function defaultInput(id: string, name: string, context: PlanningContext): CostInput {
  const value = context.defaultValue(id);
  const row = context.catalog.planningDefaults.find((entry) => entry.id === id);
  return {
    name,
    value,
    unit: row?.unit ?? '1',
    source: `planning default ${id}: ${row?.source ?? ''}`,
    confidence: row?.confidence ?? 'practice',
  };
}

/** The rule of every money line: its inputs multiplied, rounded once to the minor unit. */
export function productOf(inputs: readonly CostInput[]): string {
  return inputs.map(({ name }) => name).join(' x ');
}
