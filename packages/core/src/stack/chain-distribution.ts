import { resolveStack } from './resolve-stack.js';
import { type SumDistribution, sumDistribution, sumTerm } from './sum-distribution.js';
import type { NotApplicable, StackInput } from './types.js';

/**
 * The exact distribution of a linear chain, to be asked for any tail or quantile: closed forms, or
 * the inversion integral of the moment generating function through its saddle point, so that tails
 * are accurate relative to themselves (error stated with each value, about 1e-13 for chains with
 * smooth links, down to 1e-9 and beyond). In the unit of the input. A function, correlated links
 * that are not normal, and a Student t among other links give a reason instead. Throws
 * `InputError` with every problem of the input.
 *
 * @example
 * chainDistribution({ contributors: [{ id: 'a', nominal: 0, plus: 1, minus: 1, distribution: { kind: 'uniform' } }, { id: 'b', nominal: 0, plus: 1, minus: 1, distribution: { kind: 'uniform' } }] }).upperTail(1.998).tail // -> ~5e-7
 */
export function chainDistribution(input: StackInput): SumDistribution | NotApplicable {
  const { contributors, correlation } = resolveStack(input);
  if (input.function !== undefined) return { reason: 'a function has no exact distribution here' };
  const terms = contributors.map((c) => sumTerm(c.shape, c.moments, c.coefficient));
  return sumDistribution(terms, input.constant ?? 0, correlation);
}
