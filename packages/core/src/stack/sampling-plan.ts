import { blockLength } from '../numeric/block-layout.js';
import { choleskySemidefinite, type Matrix } from '../numeric/linear-algebra.js';
import { sobolDimensionLimit } from '../numeric/sobol.js';
import { InputError, type Problem } from '../problems/problem.js';
import { type BlockDraws, blockSampler } from './block-sampler.js';
import { linearTree } from './function-tree.js';
import { resolveStack, threeSigmaCoverage } from './resolve-stack.js';
import type { SampledFunction } from './tree-function.js';
import { compileTree, type TreeProgram } from './tree-program.js';
import type { RequirementLimits, ResolvedContributor, StackFunction, StackInput } from './types.js';

/** Independent scramblings of a quasi-random run, from whose scatter the confidence is taken. */
export const sobolReplicates = 16 as const;

/** Points are numbered in 32 bits within a replicate. */
const sobolSampleLimit = sobolReplicates * 2 ** 31;

/** What is sampled: a chain or a function of contributors whose distributions are in place. */
export interface PlacedStack {
  readonly contributors: readonly Pick<
    ResolvedContributor,
    'id' | 'shape' | 'moments' | 'coefficient'
  >[];
  /** Absent: sum(coefficient * contributor) + constant. From `treeFunction` or `loopFunction`. */
  readonly function?: StackFunction;
  readonly constant?: number;
  /** Correlation of the contributors' normal scores (a Gaussian copula). */
  readonly correlation?: Matrix;
  readonly requirement?: RequirementLimits;
}

/** A figure and the half width of its confidence interval at which a run may stop. */
export interface Precision {
  /** `range`: the worse of the two ends of the central coverage interval. */
  readonly of: 'mean' | 'sigma' | 'inLimits' | 'range';
  readonly halfWidth: number;
}

export interface SamplingOptions {
  /** Whole number from 0; 1 when absent. The same seed gives the same samples everywhere. */
  readonly seed?: number;
  /** `sobol`: scrambled quasi-random points, 16 independent scramblings. */
  readonly scheme?: 'random' | 'sobol';
  /** Samples to draw, at most; 1e6 when absent. Rounded up to whole blocks of 1024. */
  readonly samples?: number;
  /** Stop sooner, at the end of a round, when this is reached. Rounds double the samples. */
  readonly precision?: Precision;
  /** Confidence of every interval; 0.95 when absent. */
  readonly confidence?: number;
  /** Share that the coverage intervals hold; that of the stack when absent. */
  readonly coverage?: number;
  /** Extra probabilities whose quantiles are wanted; those of the stack when absent. */
  readonly quantiles?: readonly number[];
}

/** Everything that a worker needs to draw any block of a run, and the run's stopping rule. Plain data. */
export interface SamplingPlan extends BlockDraws {
  /** Values are counted as (value - centre) / unit: about the mean and sd of a pilot block. */
  readonly centre: number;
  readonly unit: number;
  readonly requirement: RequirementLimits;
  readonly blocks: number;
  readonly precision?: Precision;
  readonly confidence: number;
  readonly coverage: number;
  readonly quantiles: readonly number[];
}

/** Far beyond any block of a run. */
const pilotBlock = 2 ** 40;

/**
 * Prepares a Monte Carlo run of a stack: checks it as `stackUp` does, and puts into plain data what
 * `sampleBlocks` needs. Coverage and quantiles are those of the stack unless the options say
 * otherwise. Throws `InputError` with the problems of the stack, when its function cannot be sampled
 * (it must come from `treeFunction` or `loopFunction`), or when an option is out of range.
 *
 * @example
 * planSampling({ contributors: [{ id: 'a', nominal: 5, plus: 0.1, minus: 0.1 }] }, { samples: 5000 }).blocks // -> 5
 */
export function planSampling(input: StackInput, options: SamplingOptions = {}): SamplingPlan {
  const { contributors, correlation, requirement, coverage } = resolveStack(input);
  return planPlacedSampling(
    {
      contributors,
      ...(input.function === undefined ? {} : { function: input.function }),
      ...(input.constant === undefined ? {} : { constant: input.constant }),
      ...(correlation === undefined ? {} : { correlation }),
      ...(requirement === undefined ? {} : { requirement }),
    },
    { coverage, quantiles: input.quantiles ?? [], ...options },
  );
}

/** `planSampling` for distributions that are in place. */
export function planPlacedSampling(
  input: PlacedStack,
  options: SamplingOptions = {},
): SamplingPlan {
  const {
    seed = 1,
    scheme = 'random',
    samples = 1_000_000,
    confidence = 0.95,
    coverage = threeSigmaCoverage,
    quantiles = [],
  } = options;
  checkOptions({ seed, samples, confidence, coverage, quantiles });
  const program = samplingProgram(input);
  const order = program.variables.map((name) =>
    input.contributors.findIndex((contributor) => contributor.id === name),
  );
  if (scheme === 'sobol' && samples > sobolSampleLimit) {
    fail(
      'out-of-range',
      'samples',
      `${samples} samples: at most ${sobolSampleLimit} quasi-random ones`,
    );
  }
  if (scheme === 'sobol' && order.length > sobolDimensionLimit) {
    fail(
      'out-of-range',
      'contributors',
      `quasi-random points exist for ${sobolDimensionLimit} contributors, not ${order.length}`,
    );
  }
  const shapes = order.flatMap((index) => input.contributors[index]?.shape ?? []);
  const mixing = mixingFactor(input.correlation, order);
  const draws: BlockDraws = {
    scheme,
    seed,
    replicates: scheme === 'sobol' ? sobolReplicates : 1,
    shapes,
    program,
    ...(mixing === undefined ? {} : { mixing }),
  };
  const requested = Math.max(2, Math.ceil(samples / blockLength));
  return {
    ...draws,
    ...pilot(draws),
    requirement: input.requirement ?? {},
    // a Sobol sequence is balanced at powers of two
    blocks:
      scheme === 'sobol'
        ? sobolReplicates * 2 ** Math.ceil(Math.log2(Math.max(1, requested / sobolReplicates)))
        : requested,
    confidence,
    coverage,
    quantiles,
    ...(options.precision === undefined ? {} : { precision: options.precision }),
  };
}

function samplingProgram(input: PlacedStack): TreeProgram {
  const { contributors, constant = 0 } = input;
  const fn = input.function;
  if (fn === undefined) {
    const terms = contributors.map(({ id, coefficient }) => ({ name: id, coefficient }));
    return compileTree(
      linearTree(terms, constant),
      terms.map((term) => term.name),
    );
  }
  const byId = new Map(contributors.map((contributor) => [contributor.id, contributor]));
  const unknown = fn.variables.find((name) => !byId.has(name));
  if (unknown !== undefined) fail('unknown-id', 'function', `"${unknown}" is no contributor`);
  if (!isSampled(fn)) fail('wrong-type', 'function', 'this function cannot be sampled');
  return fn.samplingProgram(fn.variables.map((name) => byId.get(name)?.moments.mean ?? Number.NaN));
}

const isSampled = (fn: StackFunction): fn is SampledFunction => 'samplingProgram' in fn;

function mixingFactor(
  correlation: Matrix | undefined,
  order: readonly number[],
): Matrix | undefined {
  if (correlation === undefined) return undefined;
  const part = order.map((row) => order.map((column) => correlation[row]?.[column] ?? Number.NaN));
  const factor = choleskySemidefinite(part);
  if (factor === undefined) {
    fail('inconsistent', 'correlation', 'the correlation matrix is not positive semidefinite');
  }
  return factor;
}

/** Middle and spread of one block, from a stream of its own. */
function pilot(draws: BlockDraws): { readonly centre: number; readonly unit: number } {
  const sampler = blockSampler({ ...draws, scheme: 'random', replicates: 1 });
  sampler.draw(pilotBlock);
  const values = Array.from(sampler.kernel.registers[sampler.result] ?? []).filter(Number.isFinite);
  if (values.length === 0) {
    fail('inconsistent', 'function', 'the function has no value at any of the first samples');
  }
  const centre = values.reduce((sum, value) => sum + value / values.length, 0);
  const square = values.reduce((sum, value) => sum + (value - centre) ** 2 / values.length, 0);
  return { centre, unit: square > 0 ? Math.sqrt(square) : Math.max(1e-12, Math.abs(centre)) };
}

function checkOptions(
  options: Required<
    Pick<SamplingOptions, 'seed' | 'samples' | 'confidence' | 'coverage' | 'quantiles'>
  >,
): void {
  const { seed, samples, confidence, coverage, quantiles } = options;
  if (!Number.isSafeInteger(seed) || seed < 0) {
    fail('out-of-range', 'seed', `the seed ${seed} is not a whole number from 0 to 2^53 - 1`);
  }
  if (!(samples >= 1 && samples <= 1e12)) {
    fail('out-of-range', 'samples', `${samples} samples: 1 to 1e12 can be drawn`);
  }
  for (const [name, share] of Object.entries({ confidence, coverage })) {
    if (!(share > 0 && share < 1))
      fail('out-of-range', name, `${name} ${share} is not within 0 and 1`);
  }
  for (const p of quantiles) {
    if (!(p > 0 && p < 1))
      fail('out-of-range', 'quantiles', `the probability ${p} is not within 0 and 1`);
  }
}

function fail(code: Problem['code'], path: string, message: string): never {
  throw new InputError([{ code, place: { path }, message }]);
}
