import type { LoopUnknown } from './loop-equations.js';
import type { SamplingOptions } from './sampling-plan.js';
import type { DistributionKind } from './types.js';

/** `kind` and the numbers that belong to it, as in `Distribution`. */
export interface DistributionInFile {
  readonly kind: DistributionKind;
  readonly sigma?: number;
  readonly cp?: number;
  readonly cpk?: number;
  readonly mode?: number;
  readonly topFraction?: number;
  readonly alpha?: number;
  readonly beta?: number;
  readonly degreesOfFreedom?: number;
  readonly values?: readonly number[];
}

/** The size comes as a text, or as a nominal with ± tolerance, plus and minus, or limits. */
export interface ContributorInFile {
  readonly id: string;
  /** As on a drawing: "25 H7", "12 ±0.05". */
  readonly size?: string;
  readonly nominal?: number;
  readonly tolerance?: number;
  readonly plus?: number;
  readonly minus?: number;
  readonly lower?: number;
  readonly upper?: number;
  readonly coefficient?: number;
  readonly distribution?: DistributionInFile;
  readonly meanShift?: number;
  readonly shiftFactor?: number;
  readonly source?: string;
}

/** Closed vector loops; texts are expressions. */
export interface LoopInFile {
  readonly loops: readonly (readonly {
    readonly length: number | string;
    /** Radians from +x; "90 * deg" for degrees. */
    readonly direction: number | string;
  }[])[];
  readonly conditions?: readonly string[];
  readonly unknowns: readonly LoopUnknown[];
  readonly result: string;
}

/** A stack as a user writes it, schema `stack/1`. Numbers are in `units` throughout. */
export interface StackFile {
  readonly $schema?: string;
  readonly schemaVersion: 'stack/1';
  readonly name?: string;
  readonly units?: 'mm' | 'in';
  /** Unit of the result where it is another than `units`, e.g. degrees of a function. */
  readonly resultUnit?: string;
  readonly requirement?: {
    readonly size?: string;
    readonly lower?: number;
    readonly upper?: number;
  };
  readonly contributors: readonly ContributorInFile[];
  readonly correlations?: readonly {
    readonly a: string;
    readonly b: string;
    readonly value: number;
  }[];
  readonly function?: string;
  readonly loop?: LoopInFile;
  readonly constant?: number;
  readonly coverage?: number;
  readonly quantiles?: readonly number[];
  readonly sampling?: Pick<
    SamplingOptions,
    'samples' | 'seed' | 'scheme' | 'confidence' | 'precision'
  >;
}

/** The function of a stack file, not yet compiled: see `compileStackFunction`. */
export type StackFormula =
  | { readonly kind: 'expression'; readonly text: string }
  | { readonly kind: 'loop'; readonly loop: LoopInFile };
