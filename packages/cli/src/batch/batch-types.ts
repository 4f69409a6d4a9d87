import type { Plan, Problem } from '@offplate/core';

/** A job of a batch, as it goes to a worker. */
export type BatchJob = LineJob | PathJob;

interface NumberedJob {
  /** Line of the input, or place in the list of the folder, from 1. */
  readonly number: number;
  /** Share of the input up to this job, when the whole is known. */
  readonly share?: number;
}

export interface LineJob extends NumberedJob {
  readonly kind: 'line';
  readonly file: string;
  /** Absent when the line is too long. */
  readonly bytes?: Uint8Array;
}

export interface PathJob extends NumberedJob {
  readonly kind: 'path';
  readonly path: string;
}

export type BatchOutcome = 'planned' | 'not-feasible' | 'invalid' | 'failed';

/** A line of the result; the same job gives the same plan, however often and wherever it is planned. */
export interface BatchLine {
  readonly schema: 'batch-line/1';
  /** Line of the input, or place in the list of the folder, from 1. */
  readonly number: number;
  /** SHA-256 of what decides the plan: program, shop tables, job with its features table and mesh. */
  readonly job: string;
  /** What was read, within the folder. */
  readonly source?: string;
  readonly outcome: BatchOutcome;
  readonly plan?: Plan;
  /** Why there is no plan: all that is wrong in the job. */
  readonly problems?: readonly Problem[];
  /** Why there is no plan: a fault of the program, or the time was up. */
  readonly failure?: string;
}

/** What every worker is started with. */
export interface WorkerStart {
  readonly shop?: string;
}

/** What comes back from a worker: the line but for what the sender knows. */
export type PlannedJob = Pick<BatchLine, 'outcome' | 'plan' | 'problems' | 'failure'>;
