import { compensatedSum } from '../numeric/sum.js';
import { exactMethod, exactOutside } from './exact-method.js';
import type { LinearForm } from './linear-methods.js';
import { momentsOutside } from './moments-method.js';
import type { ResolvedStack } from './resolve-stack.js';
import { transformShape } from './shape-transform.js';
import { linearForm, type StackParts, verdict, worstAssumes } from './stack-parts.js';
import { type SumTerm, sumDistribution, sumMoments, sumTerm } from './sum-distribution.js';
import type {
  RequirementLimits,
  ResolvedContributor,
  StackInput,
  WorstCaseResult,
} from './types.js';

/** The term of a contributor whose spread is scaled about its mean. */
export function narrowed(contributor: ResolvedContributor, factor: number): SumTerm {
  const { shape, moments, coefficient } = contributor;
  const { mean, sd } = moments;
  return sumTerm(
    transformShape(shape, factor, mean * (1 - factor)),
    { ...moments, sd: factor * sd },
    coefficient,
  );
}

/** A linear chain: exact extremes, exact cumulants, exact distribution. */
export function linearParts(input: StackInput, resolved: ResolvedStack): StackParts {
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

export function linearWorst(form: LinearForm): WorstCaseResult {
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
