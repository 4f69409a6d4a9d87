import { InputError } from '../problems/problem.js';
import { boxExtremes } from './box-extremes.js';
import { momentsOutside } from './moments-method.js';
import type { ResolvedStack } from './resolve-stack.js';
import { secondOrderMoments } from './second-order.js';
import { linearForm, type StackParts, verdict, worstAssumes } from './stack-parts.js';
import type {
  Moments,
  RequirementLimits,
  ResolvedContributor,
  StackFunction,
  WorstCaseResult,
} from './types.js';

/** A stack function: true extremes over the box of limits, second-order moments, no exact distribution. */
export function functionParts(fn: StackFunction, resolved: ResolvedStack): StackParts {
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
