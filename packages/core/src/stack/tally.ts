import type { BlockKernel } from '../numeric/block-layout.js';

// Bins over z = (value - centre) / unit: equal ones to 8 units either side, beyond that
// `octaveBins` to each doubling, up to 2^octaves times as far.
export const innerReach: number = 8;
export const innerBins: number = 16_384;
const octaves = 40;
const octaveBins = 256;
const tailBins = octaves * octaveBins;

/** Sums are kept as whole multiples of 2^-40, so that adding them up in any order gives the same. */
const grain = 2 ** 40;

/** A number of samples seen so far, of one replicate. Plain data; any order of merging is the same. */
export interface Tally {
  readonly blocks: number;
  /** Samples with a value. */
  readonly count: number;
  /** Samples at which the function has no (finite) value. */
  readonly undefinedCount: number;
  /** Sums of z, z^2, z^3, z^4 in grains of 2^-40. */
  readonly powers: readonly [bigint, bigint, bigint, bigint];
  readonly least: number;
  readonly most: number;
  readonly below: number;
  readonly above: number;
  /** Counts by bin, lowest first: tail, inner bins, tail. */
  readonly bins: Float64Array;
}

export function emptyTally(): Tally {
  return {
    blocks: 0,
    count: 0,
    undefinedCount: 0,
    powers: [0n, 0n, 0n, 0n],
    least: Number.POSITIVE_INFINITY,
    most: Number.NEGATIVE_INFINITY,
    below: 0,
    above: 0,
    bins: new Float64Array(innerBins + 2 * tailBins),
  };
}

export function mergeTally(a: Tally, b: Tally): Tally {
  const bins = a.bins.slice();
  b.bins.forEach((count, bin) => {
    bins[bin] = (bins[bin] ?? 0) + count;
  });
  const [a1, a2, a3, a4] = a.powers;
  const [b1, b2, b3, b4] = b.powers;
  return {
    blocks: a.blocks + b.blocks,
    count: a.count + b.count,
    undefinedCount: a.undefinedCount + b.undefinedCount,
    powers: [a1 + b1, a2 + b2, a3 + b3, a4 + b4],
    least: Math.min(a.least, b.least),
    most: Math.max(a.most, b.most),
    below: a.below + b.below,
    above: a.above + b.above,
    bins,
  };
}

/** Sum of z^k over the samples, k = 1 to 4. */
export function powerSum(tally: Tally, power: 1 | 2 | 3 | 4): number {
  return Number(tally.powers[power - 1] ?? 0n) / grain;
}

/** Bin of a z outside the inner bins; how far out is halved exactly until it is within one doubling. */
function tailBin(z: number): number {
  let size = Math.abs(z) / innerReach;
  let octave = 0;
  while (size >= 2 && octave < octaves - 1) {
    size /= 2;
    octave++;
  }
  const step = Math.min(octaveBins - 1, Math.max(0, Math.floor((size - 1) * octaveBins)));
  const outward = octave * octaveBins + step;
  return z < 0 ? tailBins - 1 - outward : tailBins + innerBins + outward;
}

/** Lower end, in z, of a bin; the upper end is that of the next. */
export function binStart(bin: number): number {
  if (bin >= tailBins && bin <= tailBins + innerBins) {
    return ((bin - tailBins) / innerBins) * 2 * innerReach - innerReach;
  }
  const outward = bin < tailBins ? tailBins - bin : bin - tailBins - innerBins;
  const octave = Math.floor(outward / octaveBins);
  const size = innerReach * 2 ** octave * (1 + (outward % octaveBins) / octaveBins);
  return bin < tailBins ? -size : size;
}

/** How values are counted: z = (value - centre) * perUnit, limits in the values' own unit. */
export interface TallyScale {
  readonly centre: number;
  readonly perUnit: number;
  readonly lower: number;
  readonly upper: number;
}

export interface TallyCounter {
  /** Adds the block of values in a register. */
  add(register: number): void;
  finish(): Tally;
}

/** Counts blocks of a kernel. The kernel's counts are taken over: one counter at a time. */
export function tallyCounter(kernel: BlockKernel, scale: TallyScale): TallyCounter {
  const { centre, perUnit, lower, upper } = scale;
  const binsPerUnit = innerBins / (2 * innerReach);
  const bins = emptyTally().bins;
  const powers: [bigint, bigint, bigint, bigint] = [0n, 0n, 0n, 0n];
  let blocks = 0;
  let count = 0;
  let undefinedCount = 0;
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  let below = 0;
  let above = 0;
  kernel.counts.fill(0);

  const addPowers = (sums: readonly number[]): void => {
    for (let k = 0; k < 4; k++)
      powers[k] = (powers[k] ?? 0n) + BigInt(Math.round((sums[k] ?? 0) * grain));
  };
  /** A block that holds values which are not numbers: one at a time, leaving those out. */
  const addOneByOne = (values: Float64Array): void => {
    const sums = [0, 0, 0, 0];
    for (const y of values) {
      const z = (y - centre) * perUnit;
      const square = z * z;
      if (!Number.isFinite(square * square)) {
        undefinedCount++;
        continue;
      }
      count++;
      [z, square, square * z, square * square].forEach((term, k) => {
        sums[k] = (sums[k] ?? 0) + term;
      });
      least = Math.min(least, y);
      most = Math.max(most, y);
      if (y < lower) below++;
      if (y > upper) above++;
      const bin = Math.floor(z * binsPerUnit + innerBins / 2);
      const at = bin >= 0 && bin < innerBins ? tailBins + bin : tailBin(z);
      bins[at] = (bins[at] ?? 0) + 1;
    }
    addPowers(sums);
  };
  return {
    add: (register) => {
      const values = kernel.registers[register];
      if (values === undefined) return;
      blocks++;
      const sums = kernel.sums(register, centre, perUnit, lower, upper);
      if (!Number.isFinite(sums.powers[3])) {
        addOneByOne(values);
        return;
      }
      count += values.length;
      addPowers(sums.powers);
      least = Math.min(least, sums.least);
      most = Math.max(most, sums.most);
      below += sums.below;
      above += sums.above;
      for (const z of kernel.count(register, centre, perUnit, binsPerUnit)) {
        const at = tailBin(z);
        bins[at] = (bins[at] ?? 0) + 1;
      }
    },
    finish: () => {
      kernel.counts.forEach((inBin, bin) => {
        bins[tailBins + bin] = (bins[tailBins + bin] ?? 0) + inBin;
      });
      return { blocks, count, undefinedCount, powers, least, most, below, above, bins };
    },
  };
}
