import { emptyTally, mergeTally, type Tally } from './tally.js';

/** What a run has seen so far, one tally for each replicate. Plain data for sending between workers. */
export interface SamplingTally {
  readonly replicates: readonly Tally[];
}

/**
 * Merges what two sets of blocks have seen. Any order of merging gives the same tally bit for bit.
 *
 * @example
 * ((plan) => mergeSamplingTallies(sampleBlocks(plan, 0, 1), sampleBlocks(plan, 1, 2)).replicates[0].count)(planSampling({ contributors: [{ id: 'a', nominal: 5, plus: 0.1, minus: 0.1 }] })) // -> 3072
 */
export function mergeSamplingTallies(a: SamplingTally, b: SamplingTally): SamplingTally {
  return {
    replicates: a.replicates.map((tally, i) => mergeTally(tally, b.replicates[i] ?? emptyTally())),
  };
}
