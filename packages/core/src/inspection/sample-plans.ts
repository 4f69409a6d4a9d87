import { compensatedSum } from '../numeric/sum.js';
import { InputError, type Problem } from '../problems/problem.js';

/** How many parts of a lot are measured, and with how many bad ones it is still accepted. */
export interface SamplePlan {
  /** Parts that are measured; the lot when all are. */
  readonly sampleSize: number;
  /** Accepted with so many bad parts or fewer in the sample. */
  readonly accept: number;
  /** Rejected with so many or more. */
  readonly reject: number;
}

/** Parts of a lot, bad parts among them, parts drawn and bad parts allowed among those. */
export interface LotSample {
  readonly lotSize: number;
  readonly badParts: number;
  readonly sampleSize: number;
  readonly accept: number;
}

/** More parts than this are no lot of printed parts, and sums over them take long. */
const largestLot = 1_000_000;

/**
 * Probability that a lot with a known number of bad parts is accepted: at most `accept` bad ones in a
 * sample drawn without putting back (hypergeometric distribution, exact; relative error below 1e-9
 * for lots up to 10,000). Throws `InputError` when a count is not whole or does not fit the lot.
 *
 * @example
 * acceptanceProbability({ lotSize: 20, badParts: 2, sampleSize: 14, accept: 0 }) // -> ~0.0789474
 */
export function acceptanceProbability(sample: LotSample): number {
  const { lotSize, badParts, sampleSize, accept } = sample;
  const problems = [
    ...wholeFrom('lotSize', lotSize, 1, largestLot),
    ...wholeFrom('badParts', badParts, 0, lotSize),
    ...wholeFrom('sampleSize', sampleSize, 0, lotSize),
    ...wholeFrom('accept', accept, 0, largestLot),
  ];
  if (problems.length > 0) throw new InputError(problems);
  const good = lotSize - badParts;
  // fewer cannot be in the sample: the good parts do not fill it
  const fewest = Math.max(0, sampleSize - good);
  const most = Math.min(accept, badParts, sampleSize);
  if (most < fewest) return 0;
  if (most === Math.min(badParts, sampleSize)) return 1;
  let logTerm =
    fewest === 0
      ? logRatio(good, lotSize, sampleSize)
      : logRatio(badParts, lotSize, lotSize - sampleSize);
  const logs = [logTerm];
  for (let bad = fewest; bad < most; bad++) {
    const up = (badParts - bad) * (sampleSize - bad);
    const down = (bad + 1) * (good - sampleSize + bad + 1);
    logTerm += Math.log(up / down);
    logs.push(logTerm);
  }
  return Math.min(1, compensatedSum(logs.map(Math.exp)));
}

/** Logarithm of the product of (from - i) / (of - i) for i below `count`. */
function logRatio(from: number, of: number, count: number): number {
  const logs = function* (): Iterable<number> {
    for (let i = 0; i < count; i++) yield Math.log((from - i) / (of - i));
  };
  return compensatedSum(logs());
}

/** What a zero-acceptance sample is to protect from. */
export interface ZeroAcceptanceDemand {
  readonly lotSize: number;
  /** Share of bad parts from which on a lot is to be found out, between 0 and 1. */
  readonly badShare: number;
  /** Probability with which such a lot may still pass, between 0 and 1; 0.1 is usual. */
  readonly consumerRisk: number;
}

/** A probability that meets its limit up to rounding meets it. */
const rounding = 1e-12;

/**
 * The least sample that, accepted with no bad part only, lets a lot with the stated share of bad parts
 * (rounded up to whole parts) pass with at most the stated risk: C(N - D, n) / C(N, n) <= risk,
 * hypergeometric and exact. Throws `InputError` for shares outside 0 to 1 or a lot that is not whole.
 *
 * @example
 * zeroAcceptancePlan({ lotSize: 50, badShare: 0.1, consumerRisk: 0.1 }).sampleSize // -> 18
 */
export function zeroAcceptancePlan(demand: ZeroAcceptanceDemand): SamplePlan {
  const { lotSize, badShare, consumerRisk } = demand;
  const problems = [
    ...wholeFrom('lotSize', lotSize, 1, largestLot),
    ...shareOf('badShare', badShare),
    ...shareOf('consumerRisk', consumerRisk),
  ];
  if (problems.length > 0) throw new InputError(problems);
  const badParts = Math.ceil(lotSize * badShare * (1 - rounding));
  const passes = (sampleSize: number): boolean =>
    acceptanceProbability({ lotSize, badParts, sampleSize, accept: 0 }) <=
    consumerRisk * (1 + rounding);
  const sampleSize = leastThat(passes, 1, lotSize - badParts + 1);
  return { sampleSize, accept: 0, reject: 1 };
}

/**
 * The fewest bad parts with which a lot passes the sample with at most the stated risk, so what the
 * sample finds out with probability 1 - risk; undefined when it finds out no lot, not even one that
 * is all bad. Throws as `acceptanceProbability` does.
 *
 * @example
 * badPartsFound({ lotSize: 24, sampleSize: 5, accept: 0 }, 0.1) // -> 9
 */
export function badPartsFound(
  sample: Omit<LotSample, 'badParts'>,
  consumerRisk: number,
): number | undefined {
  const problems = shareOf('consumerRisk', consumerRisk);
  if (problems.length > 0) throw new InputError(problems);
  const passes = (badParts: number): boolean =>
    acceptanceProbability({ ...sample, badParts }) <= consumerRisk * (1 + rounding);
  if (!passes(sample.lotSize)) return undefined;
  return leastThat(passes, 1, sample.lotSize);
}

/** Least whole number with the property, which holds from there on; it holds at `most`. */
function leastThat(holds: (value: number) => boolean, least: number, most: number): number {
  let [low, high] = [least, most];
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    if (holds(middle)) high = middle;
    else low = middle + 1;
  }
  return low;
}

export function wholeFrom(
  path: string,
  value: number,
  least: number,
  most: number,
): readonly Problem[] {
  if (Number.isInteger(value) && value >= least && value <= most) return [];
  return [
    {
      code: 'out-of-range',
      place: { path },
      message: 'not a count that fits',
      value: String(value),
      accept: `a whole number from ${least} to ${most}`,
    },
  ];
}

function shareOf(path: string, value: number): readonly Problem[] {
  if (value > 0 && value < 1) return [];
  return [
    {
      code: 'out-of-range',
      place: { path },
      message: 'not a share',
      value: String(value),
      accept: 'a number between 0 and 1, both left out',
    },
  ];
}
