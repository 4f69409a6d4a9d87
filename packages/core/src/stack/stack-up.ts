import { compensatedSum } from '../numeric/sum.js';
import { InputError } from '../problems/problem.js';
import { boxExtremes } from './box-extremes.js';
import { contributions, tightenFirst } from './contributions.js';
import { exactMethod, exactOutside } from './exact-method.js';
import {
  estimatedMeanShift,
  inflatedRss,
  type LinearForm,
  rss,
  sixSigma,
} from './linear-methods.js';
import { momentsMethod, momentsOutside } from './moments-method.js';
import { type ResolvedStack, resolveStack } from './resolve-stack.js';
import { secondOrderMoments } from './second-order.js';
import { transformShape } from './shape-transform.js';
import { type SumTerm, sumDistribution, sumMoments, sumTerm } from './sum-distribution.js';
import type {
  Moments,
  RequirementLimits,
  ResolvedContributor,
  StackFunction,
  StackInput,
  StackResult,
  WorstCaseResult,
} from './types.js';

/**
 * Stacks up a linear chain or a stack function: worst case, RSS, inflated RSS, estimated mean
 * shift, Cp/k form, moments and (linear chains) the exact distribution side by side, each with what
 * it assumes; contributions, and what tightening each contributor by 10 % buys. All numbers in the
 * unit of the input. Throws `InputError` with every problem of the input.
 *
 * The sources of the formulas stand at each method; the exact distribution comes from closed forms
 * or a contour integral through the saddle point, its tails to the relative error `tailError`.
 *
 * @example
 * stackUp({ contributors: [{ id: 'a', nominal: 0, plus: 0.02, minus: 0.02 }, { id: 'b', nominal: 0, plus: 0.1, minus: 0.1, coefficient: -1 }] }).worst.upper // -> ~0.12
 */
export function stackUp(input: StackInput): StackResult {
  const resolved = resolveStack(input);
  const parts =
    input.function === undefined
      ? linearParts(input, resolved)
      : functionParts(input.function, resolved);
  const { form, moments, outside } = parts;
  const { requirement, coverage } = resolved;
  return {
    ...(input.name === undefined ? {} : { name: input.name }),
    unit: input.unit ?? 'mm',
    ...(requirement === undefined ? {} : { requirement }),
    coverage,
    nominal: parts.nominal,
    worst: parts.worst,
    rss: rss(form),
    inflatedRss: inflatedRss(form),
    estimatedMeanShift: estimatedMeanShift(form),
    sixSigma: sixSigma(form),
    moments: momentsMethod(moments, coverage, requirement, parts.momentsAssume),
    exact: parts.exact,
    contributions: contributions(form),
    tightenFirst: tightenFirst(form, outside === undefined ? undefined : outside(0, 1), (i, f) =>
      outside === undefined ? 0 : outside(i, f),
    ),
    notes: [...resolved.notes, ...parts.notes],
  };
}

/** What differs between a linear chain and a function. */
interface StackParts {
  readonly form: LinearForm;
  readonly nominal: number;
  readonly worst: WorstCaseResult;
  readonly moments: Moments;
  readonly momentsAssume: string;
  readonly exact: StackResult['exact'];
  /** P(outside the requirement) with the spread of one contributor scaled; needs a requirement. */
  readonly outside?: (index: number, factor: number) => number;
  readonly notes: readonly string[];
}

/** The term of a contributor whose spread is scaled about its mean. */
function narrowed(contributor: ResolvedContributor, factor: number): SumTerm {
  const { shape, moments, coefficient } = contributor;
  const { mean, sd } = moments;
  return sumTerm(
    transformShape(shape, factor, mean * (1 - factor)),
    { ...moments, sd: factor * sd },
    coefficient,
  );
}

function linearParts(input: StackInput, resolved: ResolvedStack): StackParts {
  const { contributors, correlation, requirement, coverage } = resolved;
  const constant = input.constant ?? 0;
  const terms: SumTerm[] = contributors.map((c) => sumTerm(c.shape, c.moments, c.coefficient));
  const form = linearForm(
    resolved,
    contributors.map((c) => c.coefficient),
    compensatedSum([constant, ...contributors.map((c) => c.coefficient * c.middle)]),
  );
  const distribution = sumDistribution(terms, constant, correlation);
  const moments = sumMoments(terms, constant, correlation);
  const outsideOf = (limits: RequirementLimits, changed: readonly SumTerm[]): number => {
    const sum = sumDistribution(changed, constant, correlation);
    const { below, above } =
      'reason' in sum
        ? momentsOutside(sumMoments(changed, constant, correlation), limits)
        : exactOutside(sum, limits);
    return below + above;
  };
  return {
    form,
    nominal: compensatedSum([constant, ...contributors.map((c) => c.coefficient * c.nominal)]),
    worst: linearWorst(form),
    moments,
    momentsAssume:
      correlation === undefined
        ? 'the first four moments of the stated distributions; the result follows the Pearson curve with these'
        : 'the first four moments of the stated distributions, correlated ones taken as jointly normal; the result follows the Pearson curve with these',
    exact:
      'reason' in distribution
        ? distribution
        : exactMethod(distribution, coverage, requirement, input.quantiles ?? []),
    ...(requirement === undefined
      ? {}
      : {
          outside: (index: number, factor: number) =>
            outsideOf(
              requirement,
              terms.map((term, i) => {
                const contributor = contributors[i];
                if (i !== index || contributor === undefined || factor === 1) return term;
                return narrowed(contributor, factor);
              }),
            ),
        }),
    notes: [],
  };
}

function linearForm(
  resolved: ResolvedStack,
  sensitivities: readonly number[],
  middle: number,
): LinearForm {
  const { contributors, correlation, requirement, coverage } = resolved;
  return {
    middle,
    contributors,
    sensitivities,
    ...(correlation === undefined ? {} : { correlation }),
    ...(requirement === undefined ? {} : { requirement }),
    coverage,
  };
}

const worstAssumes = 'every contributor may sit at either limit, all at their worst at once';

function verdict(
  lower: number,
  upper: number,
  requirement: RequirementLimits | undefined,
): { readonly holds?: boolean } {
  if (requirement === undefined) return {};
  // limits that agree to the last few bits agree
  const slack = 1e-12 * Math.max(Math.abs(lower), Math.abs(upper));
  const low = requirement.lower ?? Number.NEGATIVE_INFINITY;
  const high = requirement.upper ?? Number.POSITIVE_INFINITY;
  return { holds: lower >= low - slack && upper <= high + slack };
}

function linearWorst(form: LinearForm): WorstCaseResult {
  const { contributors, middle, requirement } = form;
  const reach = compensatedSum(contributors.map((c) => Math.abs(c.coefficient) * c.halfWidth));
  const lower = middle - reach;
  const upper = middle + reach;
  return {
    assumes: worstAssumes,
    mean: middle,
    lower,
    upper,
    lowerAt: contributors.map((c) => (c.coefficient < 0 ? c.upper : c.lower)),
    upperAt: contributors.map((c) => (c.coefficient < 0 ? c.lower : c.upper)),
    ...verdict(lower, upper, requirement),
  };
}

function functionParts(fn: StackFunction, resolved: ResolvedStack): StackParts {
  const { contributors, correlation, requirement } = resolved;
  // the function's variables in the order of the contributors
  const places = contributors.map((c) => fn.variables.indexOf(c.id));
  const inOrder = (values: readonly number[]): number[] => {
    const x = new Array<number>(fn.variables.length).fill(0);
    places.forEach((place, i) => {
      if (place >= 0) x[place] = values[i] ?? 0;
    });
    return x;
  };
  const middle = inOrder(contributors.map((c) => c.middle));
  const slopes = fn.gradient(inOrder(contributors.map((c) => c.moments.mean)));
  const sensitivities = places.map((place) => (place < 0 ? 0 : (slopes[place] ?? 0)));
  const form = linearForm(resolved, sensitivities, fn.value(middle));
  const used = fn.variables.flatMap((id) => contributors.filter((c) => c.id === id));
  const usedCorrelation = correlation && picked(correlation, used, contributors);
  const momentsWith = (index: number, factor: number): Moments =>
    secondOrderMoments(
      fn,
      used.map((c) => ({
        ...c.moments,
        sd: c === contributors[index] ? factor * c.moments.sd : c.moments.sd,
      })),
      usedCorrelation,
    );
  const unused = contributors.filter((c) => !fn.variables.includes(c.id));
  return {
    form,
    nominal: fn.value(inOrder(contributors.map((c) => c.nominal))),
    worst: functionWorst(fn, used, contributors, requirement),
    moments: momentsWith(0, 1),
    momentsAssume:
      'the first four moments of the second-order expansion at the means; the result follows the Pearson curve with these',
    exact: { reason: 'a function that is not linear: use Monte Carlo' },
    ...(requirement === undefined
      ? {}
      : {
          outside: (index: number, factor: number) => {
            const { below, above } = momentsOutside(momentsWith(index, factor), requirement);
            return below + above;
          },
        }),
    notes: unused.map((c) => `${c.id} does not occur in the function`),
  };
}

function picked(
  correlation: NonNullable<ResolvedStack['correlation']>,
  used: readonly ResolvedContributor[],
  contributors: readonly ResolvedContributor[],
): number[][] {
  const indices = used.map((c) => contributors.indexOf(c));
  return indices.map((i) => indices.map((j) => correlation[i]?.[j] ?? 0));
}

function functionWorst(
  fn: StackFunction,
  used: readonly ResolvedContributor[],
  contributors: readonly ResolvedContributor[],
  requirement: RequirementLimits | undefined,
): WorstCaseResult {
  const extremes = boxExtremes(
    fn,
    used.map((c) => c.lower),
    used.map((c) => c.upper),
  );
  if (!extremes.defined) {
    const where = used.map((c, i) => `${c.id} = ${extremes.at[i] ?? Number.NaN}`).join(', ');
    throw new InputError([
      {
        code: 'out-of-range',
        place: { path: 'function' },
        message: 'the function has no value somewhere within the limits of its contributors',
        value: where,
        accept: 'limits within which the function is defined',
      },
    ]);
  }
  const spread = (at: readonly number[]): number[] =>
    contributors.map((c) => {
      const place = fn.variables.indexOf(c.id);
      return place < 0 ? c.middle : (at[place] ?? c.middle);
    });
  const { lower, upper } = extremes;
  return {
    assumes: worstAssumes,
    mean: 0.5 * (lower.value + upper.value),
    lower: lower.value,
    upper: upper.value,
    lowerAt: spread(lower.at),
    upperAt: spread(upper.at),
    ...verdict(lower.bound, upper.bound, requirement),
  };
}
