import { blockSampler } from './block-sampler.js';
import { planSampling, type SamplingOptions, type SamplingPlan } from './sampling-plan.js';
import { type MonteCarloResult, precisionReached, summariseSampling } from './sampling-summary.js';
import { mergeSamplingTallies, type SamplingTally } from './sampling-tally.js';
import { tallyCounter } from './tally.js';
import type { StackInput } from './types.js';

/**
 * Draws the blocks `first`, ..., `first + count - 1` of a run. Each block has its own seed and sums
 * are exact, so that any split of the blocks over calls or workers, merged in any order, gives the
 * same tally bit for bit. `make: 'js'` does without WebAssembly, with the same samples.
 *
 * @example
 * sampleBlocks(planSampling({ contributors: [{ id: 'a', nominal: 5, plus: 0.1, minus: 0.1 }] }), 0, 3).replicates[0].count // -> 3072
 */
export function sampleBlocks(
  plan: SamplingPlan,
  first: number,
  count: number,
  make: 'wasm' | 'js' = 'wasm',
): SamplingTally {
  const sampler = blockSampler(plan, make);
  const replicates = Array.from({ length: plan.replicates }, (_, replicate) => {
    const counter = tallyCounter(sampler.kernel, {
      centre: plan.centre,
      perUnit: 1 / plan.unit,
      lower: plan.requirement.lower ?? Number.NEGATIVE_INFINITY,
      upper: plan.requirement.upper ?? Number.POSITIVE_INFINITY,
    });
    for (let block = first; block < first + count; block++) {
      if (block % plan.replicates !== replicate) continue;
      sampler.draw(block);
      counter.add(sampler.result);
    }
    return counter.finish();
  });
  return { replicates };
}

/**
 * The blocks to draw next: the whole run, or with a precision to reach the next round of a run that
 * doubles. Undefined when the run is over. Depends on nothing but the plan and what was seen.
 *
 * @example
 * nextBlocks(planSampling({ contributors: [{ id: 'a', nominal: 5, plus: 0.1, minus: 0.1 }] }, { samples: 1e5 }), undefined) // -> {"first":0,"count":98}
 */
export function nextBlocks(
  plan: SamplingPlan,
  seen: SamplingTally | undefined,
): { readonly first: number; readonly count: number } | undefined {
  const done = seen?.replicates.reduce((sum, tally) => sum + tally.blocks, 0) ?? 0;
  if (done >= plan.blocks) return undefined;
  if (plan.precision === undefined) return { first: done, count: plan.blocks - done };
  if (seen !== undefined && precisionReached(plan, summariseSampling(plan, seen))) return undefined;
  return { first: done, count: Math.min(plan.blocks, Math.max(firstRound, 2 * done)) - done };
}

const firstRound = 16;

/**
 * Monte Carlo of a chain or a function, in the unit of the stack, on one thread. The samples depend
 * on the seed alone. With `scheme: 'sobol'` the points are scrambled quasi-random ones, which settle
 * the mean and sigma with far fewer samples. Propagation of distributions as in JCGM 101:2008,
 * clause 7; coverage intervals as in its 7.7; correlated contributors by a Gaussian copula. Throws
 * `InputError` as `planSampling` does.
 *
 * @example
 * sampleStack({ contributors: [{ id: 'a', nominal: 5, plus: 0.1, minus: 0.1, distribution: { kind: 'uniform' } }] }, { samples: 1e5 }).mean.value.toFixed(2) // -> "5.00"
 */
export function sampleStack(input: StackInput, options: SamplingOptions = {}): MonteCarloResult {
  return runSampling(planSampling(input, options));
}

/**
 * Draws all blocks of a run on one thread, round by round, and gives its figures.
 *
 * @example
 * runSampling(planSampling({ contributors: [{ id: 'a', nominal: 5, plus: 0.1, minus: 0.1 }] }, { samples: 1e4 })).samples // -> 10240
 */
export function runSampling(plan: SamplingPlan): MonteCarloResult {
  let seen: SamplingTally | undefined;
  for (let next = nextBlocks(plan, seen); next !== undefined; next = nextBlocks(plan, seen)) {
    const drawn = sampleBlocks(plan, next.first, next.count);
    seen = seen === undefined ? drawn : mergeSamplingTallies(seen, drawn);
  }
  return summariseSampling(plan, seen ?? sampleBlocks(plan, 0, 0));
}
