/**
 * How one contributor varies. Shapes without numbers of their own span the contributor's limits.
 *
 * - `normal`: `sigma` as given; or by capability, sigma = (upper - lower)/(6 cp), with cp 1 when
 *   nothing is given. `cpk` below `cp` says that the mean wanders to an unknown side: every
 *   statistical method then widens sigma to (upper - lower)/(6 cpk) about the middle.
 * - `truncated-normal`: a normal (same numbers) cut off at the limits.
 * - `triangular`: `mode` is a value between the limits; the middle when absent.
 * - `trapezoidal`: `topFraction` is flat top over base, 0 (triangle) to 1 (uniform), symmetric.
 * - `beta`: shape numbers `alpha` and `beta` > 0 on the limits.
 * - `student-t`: `sigma` is the standard deviation, not the scale; degrees of freedom > 2.
 * - `empirical`: each of the measured `values` is equally likely.
 */
export type Distribution =
  | {
      readonly kind: 'normal';
      readonly sigma?: number;
      readonly cp?: number;
      readonly cpk?: number;
    }
  | { readonly kind: 'truncated-normal'; readonly sigma?: number; readonly cp?: number }
  | { readonly kind: 'uniform' }
  | { readonly kind: 'triangular'; readonly mode?: number }
  | { readonly kind: 'trapezoidal'; readonly topFraction: number }
  | { readonly kind: 'arcsine' }
  | { readonly kind: 'beta'; readonly alpha: number; readonly beta: number }
  | { readonly kind: 'semi-elliptical' }
  | { readonly kind: 'student-t'; readonly sigma: number; readonly degreesOfFreedom: number }
  | { readonly kind: 'empirical'; readonly values: readonly number[] };

export type DistributionKind = Distribution['kind'];

/**
 * One link of a chain, or one variable of a stack function. All numbers in the stack's unit (mm
 * unless the input says otherwise).
 *
 * Limits come as `lower`/`upper` (absolute) or as `plus`/`minus` (deviations from nominal, both
 * written positive: `minus: 0.1` is nominal - 0.1), never both. They may be left out when the
 * distribution carries its own spread; mean ± 3 sigma (or the sample's extremes) then stand in.
 */
export interface Contributor {
  readonly id: string;
  readonly nominal: number;
  readonly lower?: number;
  readonly upper?: number;
  readonly plus?: number;
  readonly minus?: number;
  /** Signed sensitivity in a linear chain; 1 when absent. Not used with a stack function. */
  readonly coefficient?: number;
  /** Normal with Cp 1 when absent. */
  readonly distribution?: Distribution;
  /**
   * Known signed offset that moves the whole distribution off its place on the limits (a truncated
   * normal stays cut at them); 0 when absent. Not for a sample, nor beside `cpk`.
   */
  readonly meanShift?: number;
  /** Estimated-mean-shift factor m, 0 to 1: share of the half tolerance that the mean may use up. */
  readonly shiftFactor?: number;
  /** Where the numbers come from, for the report. */
  readonly source?: string;
  /** Keeps a resolved contributor, which has lost its `distribution`, from being taken for one. */
  readonly shape?: never;
}

/** Limits of the requirement; one may be absent for a one-sided requirement. */
export interface RequirementLimits {
  readonly lower?: number;
  readonly upper?: number;
}

export interface StackInput {
  readonly name?: string;
  /** Unit of the result, for print only; mm when absent. */
  readonly unit?: string;
  readonly requirement?: RequirementLimits;
  readonly contributors: readonly Contributor[];
  /** Correlation matrix in the order of the contributors; independent when absent. */
  readonly correlation?: readonly (readonly number[])[];
  /** Absent: the result is sum(coefficient * contributor) + `constant`. */
  readonly function?: StackFunction;
  /** Added to a linear chain; 0 when absent. */
  readonly constant?: number;
  /** Share of assemblies that each statistical method's range holds; 0.9973 when absent. */
  readonly coverage?: number;
  /** Extra probabilities whose quantiles are wanted. */
  readonly quantiles?: readonly number[];
}

/** A closed interval; either end may be infinite. */
export interface Interval {
  readonly lower: number;
  readonly upper: number;
}

/**
 * A function of the contributors with its derivatives. Built elsewhere (an expression's tree, a
 * closed vector loop); `x[i]` belongs to `variables[i]`, and every variable is a contributor's id.
 */
export interface StackFunction {
  readonly variables: readonly string[];
  /** As the user wrote it, for the report. */
  readonly text: string;
  /** NaN outside the function's domain. */
  value(x: ArrayLike<number>): number;
  gradient(x: ArrayLike<number>): Float64Array;
  /** Row-major n x n, symmetric. */
  hessian(x: ArrayLike<number>): Float64Array;
  /** An enclosure (not necessarily tight) of the values over a box. */
  bounds(lower: ArrayLike<number>, upper: ArrayLike<number>): Interval;
}

/**
 * A distribution with its numbers in place, in the stack's unit: what samplers and convolution
 * work from. `mean` and `sd` of a truncated normal are those of the normal before the cut.
 */
export type Shape =
  | { readonly kind: 'normal'; readonly mean: number; readonly sd: number }
  | {
      readonly kind: 'truncated-normal';
      readonly mean: number;
      readonly sd: number;
      readonly lower: number;
      readonly upper: number;
    }
  | { readonly kind: 'uniform'; readonly lower: number; readonly upper: number }
  | {
      readonly kind: 'triangular';
      readonly lower: number;
      readonly mode: number;
      readonly upper: number;
    }
  | {
      readonly kind: 'trapezoidal';
      readonly lower: number;
      readonly topLower: number;
      readonly topUpper: number;
      readonly upper: number;
    }
  | { readonly kind: 'arcsine'; readonly lower: number; readonly upper: number }
  | {
      readonly kind: 'beta';
      readonly lower: number;
      readonly upper: number;
      readonly alpha: number;
      readonly beta: number;
    }
  | { readonly kind: 'semi-elliptical'; readonly lower: number; readonly upper: number }
  | {
      readonly kind: 'student-t';
      readonly mean: number;
      readonly scale: number;
      readonly degreesOfFreedom: number;
    }
  /** Ascending values, equally likely. */
  | { readonly kind: 'empirical'; readonly values: Float64Array }
  /** No variation at all. */
  | { readonly kind: 'constant'; readonly value: number };

/** Mean, standard deviation, skewness and excess kurtosis (infinite where they do not exist). */
export interface Moments {
  readonly mean: number;
  readonly sd: number;
  readonly skewness: number;
  readonly excessKurtosis: number;
}

/** A contributor after validation, with limits absolute and the distribution placed. */
export interface ResolvedContributor {
  readonly id: string;
  readonly nominal: number;
  readonly lower: number;
  readonly upper: number;
  readonly middle: number;
  readonly halfWidth: number;
  readonly coefficient: number;
  readonly shape: Shape;
  readonly moments: Moments;
  /** EMS factor m. */
  readonly shiftFactor: number;
  /** Cp = half width / (3 sd of the process) and k of the Cp/k form. */
  readonly cp: number;
  readonly k: number;
}

/** Where a method puts the result against the requirement. Absent limits give no figure. */
export interface Conformity {
  readonly inLimits: number;
  readonly ppmBelow: number;
  readonly ppmAbove: number;
  /** Needs both limits. */
  readonly cp?: number;
  /** Nearer limit over 3 sigma. */
  readonly cpk?: number;
  /** Bound on the error of `inLimits`, where the method has one. */
  readonly error?: number;
}

/** What one method says, and on what assumption. */
export interface MethodResult {
  readonly assumes: string;
  readonly mean: number;
  /** Worst case has none. */
  readonly sigma?: number;
  /** Worst case: extremes. Statistical: the central range that holds the coverage. */
  readonly lower: number;
  readonly upper: number;
  /** Absent without a requirement, and for worst case. */
  readonly conformity?: Conformity;
}

export interface WorstCaseResult extends MethodResult {
  /** True when every combination of values within limits meets the requirement. */
  readonly holds?: boolean;
  /** Contributor values at the two extremes, in contributor order. */
  readonly lowerAt: readonly number[];
  readonly upperAt: readonly number[];
}

export interface MomentsResult extends MethodResult {
  readonly sigma: number;
  /** Absent where it does not exist: of a Student t up to 3 degrees of freedom. */
  readonly skewness?: number;
  /** Absent where it is infinite: of a Student t up to 4 degrees of freedom. */
  readonly excessKurtosis?: number;
}

export interface QuantileValue {
  readonly probability: number;
  readonly value: number;
}

export interface ExactResult extends MethodResult {
  readonly sigma: number;
  /** Absent as in `MomentsResult`. */
  readonly skewness?: number;
  readonly excessKurtosis?: number;
  readonly quantiles: readonly QuantileValue[];
  /** How it was computed, and the relative error of a tail probability down to 1e-9. */
  readonly by: string;
  readonly tailError: number;
}

/** Why a method gives no result for this input. */
export interface NotApplicable {
  readonly reason: string;
}

export interface Contribution {
  readonly id: string;
  /** d result / d contributor at the mean. */
  readonly sensitivity: number;
  /** Standard deviation that it puts into the result (unsigned). */
  readonly sigma: number;
  /** Share of the variance; correlated links share their covariance evenly. Sums to 100. */
  readonly sharePercent: number;
  /** Share of the worst-case width. Sums to 100. */
  readonly worstSharePercent: number;
}

/** What a tolerance (and its spread) that is 10 % smaller on one contributor buys. */
export interface Tightening {
  readonly id: string;
  readonly sigma: number;
  /** Fall of the result's sigma, % of what it was. */
  readonly sigmaGainPercent: number;
  /** Fall of the worst-case width, in the stack's unit. */
  readonly worstGain: number;
  /** Needs a requirement. */
  readonly inLimits?: number;
  readonly inLimitsGain?: number;
}

/** All methods side by side. */
export interface StackResult {
  readonly name?: string;
  readonly unit: string;
  readonly requirement?: RequirementLimits;
  readonly coverage: number;
  /** Result with every contributor at its nominal. */
  readonly nominal: number;
  readonly worst: WorstCaseResult;
  readonly rss: MethodResult;
  readonly inflatedRss: MethodResult;
  readonly estimatedMeanShift: MethodResult;
  readonly sixSigma: MethodResult;
  readonly moments: MomentsResult;
  readonly exact: ExactResult | NotApplicable;
  readonly contributions: readonly Contribution[];
  /** Best first. */
  readonly tightenFirst: readonly Tightening[];
  /** What was assumed on the way, e.g. limits taken as mean ± 3 sigma. */
  readonly notes: readonly string[];
}
