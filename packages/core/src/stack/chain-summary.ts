import { compensatedSum } from '../numeric/sum.js';
import { type BoundedOffset, betaAverage, pointsFor } from './beta-average.js';
import { normalOutside } from './conformity-figures.js';
import { contributions } from './contributions.js';
import { exactOutside } from './exact-method.js';
import { linearWorst, narrowed } from './linear-parts.js';
import { momentsOutside } from './moments-method.js';
import { resolveStack } from './resolve-stack.js';
import { shapeSupport } from './shape-tail.js';
import { linearForm } from './stack-parts.js';
import { type SumTerm, sumDistribution, sumMoments, sumTerm } from './sum-distribution.js';
import type { Contribution, Interval, RequirementLimits, StackInput } from './types.js';

/** The figures of a linear chain that a planner reads, all in the unit of the input. */
export interface ChainSummary {
  readonly mean: number;
  readonly sigma: number;
  /** Every contributor at its worst limit. */
  readonly worst: Interval;
  /** Needs a requirement. */
  readonly inLimits?: number;
  /** How `inLimits` was computed. */
  readonly by: string;
  readonly contributions: readonly Contribution[];
  /** The contributor with the largest share, and P(in limits) with a tolerance 10 % smaller on it. */
  readonly tightenFirst?: { readonly id: string; readonly inLimits?: number };
}

/** Normal parts reach no further than this many sigmas as far as a probability can show. */
const reachSigmas = 9;

/**
 * A linear chain in short, for judging many chains quickly: the same mean, sigma, worst case and
 * contributions as `stackUp`, and its exact probability of lying in the limits (closed form when all
 * contributors are normal), without the methods beside it. Throws `InputError` with every problem of
 * the input; a stack function is refused.
 *
 * @example
 * chainSummary({ contributors: [{ id: 'a', nominal: 0, distribution: { kind: 'normal', sigma: 0.01 } }], requirement: { lower: -0.03, upper: 0.03 } }).inLimits // -> ~0.9973
 */
export function chainSummary(input: Omit<StackInput, 'function'>): ChainSummary {
  const resolved = resolveStack(input);
  const { contributors, correlation, requirement } = resolved;
  const constant = input.constant ?? 0;
  const terms = contributors.map((c) => sumTerm(c.shape, c.moments, c.coefficient));
  const form = linearForm(
    resolved,
    contributors.map((c) => c.coefficient),
    compensatedSum([constant, ...contributors.map((c) => c.coefficient * c.middle)]),
  );
  const { mean, sd } = sumMoments(terms, constant, correlation);
  const { lower, upper } = linearWorst(form);
  const shares = contributions(form);
  const largest = shares.reduce<Contribution | undefined>(
    (best, share) =>
      best === undefined || share.sharePercent > best.sharePercent + 1e-9 ? share : best,
    undefined,
  );
  const outside = (changed: readonly SumTerm[]): ReturnType<typeof outsideOf> | undefined =>
    requirement === undefined ? undefined : outsideOf(changed, constant, requirement, correlation);
  const now = outside(terms);
  const tightened = contributors.map((contributor, i) =>
    contributor.id === largest?.id ? narrowed(contributor, 0.9) : terms[i],
  );
  const then = outside(tightened.filter((term) => term !== undefined));
  return {
    mean,
    sigma: sd,
    worst: { lower, upper },
    ...(now === undefined ? {} : { inLimits: Math.max(0, 1 - now.share) }),
    by: now?.by ?? 'no requirement',
    contributions: shares,
    ...(largest === undefined || largest.sigma === 0
      ? {}
      : {
          tightenFirst: {
            id: largest.id,
            ...(then === undefined ? {} : { inLimits: Math.max(0, 1 - then.share) }),
          },
        }),
  };
}

/**
 * The exact probability alone, for judging chains by the thousand.
 *
 * @returns 1 without a requirement
 */
export function chainInLimits(input: Omit<StackInput, 'function'>): {
  readonly inLimits: number;
  readonly by: string;
} {
  const { contributors, correlation, requirement } = resolveStack(input);
  if (requirement === undefined) return { inLimits: 1, by: 'no requirement' };
  const terms = contributors.map((c) => sumTerm(c.shape, c.moments, c.coefficient));
  const { share, by } = outsideOf(terms, input.constant ?? 0, requirement, correlation);
  return { inLimits: Math.max(0, 1 - share), by };
}

/** Share outside the limits. */
function outsideOf(
  terms: readonly SumTerm[],
  constant: number,
  requirement: RequirementLimits,
  correlation: StackInput['correlation'],
): { readonly share: number; readonly by: string } {
  const { mean, sd } = sumMoments(terms, constant, correlation);
  const isNormal = terms.every(({ shape }) => shape.kind === 'normal' || shape.kind === 'constant');
  if (isNormal) {
    const { below, above } = normalOutside(mean, sd, requirement);
    return { share: below + above, by: 'normal, closed form' };
  }
  if (correlation === undefined && isFarInside(terms, constant, requirement))
    return { share: 0, by: `bounded parts at their ends and ${reachSigmas} sigma lie inside` };
  const averaged =
    correlation === undefined ? averagedOutside(terms, constant, requirement) : undefined;
  if (averaged !== undefined)
    return { share: averaged, by: 'normal part averaged over the bounded links' };
  const sum = sumDistribution(terms, constant, correlation);
  if ('reason' in sum) {
    const { below, above } = momentsOutside(sumMoments(terms, constant, correlation), requirement);
    return { share: below + above, by: 'moments' };
  }
  const { below, above } = exactOutside(sum, requirement);
  return { share: below + above, by: sum.by };
}

/** Most evaluations of the normal part. */
const evaluationLimit = 2000;

/**
 * The exact share when the normal part is not much narrower than the beta-distributed ones: that of the
 * normal part averaged over them, within 1e-8.
 */
function averagedOutside(
  terms: readonly SumTerm[],
  constant: number,
  requirement: RequirementLimits,
): number | undefined {
  let mean = constant;
  let variance = 0;
  const offsets: BoundedOffset[] = [];
  for (const { shape } of terms) {
    if (shape.kind === 'constant') mean += shape.value;
    else if (shape.kind === 'beta') offsets.push(shape);
    else if (shape.kind === 'normal') {
      mean += shape.mean;
      variance += shape.sd ** 2;
    } else return undefined;
  }
  const sigma = Math.sqrt(variance);
  if (offsets.some(({ lower, upper }) => upper - lower > 4 * sigma)) return undefined;
  const points = offsets.map((offset) => pointsFor(offset, sigma));
  if (points.reduce((product, count) => product * count, 1) > evaluationLimit) return undefined;
  return betaAverage(offsets, points, (sum) => {
    const { below, above } = normalOutside(mean + sum, sigma, requirement);
    return below + above;
  });
}

/** Whether the bounded terms at their ends and the normal ones far out still lie within the limits. */
function isFarInside(
  terms: readonly SumTerm[],
  constant: number,
  { lower, upper }: RequirementLimits,
): boolean {
  let low = constant;
  let high = constant;
  let variance = 0;
  for (const { shape, moments } of terms) {
    if (shape.kind === 'normal') {
      variance += moments.sd ** 2;
      low += moments.mean;
      high += moments.mean;
      continue;
    }
    const support = shapeSupport(shape);
    low += support.lower;
    high += support.upper;
  }
  const reach = reachSigmas * Math.sqrt(variance);
  return (
    low - reach >= (lower ?? Number.NEGATIVE_INFINITY) &&
    high + reach <= (upper ?? Number.POSITIVE_INFINITY)
  );
}
