import { sampleStack } from './monte-carlo.js';
import { resolveStack } from './resolve-stack.js';
import type { SamplingOptions } from './sampling-plan.js';
import type { MonteCarloResult } from './sampling-summary.js';
import { stackUp } from './stack-up.js';
import type { DistributionKind, StackInput, StackResult } from './types.js';

/** A contributor as it was understood, in the unit of the input. */
export interface ReportedContributor {
  readonly id: string;
  readonly nominal: number;
  readonly lower: number;
  readonly upper: number;
  readonly distribution: DistributionKind;
  readonly mean: number;
  readonly sigma: number;
  readonly source?: string;
}

/** Does the stack meet its requirement often enough? */
export interface StackVerdict {
  /** The exact distribution where there is one, else Monte Carlo. */
  readonly by: 'exact' | 'monte-carlo';
  readonly inLimits: number;
  /** Least probability that is wanted. */
  readonly minimum: number;
  readonly holds: boolean;
}

/** A stack with all methods, Monte Carlo among them. Plain data, schema `stack-result/1`. */
export interface StackReport extends StackResult {
  readonly schema: 'stack-result/1';
  /** As the user wrote it; absent for a linear chain. */
  readonly function?: string;
  readonly contributors: readonly ReportedContributor[];
  readonly monteCarlo: MonteCarloResult;
  /** With a requirement. */
  readonly verdict?: StackVerdict;
}

export interface StackReportOptions {
  readonly sampling?: SamplingOptions;
  /** Least probability of a result in limits; 0.9973 when absent. */
  readonly minimum?: number;
}

/** Share of parts in limits that is wanted when nothing else is said. */
export const usualMinimum = 0.9973;

/**
 * Stacks up, samples, and says whether the requirement is met often enough: everything that a report
 * of one stack shows. Numbers in the unit of the input, probabilities 0 to 1. Throws `InputError` as
 * `stackUp` and `sampleStack` do.
 *
 * @example
 * stackReport({ requirement: { upper: 0.1 }, contributors: [{ id: 'a', nominal: 0, plus: 0.1, minus: 0.1 }] }).verdict.inLimits // -> ~0.99865
 */
export function stackReport(input: StackInput, options: StackReportOptions = {}): StackReport {
  const { contributors } = resolveStack(input);
  const { name, ...result } = stackUp(input);
  const monteCarlo = sampleStack(input, options.sampling);
  const minimum = options.minimum ?? usualMinimum;
  const { exact } = result;
  const best: Pick<StackVerdict, 'by' | 'inLimits'> | undefined =
    'conformity' in exact && exact.conformity !== undefined
      ? { by: 'exact', inLimits: exact.conformity.inLimits }
      : monteCarlo.inLimits && { by: 'monte-carlo', inLimits: monteCarlo.inLimits.value };
  return {
    schema: 'stack-result/1',
    ...(name === undefined ? {} : { name }),
    ...(input.function === undefined ? {} : { function: input.function.text }),
    ...(best === undefined
      ? {}
      : { verdict: { ...best, minimum, holds: best.inLimits >= minimum } }),
    contributors: contributors.map(({ id, nominal, lower, upper, moments }, index) => {
      const given = input.contributors[index];
      return {
        id,
        nominal,
        lower,
        upper,
        distribution: given?.distribution?.kind ?? 'normal',
        mean: moments.mean,
        sigma: moments.sd,
        ...(given?.source === undefined ? {} : { source: given.source }),
      };
    }),
    ...result,
    monteCarlo,
  };
}
