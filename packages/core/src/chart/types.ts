import type {
  CostCurve,
  ImpossibleChain,
  ProcessAllocation,
  ProcessOption,
} from '../stack/allocation-types.js';

/** By which accumulated variation a chart is laid out and judged. */
export type ChartRule = 'worst-case' | 'statistical';

/** Where in its limits a dimension is wanted or stated. */
export type StatedLimit = 'middle' | 'maximum' | 'minimum';

/**
 * A surface of the part, or a surface that the part is located from. Surfaces are listed along the
 * axis, the smallest coordinate first.
 */
export interface ChartSurface {
  readonly id: string;
  readonly name?: string;
  /**
   * Side on which the air is: `up` looks towards larger coordinates. Needed where stock is taken
   * off.
   */
  readonly faces?: 'up' | 'down';
}

/**
 * One working dimension, in the order of working. The first cut on a surface forms it (printed,
 * cast, sawn, cut from the solid) and takes off no stock; every later one takes stock off it. The
 * datum is the surface in the state that it has then. A cut with itself as the datum takes off a set
 * depth (etching, blasting, polishing by time): its working dimension is the stock, negative where a
 * coat or growth adds material.
 */
export interface ChartCut {
  readonly id: string;
  /** Operation, for print. */
  readonly operation?: string;
  readonly datum: string;
  readonly surface: string;
  /** ± on the working dimension; 3 cp sigma when absent. */
  readonly toleranceMm?: number;
  /** Standard deviation of the process; toleranceMm / (3 cp) when absent. */
  readonly sigmaMm?: number;
  /** Capability index that the tolerance stands for; 1 when absent. */
  readonly cp?: number;
  /**
   * Least stock that the cut must find, 0 or more (any sign for a depth taken off a surface by
   * itself); needed for every cut but the first on a surface.
   */
  readonly minStockMm?: number;
  /** Most stock that the cut can take. */
  readonly maxStockMm?: number;
  /** Grid of the stated working dimension; that of the chart when absent. */
  readonly roundToMm?: number;
  /** Which of its limits the working dimension is stated by, e.g. `maximum` for 12 0/-0.043. */
  readonly statedAs?: StatedLimit;
}

/** A dimension of the drawing between two finished surfaces. */
export interface BlueprintDimension {
  readonly id: string;
  readonly from: string;
  readonly to: string;
  readonly lowerMm: number;
  readonly upperMm: number;
  /** Where the resultant is laid in its limits; `middle` when absent. */
  readonly aim?: StatedLimit;
}

/** Surfaces on an axis, cuts in the order of working, dimensions of the drawing. Lengths in mm. */
export interface ChartInput {
  readonly title?: string;
  /** Name of the axis, for print. */
  readonly axis?: string;
  /** `worst-case` when absent. */
  readonly rule?: ChartRule;
  /** Two-sided share of parts in the statistical range; that of 3 sigma (0.9973) when absent. */
  readonly coverage?: number;
  /** Grid of the stated working dimensions; not rounded when absent. */
  readonly roundToMm?: number;
  readonly surfaces: readonly ChartSurface[];
  readonly cuts: readonly ChartCut[];
  readonly blueprint: readonly BlueprintDimension[];
}

/** Limits of a working dimension, as on an existing chart. */
export interface WorkingLimits {
  readonly cut: string;
  readonly lowerMm: number;
  readonly upperMm: number;
}

/** A working dimension that enters a resultant or a stock. */
export interface ChartLink {
  readonly cut: string;
  readonly sign: 1 | -1;
}

export interface MmRange {
  readonly lowerMm: number;
  readonly upperMm: number;
}

/** Mean with its variation, worst case and statistical side by side. */
export interface Accumulated {
  /** result = sum of sign * working dimension. */
  readonly chain: readonly ChartLink[];
  readonly meanMm: number;
  /** ± of the worst case. */
  readonly worstMm: number;
  /** ± of the statistical range (coverage of the chart). */
  readonly statisticalMm: number;
  readonly sigmaMm: number;
  /** Range under the chart's rule. */
  readonly range: MmRange;
}

export interface SolvedCut {
  readonly cut: string;
  readonly datum: string;
  readonly surface: string;
  readonly meanMm: number;
  readonly toleranceMm: number;
  readonly lowerMm: number;
  readonly upperMm: number;
  /** Value to print: mean, upper or lower limit as the cut is stated. */
  readonly statedMm: number;
}

export interface ChartResultant extends Accumulated {
  readonly blueprint: string;
  readonly limits: MmRange;
  /** Smallest distance of the range from a limit, below 0 when outside. */
  readonly marginMm: number;
  /** Normal probability of a part in limits. */
  readonly inLimits: number;
  readonly holds: boolean;
}

export interface ChartStock extends Accumulated {
  /** Cut that takes it off. */
  readonly cut: string;
  readonly surface: string;
  readonly minMm: number;
  readonly maxMm?: number;
  readonly marginMm: number;
  /** Normal probability that the least stock is there, and no more than the most. */
  readonly inLimits: number;
  readonly holds: boolean;
}

/** A resultant outside its limits, or a stock below its least or above its most. */
export interface ChartFault {
  readonly kind: 'blueprint' | 'stock';
  /** Blueprint dimension, or cut that takes the stock off. */
  readonly id: string;
  readonly side: 'below' | 'above';
  readonly limitMm: number;
  readonly valueMm: number;
  readonly byMm: number;
  /** Links of the chain with their share of the variation under the chart's rule, largest first. */
  readonly links: readonly {
    readonly cut: string;
    readonly toleranceMm: number;
    readonly sharePercent: number;
  }[];
  /** One line for a person. */
  readonly message: string;
}

/** Blueprint dimensions that close a loop and cannot all be met, whatever the means. */
export interface ChartLoop {
  readonly blueprint: readonly string[];
  readonly excessMm: number;
}

/** Mean coordinates of a surface through its states, and the stock that it starts with. */
export interface SurfaceHistory {
  readonly surface: string;
  /** Coordinate from the first finished surface of the list, after each cut on it. */
  readonly states: readonly { readonly cut?: string; readonly meanMm: number }[];
  /** Mean stock from the first state to the last. */
  readonly stockMm: number;
}

/** An operation chart worked out. Plain data, schema `chart-result/1`. */
export interface ChartResult {
  readonly schema: 'chart-result/1';
  readonly title?: string;
  readonly axis?: string;
  readonly rule: ChartRule;
  /** Number of sigmas of the statistical range. */
  readonly sigmas: number;
  /** Every resultant and every stock holds. */
  readonly feasible: boolean;
  readonly cuts: readonly SolvedCut[];
  readonly resultants: readonly ChartResultant[];
  readonly stocks: readonly ChartStock[];
  readonly surfaces: readonly SurfaceHistory[];
  /** What does not hold, the largest excess first. */
  readonly faults: readonly ChartFault[];
  /** Only for an over-dimensioned drawing. */
  readonly loops: readonly ChartLoop[];
}

/** What the tolerance of a cut costs; a cut without an entry keeps its tolerance. */
export type CutCost =
  | {
      readonly cut: string;
      readonly cost: CostCurve;
      /** Bounds on ± T; 0 and infinity when absent. */
      readonly lower?: number;
      readonly upper?: number;
    }
  | { readonly cut: string; readonly processes: readonly ProcessOption[] };

export type ChartAssignment =
  | {
      readonly feasible: true;
      /** Contributors are the cuts; chains `blueprint <id>` and `stock <cut>`. */
      readonly allocation: ProcessAllocation;
      /** The chart with the assigned tolerances. */
      readonly chart: ChartResult;
    }
  | {
      readonly feasible: false;
      /** Chains that no permitted tolerance meets, worst first. */
      readonly impossible: readonly ImpossibleChain[];
    };
