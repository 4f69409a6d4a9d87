import type { StatedLimit } from './types.js';

/** A length in the file's units, or a text with its own unit. */
export type WrittenLength = number | string;

/** Cost of holding ± T: fixed + scale / T^power, T in the file's units. */
export interface CurveInFile {
  readonly fixed?: number;
  readonly scale: number;
  readonly power: number;
  readonly lower?: WrittenLength;
  readonly upper?: WrittenLength;
}

/** A grade (tolerance and price), or a process with a cost curve over a range. */
export interface ProcessInFile {
  readonly id: string;
  readonly tolerance?: WrittenLength;
  readonly price?: number;
  readonly cost?: CurveInFile;
}

export interface CutInFile {
  readonly id: string;
  readonly operation?: string;
  readonly datum: string;
  readonly surface: string;
  readonly tolerance?: WrittenLength;
  readonly sigma?: WrittenLength;
  readonly cp?: number;
  readonly minStock?: WrittenLength;
  readonly maxStock?: WrittenLength;
  readonly roundTo?: WrittenLength;
  readonly statedAs?: StatedLimit;
  /** Working dimension of an existing chart, as a size text. */
  readonly given?: string;
  readonly cost?: CurveInFile;
  readonly processes?: readonly ProcessInFile[];
}

export interface BlueprintInFile {
  readonly id: string;
  readonly from: string;
  readonly to: string;
  readonly size?: string;
  readonly lower?: WrittenLength;
  readonly upper?: WrittenLength;
  readonly aim?: StatedLimit;
}

/** An operation chart as a user writes it, schema `chart/1`. */
export interface ChartFile {
  readonly $schema?: string;
  readonly schemaVersion: 'chart/1';
  readonly units?: 'mm' | 'in';
  readonly title?: string;
  readonly axis?: string;
  readonly rule?: 'worst-case' | 'statistical';
  readonly coverage?: number;
  readonly roundTo?: WrittenLength;
  readonly surfaces: readonly {
    readonly id: string;
    readonly name?: string;
    readonly faces?: 'up' | 'down';
  }[];
  readonly cuts: readonly CutInFile[];
  readonly blueprint: readonly BlueprintInFile[];
}
