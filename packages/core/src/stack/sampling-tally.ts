import { emptyTally, mergeTally, type Tally } from './tally.js';

/** What a run has seen so far, one tally for each replicate. Plain data for sending between workers. */
export interface SamplingTally {
  readonly replicates: readonly Tally[];
}

/** Merges what two sets of blocks have seen. */
export function mergeSamplingTallies(a: SamplingTally, b: SamplingTally): SamplingTally {
  return {
    replicates: a.replicates.map((tally, i) => mergeTally(tally, b.replicates[i] ?? emptyTally())),
  };
}
