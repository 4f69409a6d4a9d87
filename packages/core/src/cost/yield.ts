import { betaLower } from '../numeric/beta-function.js';

/** Shares of one pass through a step; what is neither is good. */
export interface StepShares {
  /** Parts that the step spoils, from 0 to below 1. */
  readonly scrap: number;
  /** Parts that have to go through the step again, from 0; together with scrap below 1. */
  readonly rework: number;
}

/**
 * What becomes of a part in a step with its rework loop, when every pass is like the first: it is lost
 * with scrap / (1 - rework) and goes through 1 / (1 - rework) times on average (geometric series).
 *
 * @throws RangeError when a share is negative or both reach 1
 * @example
 * afterRework({ scrap: 0.02, rework: 0.2 }).lost // -> ~0.025
 */
export function afterRework({ scrap, rework }: StepShares): {
  readonly lost: number;
  readonly passes: number;
} {
  if (!(scrap >= 0 && rework >= 0 && scrap + rework < 1))
    throw new RangeError(
      `scrap ${scrap} and rework ${rework} must be from 0 up and together below 1`,
    );
  return { lost: scrap / (1 - rework), passes: 1 / (1 - rework) };
}

/**
 * Probability that at least `wanted` of `started` parts end good, each by itself with probability
 * `good`: the upper tail of the binomial distribution, as the incomplete beta function
 * I_good(wanted, started - wanted + 1) (DLMF 8.17.5). Exact to the rounding of that function.
 *
 * @throws RangeError for a probability outside 0 to 1 or counts that are not whole
 * @example
 * enoughGood(0.9, 10, 9) // -> ~0.7361
 */
export function enoughGood(good: number, started: number, wanted: number): number {
  if (!(good >= 0 && good <= 1)) throw new RangeError(`a probability from 0 to 1, not ${good}`);
  if (!Number.isInteger(started) || !Number.isInteger(wanted) || started < 0 || wanted < 0)
    throw new RangeError(`whole numbers of parts, not ${wanted} of ${started}`);
  if (wanted === 0) return 1;
  if (wanted > started) return 0;
  if (good === 0 || good === 1) return good;
  return betaLower(wanted, started - wanted + 1, good);
}

/**
 * Fewest parts to start so that at least `wanted` end good with a probability of `target` or more.
 *
 * @param good probability that a part that is started ends good, above 0
 * @param target from 0 to below 1 (1 only when every part ends good)
 * @throws RangeError when no number is enough
 * @example
 * partsToStart(0.9, 9, 0.7) // -> 10
 */
export function partsToStart(good: number, wanted: number, target: number): number {
  if (!(target >= 0 && (target < 1 || (target === 1 && good === 1))))
    throw new RangeError(`a target from 0 to below 1, not ${target}`);
  if (!(good > 0)) throw new RangeError('no number of parts is enough when none ends good');
  let low = wanted - 1;
  let high = wanted;
  while (enoughGood(good, high, wanted) < target) {
    low = high;
    high = Math.ceil(high * 1.25) + 1;
  }
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (enoughGood(good, middle, wanted) >= target) high = middle;
    else low = middle;
  }
  return high;
}
