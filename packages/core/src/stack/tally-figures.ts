import { binStart, powerSum, type Tally } from './tally.js';

/** A tally with its extremes in z too. */
export type ScaledTally = Tally;

/** Figures of a tally in its own scale, z = (value - centre) / unit. */
export interface TallyMoments {
  readonly mean: number;
  readonly sd: number;
  readonly skewness: number;
  readonly excessKurtosis: number;
}

/** `independent`: the variance of n independent samples is divided by n - 1, else by n. */
export function tallyMoments(tally: Tally, independent: boolean): TallyMoments {
  const n = tally.count;
  const a1 = powerSum(tally, 1) / n;
  const a2 = powerSum(tally, 2) / n;
  const a3 = powerSum(tally, 3) / n;
  const a4 = powerSum(tally, 4) / n;
  const m2 = Math.max(0, a2 - a1 * a1);
  const m3 = a3 - 3 * a1 * a2 + 2 * a1 ** 3;
  const m4 = a4 - 4 * a1 * a3 + 6 * a1 * a1 * a2 - 3 * a1 ** 4;
  return {
    mean: a1,
    sd: Math.sqrt(independent ? (m2 * n) / (n - 1) : m2),
    skewness: m2 === 0 ? 0 : m3 / m2 ** 1.5,
    excessKurtosis: m2 === 0 ? 0 : m4 / m2 ** 2 - 3,
  };
}

/**
 * Standard errors of the moments of n independent samples, from the scatter of each figure's
 * influence function over the bins (mean: z; sd: (z^2 - 1)/2; skewness g: z^3 - 3z - g - 3g(z^2 - 1)/2;
 * kurtosis b: z^4 - b - 4gz - 2b(z^2 - 1), z standardised). For a normal they are the usual
 * 1/sqrt(n), 1/sqrt(2n), sqrt(6/n) and sqrt(24/n).
 */
export function momentErrors(tally: ScaledTally, moments: TallyMoments): TallyMoments {
  const { mean, sd, skewness: g } = moments;
  const b = moments.excessKurtosis + 3;
  if (sd === 0) return { mean: 0, sd: 0, skewness: 0, excessKurtosis: 0 };
  const scatter = [0, 0, 0, 0];
  tally.bins.forEach((inBin, bin) => {
    if (inBin === 0) return;
    const [low, high] = binEnds(tally, bin);
    const z = ((low + high) / 2 - mean) / sd;
    const square = z * z;
    const influences = [
      z,
      (square - 1) / 2,
      z * square - 3 * z - g - 1.5 * g * (square - 1),
      square * square - b - 4 * g * z - 2 * b * (square - 1),
    ];
    influences.forEach((influence, k) => {
      scatter[k] = (scatter[k] ?? 0) + inBin * influence * influence;
    });
  });
  const [first, second, third, fourth] = scatter.map((sum) => Math.sqrt(sum) / tally.count);
  return {
    mean: sd * (first ?? 0),
    sd: sd * (second ?? 0),
    skewness: third ?? 0,
    excessKurtosis: fourth ?? 0,
  };
}

/** Ends of a bin, cut to the values seen. */
function binEnds(tally: ScaledTally, bin: number): readonly [number, number] {
  return [
    Math.max(tally.least, binStart(bin)),
    Math.min(tally.most, Math.max(tally.least, binStart(bin + 1))),
  ];
}

/** Running counts over the bins, for many quantiles of one tally. */
export interface Cumulative {
  /** Value below which a share p of the samples lies, by the bins, even within a bin. */
  quantile(p: number): number;
  /** Width of the bin in which the quantile lies: the bound on its error from binning. */
  width(p: number): number;
  /** The shortest interval that holds the share, and the share below its lower end. */
  shortest(share: number): {
    readonly lower: number;
    readonly upper: number;
    readonly below: number;
  };
}

export function cumulate(tally: ScaledTally): Cumulative {
  const filled: number[] = [];
  const before: number[] = [];
  let sum = 0;
  tally.bins.forEach((inBin, bin) => {
    if (inBin === 0) return;
    filled.push(bin);
    before.push(sum);
    sum += inBin;
  });
  const total = sum;
  const place = (p: number): number => {
    const wanted = p * total;
    let low = 0;
    let high = filled.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if ((before[middle] ?? 0) <= wanted) low = middle;
      else high = middle - 1;
    }
    return low;
  };
  const quantile = (p: number): number => {
    if (p <= 0) return tally.least;
    if (p >= 1) return tally.most;
    const at = place(p);
    const bin = filled[at] ?? 0;
    const [low, high] = binEnds(tally, bin);
    const within = (p * total - (before[at] ?? 0)) / (tally.bins[bin] ?? 1);
    return low + (high - low) * Math.min(1, Math.max(0, within));
  };
  return {
    quantile,
    width: (p) => {
      const [low, high] = binEnds(tally, filled[place(Math.min(1, Math.max(0, p)))] ?? 0);
      return high - low;
    },
    shortest: (share) => {
      let best = { lower: tally.least, upper: tally.most, below: 0 };
      const offer = (below: number): void => {
        if (below < 0 || below + share > 1) return;
        const lower = quantile(below);
        const upper = quantile(below + share);
        if (upper - lower < best.upper - best.lower) best = { lower, upper, below };
      };
      // intervals that start at a bin's lower end, and those that end at its upper end
      filled.forEach((bin, at) => {
        const start = before[at] ?? 0;
        offer(start / total);
        offer((start + (tally.bins[bin] ?? 0)) / total - share);
      });
      return best;
    },
  };
}
