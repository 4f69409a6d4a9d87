import type { LinearForm } from './linear-methods.js';
import type { ResolvedStack } from './resolve-stack.js';
import type { Moments, RequirementLimits, StackResult, WorstCaseResult } from './types.js';

/** What differs between a linear chain and a function. */
export interface StackParts {
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

/** The linear form that the methods of linear-methods.ts work on. */
export function linearForm(
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

export const worstAssumes = 'every contributor may sit at either limit, all at their worst at once';

/** Whether the extremes meet the requirement, where there is one. */
export function verdict(
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

/** The higher moments that are numbers: JSON has no infinity. */
export function finiteMoments({
  skewness,
  excessKurtosis,
}: Moments): Partial<Pick<Moments, 'skewness' | 'excessKurtosis'>> {
  return {
    ...(Number.isFinite(skewness) ? { skewness } : {}),
    ...(Number.isFinite(excessKurtosis) ? { excessKurtosis } : {}),
  };
}
