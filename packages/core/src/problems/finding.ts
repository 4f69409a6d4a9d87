/** How far a value may be trusted, as the data tables tag it. */
export type Confidence = 'read' | 'memory' | 'practice' | 'computed' | 'invented' | 'given';

/**
 * Not an error but worth saying: an assumption, a value outside a table, a tolerance tighter than
 * the method can measure. The identifier is stable so that a user can look for it.
 */
export interface Finding {
  readonly id: string;
  readonly severity: 'note' | 'warning' | 'caution';
  readonly message: string;
  /** Feature, treatment, process or field that it is about. */
  readonly about?: string;
  readonly source?: string;
}

/** A value that the plan used although the job did not give it. */
export interface Assumption {
  readonly what: string;
  readonly value: string;
  readonly source: string;
  readonly confidence: Confidence;
}
