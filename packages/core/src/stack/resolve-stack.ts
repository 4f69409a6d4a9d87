import { isPositiveSemidefinite, type Matrix } from '../numeric/linear-algebra.js';
import { InputError, type Problem } from '../problems/problem.js';
import { resolveContributor } from './resolve-contributor.js';
import type { RequirementLimits, ResolvedContributor, StackInput } from './types.js';

/** Contributors in one stack, at most. */
export const maxContributors = 1000;

/** Content of ± 3 sigma of a normal. */
export const threeSigmaCoverage = 0.9973002039367398;

export interface ResolvedStack {
  readonly contributors: readonly ResolvedContributor[];
  /** Absent when all are independent. */
  readonly correlation?: Matrix;
  readonly requirement?: RequirementLimits;
  readonly coverage: number;
  readonly notes: readonly string[];
}

/**
 * Checks a whole stack and puts its numbers in place: absolute limits, distributions placed on
 * them, moments; what Monte Carlo samples from. In the unit of the input. Throws `InputError` with
 * every problem found.
 *
 * @example
 * resolveStack({ contributors: [{ id: 'a', nominal: 8, plus: 0.1, minus: 0.1 }] }).contributors[0].halfWidth // -> 0.1
 */
export function resolveStack(input: StackInput): ResolvedStack {
  const problems: Problem[] = [];
  const notes: string[] = [];
  const contributors: ResolvedContributor[] = [];
  const list = input.contributors;
  if (!Array.isArray(list) || list.length === 0 || list.length > maxContributors) {
    const count = Array.isArray(list) ? String(list.length) : typeof list;
    problems.push({
      code: Array.isArray(list) && list.length > 0 ? 'too-large' : 'missing-field',
      place: { path: 'contributors' },
      message: 'a stack needs contributors',
      value: count,
      accept: `1 to ${maxContributors} contributors`,
    });
    throw new InputError(problems);
  }
  const seen = new Set<string>();
  list.forEach((contributor, i) => {
    const path = `contributors[${i}]`;
    const resolved = resolveContributor(contributor, path, problems, notes);
    if (seen.has(contributor.id)) {
      problems.push({
        code: 'duplicate-id',
        place: { path: `${path}.id` },
        message: 'this id is used twice',
        value: contributor.id,
        accept: 'an id of its own',
      });
    }
    seen.add(contributor.id);
    if (resolved !== undefined) contributors.push(resolved);
  });
  checkRequirement(input.requirement, problems);
  checkProbabilities(input, problems);
  if (input.constant !== undefined && !Number.isFinite(input.constant)) {
    problems.push({
      code: 'wrong-type',
      place: { path: 'constant' },
      message: 'the constant must be a finite number',
      value: String(input.constant),
      accept: 'a number',
    });
  }
  for (const variable of input.function?.variables ?? []) {
    if (seen.has(variable)) continue;
    problems.push({
      code: 'unknown-id',
      place: { path: 'function' },
      message: 'the function uses a variable that is no contributor',
      value: variable,
      accept: [...seen].slice(0, 12).join(', '),
    });
  }
  const correlation = checkCorrelation(input.correlation, list.length, problems);
  if (problems.length > 0) throw new InputError(problems);
  return {
    contributors,
    ...(correlation === undefined ? {} : { correlation }),
    ...(input.requirement === undefined ? {} : { requirement: input.requirement }),
    coverage: input.coverage ?? threeSigmaCoverage,
    notes,
  };
}

function checkRequirement(requirement: RequirementLimits | undefined, problems: Problem[]): void {
  if (requirement === undefined) return;
  const { lower, upper } = requirement;
  for (const [field, value] of Object.entries({ lower, upper })) {
    if (value === undefined || Number.isFinite(value)) continue;
    problems.push({
      code: 'wrong-type',
      place: { path: `requirement.${field}` },
      message: 'a limit must be a finite number',
      value: String(value),
      accept: 'a number, or nothing for a one-sided requirement',
    });
  }
  if (lower !== undefined && upper !== undefined && lower > upper) {
    problems.push({
      code: 'inconsistent',
      place: { path: 'requirement' },
      message: 'the lower limit is above the upper limit',
      value: `${lower} to ${upper}`,
      accept: 'lower <= upper',
    });
  }
}

function checkProbabilities(input: StackInput, problems: Problem[]): void {
  const check = (value: number, path: string): void => {
    if (value > 0 && value < 1) return;
    problems.push({
      code: 'out-of-range',
      place: { path },
      message: 'a probability lies between 0 and 1',
      value: String(value),
      accept: 'above 0 and below 1',
    });
  };
  if (input.coverage !== undefined) check(input.coverage, 'coverage');
  input.quantiles?.forEach((p, i) => {
    check(p, `quantiles[${i}]`);
  });
}

/** Undefined when there is none, or none that says anything. */
function checkCorrelation(
  matrix: Matrix | undefined,
  count: number,
  problems: Problem[],
): Matrix | undefined {
  if (matrix === undefined) return undefined;
  const refuse = (path: string, message: string, value: unknown, accept: string): void => {
    problems.push({ code: 'inconsistent', place: { path }, message, value: String(value), accept });
  };
  if (matrix.length !== count || matrix.some((row) => row.length !== count)) {
    const size = `${matrix.length} x ${matrix[0]?.length ?? 0}`;
    refuse('correlation', 'one row and column per contributor', size, `${count} x ${count}`);
    return undefined;
  }
  let isIdentity = true;
  let good = true;
  matrix.forEach((row, i) => {
    row.forEach((value, j) => {
      if (i !== j && value !== 0) isIdentity = false;
      const path = `correlation[${i}][${j}]`;
      if (!(Math.abs(value) <= 1)) {
        refuse(path, 'a correlation lies between -1 and 1', value, '-1 to 1');
        good = false;
      } else if (i === j && value !== 1) {
        refuse(path, 'a contributor correlates fully with itself', value, '1');
        good = false;
      } else if (j > i && Math.abs(value - (matrix[j]?.[i] ?? 0)) > 1e-12) {
        refuse(path, 'the matrix must be symmetric', value, String(matrix[j]?.[i]));
        good = false;
      }
    });
  });
  if (good && !isPositiveSemidefinite(matrix)) {
    const accept = 'a positive semidefinite matrix';
    refuse('correlation', 'no set of variables can have these correlations', 'matrix', accept);
  }
  return isIdentity ? undefined : matrix;
}
