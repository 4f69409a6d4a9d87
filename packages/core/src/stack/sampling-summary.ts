import { normalQuantile } from '../numeric/normal.js';
import { studentQuantile } from '../numeric/student-t.js';
import type { SamplingPlan } from './sampling-plan.js';
import type { SamplingTally } from './sampling-tally.js';
import { mergeTally, type Tally } from './tally.js';
import {
  type Cumulative,
  cumulate,
  momentErrors,
  type ScaledTally,
  tallyMoments,
} from './tally-figures.js';

/** A figure with its confidence interval. */
export interface Estimate {
  readonly value: number;
  readonly lower: number;
  readonly upper: number;
}

export interface QuantileEstimate extends Estimate {
  readonly probability: number;
}

export interface CoverageInterval {
  readonly lower: Estimate;
  readonly upper: Estimate;
  readonly width: number;
}

/** A Monte Carlo run, in the unit of the stack. Every estimate carries an interval of `confidence`. */
export interface MonteCarloResult {
  readonly assumes: string;
  readonly scheme: 'random' | 'sobol';
  readonly seed: number;
  readonly samples: number;
  /** Share of the samples at which the function has no value; they count as out of limits. */
  readonly undefinedShare: number;
  readonly confidence: number;
  /** Did the run reach the precision that was asked for? Absent when none was. */
  readonly precise?: boolean;
  readonly mean: Estimate;
  readonly sigma: Estimate;
  readonly skewness: Estimate;
  readonly excessKurtosis: Estimate;
  /** Most extreme values seen. */
  readonly least: number;
  readonly most: number;
  readonly coverage: number;
  /** The central interval: the same share left out on both sides. */
  readonly central: CoverageInterval;
  /** The shortest interval. Its ends wander more than their intervals say, its width does not. */
  readonly shortest: CoverageInterval;
  readonly quantiles: readonly QuantileEstimate[];
  /** With a requirement. */
  readonly inLimits?: Estimate;
  readonly ppmBelow?: Estimate;
  readonly ppmAbove?: Estimate;
  /** Largest error of a quantile above from counting in bins (already within its interval). */
  readonly resolution: number;
}

/** Figures of one tally that a run estimates. */
interface Figures {
  readonly mean: number;
  readonly sd: number;
  readonly skewness: number;
  readonly excessKurtosis: number;
  readonly cumulative: Cumulative;
  readonly below: number;
  readonly above: number;
}

/**
 * The figures of a run, in the unit of the stack, each with its confidence interval. Random samples:
 * normal intervals from influence functions for the moments, order statistics for quantiles, Wilson's
 * interval for shares. Quasi-random ones: Student's t on the scatter of the independent scramblings.
 *
 * @example
 * ((plan) => summariseSampling(plan, sampleBlocks(plan, 0, 2)).samples)(planSampling({ contributors: [{ id: 'a', nominal: 5, plus: 0.1, minus: 0.1 }] })) // -> 2048
 */
export function summariseSampling(plan: SamplingPlan, seen: SamplingTally): MonteCarloResult {
  const parts = seen.replicates.map((tally) => scaleTally(plan, tally));
  const whole = parts.reduce(mergeTally);
  const all = figuresOf(whole, plan.scheme === 'random');
  const total = whole.count + whole.undefinedCount;
  const replicates =
    parts.length > 1
      ? parts.filter((part) => part.count > 1).map((part) => figuresOf(part, false))
      : [];
  const p1 = (1 - plan.coverage) / 2;
  const best = all.cumulative.shortest(plan.coverage);
  const estimator =
    replicates.length > 1 ? scatterEstimator(plan, replicates) : sampleEstimator(plan, whole, all);

  const inUnit = ({ value, lower, upper }: Estimate): Estimate => ({
    value: plan.centre + plan.unit * value,
    lower: plan.centre + plan.unit * lower,
    upper: plan.centre + plan.unit * upper,
  });
  const scaled = ({ value, lower, upper }: Estimate, factor: number): Estimate => ({
    value: value * factor,
    lower: lower * factor,
    upper: upper * factor,
  });
  const quantile = (p: number, value = all.cumulative.quantile(p)) =>
    inUnit(estimator.quantile(p, value));
  const interval = (below: number): CoverageInterval => {
    const lower = quantile(below);
    const upper = quantile(below + plan.coverage);
    return { lower, upper, width: upper.value - lower.value };
  };
  const share = (count: (figures: Figures) => number, hits: number) =>
    estimator.share(count, hits, total);
  const { lower: lowerLimit, upper: upperLimit } = plan.requirement;
  const result: MonteCarloResult = {
    assumes:
      plan.scheme === 'sobol'
        ? 'contributors vary as their distributions say; scrambled Sobol points'
        : 'contributors vary as their distributions say; random samples',
    scheme: plan.scheme,
    seed: plan.seed,
    samples: total,
    undefinedShare: whole.undefinedCount / total,
    confidence: plan.confidence,
    mean: inUnit(estimator.moment('mean', all.mean)),
    sigma: scaled(estimator.moment('sd', all.sd), plan.unit),
    skewness: estimator.moment('skewness', all.skewness),
    excessKurtosis: estimator.moment('excessKurtosis', all.excessKurtosis),
    least: plan.centre + plan.unit * whole.least,
    most: plan.centre + plan.unit * whole.most,
    coverage: plan.coverage,
    central: interval(p1),
    shortest: interval(best.below),
    quantiles: plan.quantiles.map((probability) => ({ probability, ...quantile(probability) })),
    resolution:
      plan.unit *
      Math.max(
        ...[p1, 1 - p1, best.below, best.below + plan.coverage, ...plan.quantiles].map((p) =>
          all.cumulative.width(p),
        ),
      ),
    ...(lowerLimit === undefined && upperLimit === undefined
      ? {}
      : {
          inLimits: share(
            (figures) => 1 - figures.below - figures.above,
            whole.count - whole.below - whole.above,
          ),
          ppmBelow: scaled(
            share((figures) => figures.below, whole.below),
            1e6,
          ),
          ppmAbove: scaled(
            share((figures) => figures.above, whole.above),
            1e6,
          ),
        }),
  };
  const reached = precisionReached(plan, result);
  return reached === undefined ? result : { ...result, precise: reached };
}

/** Is the precision that the plan asks for reached? Undefined when it asks for none. */
export function precisionReached(
  plan: SamplingPlan,
  result: Pick<MonteCarloResult, 'mean' | 'sigma' | 'central' | 'inLimits'>,
): boolean | undefined {
  if (plan.precision === undefined) return undefined;
  const { of, halfWidth } = plan.precision;
  const half = (estimate: Estimate | undefined): number =>
    estimate === undefined ? 0 : (estimate.upper - estimate.lower) / 2;
  const { lower, upper } = result.central;
  const now = of === 'range' ? Math.max(half(lower), half(upper)) : half(result[of]);
  return now <= halfWidth;
}

function scaleTally(plan: SamplingPlan, tally: Tally): ScaledTally {
  return {
    ...tally,
    least: (tally.least - plan.centre) / plan.unit,
    most: (tally.most - plan.centre) / plan.unit,
  };
}

function figuresOf(tally: ScaledTally, independent: boolean): Figures {
  const total = tally.count + tally.undefinedCount;
  return {
    ...tallyMoments(tally, independent),
    cumulative: cumulate(tally),
    below: tally.below / total,
    above: tally.above / total,
  };
}

type MomentName = 'mean' | 'sd' | 'skewness' | 'excessKurtosis';

/** Confidence intervals in z, one way for random samples, another for scrambled replicates. */
interface Estimator {
  moment(name: MomentName, value: number): Estimate;
  quantile(p: number, value: number): Estimate;
  share(count: (figures: Figures) => number, hits: number, total: number): Estimate;
}

/** Sums are kept in grains: what that can do to a figure in z. */
const rounding = 1e-11;

const around = (value: number, half: number): Estimate => ({
  value,
  lower: value - half - rounding,
  upper: value + half + rounding,
});

/**
 * Independent samples: normal intervals for the moments, order statistics for quantiles (the ranks
 * n p ± z sqrt(n p (1 - p)), widened by the bin), Wilson's score interval for shares (J. Am. Stat.
 * Assoc. 22 (1927) 209).
 */
function sampleEstimator(plan: SamplingPlan, tally: ScaledTally, figures: Figures): Estimator {
  const z = normalQuantile((1 + plan.confidence) / 2);
  const errors = momentErrors(tally, figures);
  return {
    moment: (name, value) => around(value, z * errors[name]),
    quantile: (p, value) => {
      const reach = z * Math.sqrt((p * (1 - p)) / tally.count);
      const { quantile, width } = figures.cumulative;
      return {
        value,
        lower: quantile(p - reach) - width(p - reach),
        upper: quantile(p + reach) + width(p + reach),
      };
    },
    share: (_, hits, total) => wilson(hits, total, z),
  };
}

function wilson(hits: number, total: number, z: number): Estimate {
  const value = hits / total;
  const square = (z * z) / total;
  const middle = (value + square / 2) / (1 + square);
  const half = (z / (1 + square)) * Math.sqrt((value * (1 - value)) / total + square / total / 4);
  return {
    value,
    lower: hits === 0 ? 0 : middle - half,
    upper: hits === total ? 1 : middle + half,
  };
}

/** Replicates: Student's t on the scatter of the figure over the independent scramblings. */
function scatterEstimator(plan: SamplingPlan, replicates: readonly Figures[]): Estimator {
  const n = replicates.length;
  const t = studentQuantile((1 + plan.confidence) / 2, n - 1);
  const half = (of: (figures: Figures) => number): number => {
    const values = replicates.map(of);
    const mean = values.reduce((sum, value) => sum + value / n, 0);
    const square = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
    return t * Math.sqrt(square / (n - 1) / n);
  };
  return {
    moment: (name, value) =>
      around(
        value,
        half((figures) => figures[name]),
      ),
    quantile: (p, value) =>
      around(
        value,
        half(({ cumulative }) => cumulative.quantile(p)) +
          (replicates[0]?.cumulative.width(p) ?? 0),
      ),
    share: (count, hits, total) => {
      const reach = half(count);
      // no replicate differs from another: nothing is known beyond what random samples would say
      if (reach === 0) return wilson(hits, total, normalQuantile((1 + plan.confidence) / 2));
      const value = hits / total;
      return { value, lower: Math.max(0, value - reach), upper: Math.min(1, value + reach) };
    },
  };
}
