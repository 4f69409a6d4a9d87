/** Two plans side by side, schema `comparison/1`. Money in minor units, days in working days. */
export interface PlanComparison {
  readonly schema: 'comparison/1';
  readonly a: ComparedSide;
  readonly b: ComparedSide;
  /** Side b less side a; absent when a side has no route or the currencies differ. */
  readonly difference?: {
    readonly perPart: number;
    readonly perLot: number;
    readonly days: number;
  };
  /** What was asked, allowed or assumed differently. */
  readonly causes: readonly ComparisonCause[];
  /** Rows that differ between the two catalogues and belong to nothing that either route uses. */
  readonly unusedRows: number;
  readonly operations: readonly ComparedOperation[];
  /** Lot cost by kind of line; the differences add up to that of the lot. */
  readonly money: readonly {
    readonly kind: string;
    readonly a: number;
    readonly b: number;
    readonly difference: number;
  }[];
}

export interface ComparedSide {
  readonly part: string;
  readonly number: string;
  readonly revision: string;
  readonly quantity: number;
  readonly feasible: boolean;
  /** Whether there is a route at all. */
  readonly planned: boolean;
  readonly proven: boolean;
  readonly currency: string;
  readonly minorDigits: number;
  readonly perPart: number;
  readonly perLot: number;
  readonly days: number;
  readonly readyOn?: string;
  readonly lateDays: number;
}

export interface ComparisonCause {
  readonly kind: 'requirement' | 'feature' | 'job' | 'policy' | 'default' | 'table';
  /** Id of the requirement, field of the job, default, or row and column of a table. */
  readonly what: string;
  readonly feature?: string;
  /** As it reads on each side; empty when that side has none. */
  readonly a: string;
  readonly b: string;
}

export interface ComparedOperation {
  readonly change: 'in' | 'out' | 'changed' | 'same';
  readonly title: string;
  readonly workCentreA?: string;
  readonly workCentreB?: string;
  readonly seqA?: number;
  readonly seqB?: number;
  readonly perLotA: number;
  readonly perLotB: number;
  /** Per part, rounded on each side. */
  readonly perPartA: number;
  readonly perPartB: number;
  /** Working days of side b less side a. */
  readonly days: number;
  /** Why it comes in, falls away or costs otherwise. */
  readonly because: readonly string[];
}
