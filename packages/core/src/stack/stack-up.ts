import { contributions, tightenFirst } from './contributions.js';
import { functionParts } from './function-parts.js';
import { estimatedMeanShift, inflatedRss, rss, sixSigma } from './linear-methods.js';
import { linearParts } from './linear-parts.js';
import { momentsMethod } from './moments-method.js';
import { resolveStack } from './resolve-stack.js';
import type { StackInput, StackResult } from './types.js';

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
