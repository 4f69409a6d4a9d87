import { mixWord } from './random.js';
import { sobolDirections } from './sobol-directions.js';

/** Dimensions that the table of direction numbers covers. */
export const sobolDimensionLimit: number = sobolDirections.length + 1;

const bits = 32;

/** Direction numbers of a dimension, counted from 0, as 32-bit words. */
function directionsOf(dimension: number): Int32Array {
  const words = new Int32Array(bits);
  const row = sobolDirections[dimension - 1];
  if (row === undefined) {
    // dimension 0: van der Corput
    for (let i = 0; i < bits; i++) words[i] = 1 << (bits - 1 - i);
    return words;
  }
  const [polynomial, first] = row;
  const degree = first.length;
  first.forEach((m, i) => {
    words[i] = m << (bits - 1 - i);
  });
  for (let i = degree; i < bits; i++) {
    const back = words[i - degree] ?? 0;
    let word = back ^ (back >>> degree);
    for (let k = 1; k < degree; k++) {
      if ((polynomial >> (degree - k)) & 1) word ^= words[i - k] ?? 0;
    }
    words[i] = word;
  }
  return words;
}

function reverseBits(word: number): number {
  let x = word;
  x = ((x >>> 1) & 0x55555555) | ((x & 0x55555555) << 1);
  x = ((x >>> 2) & 0x33333333) | ((x & 0x33333333) << 2);
  x = ((x >>> 4) & 0x0f0f0f0f) | ((x & 0x0f0f0f0f) << 4);
  x = ((x >>> 8) & 0x00ff00ff) | ((x & 0x00ff00ff) << 8);
  return (x >>> 16) | (x << 16);
}

/**
 * Nested uniform (Owen) scrambling of the bits of a point by hashing: B. Burley, Practical Hash-based
 * Owen Scrambling, J. Computer Graphics Techniques 9(4) (2020). Each even multiplier lets a bit
 * change only those above it in the reversed word, so that the net property is kept whatever the seed.
 */
export function owenScramble(word: number, seed: number): number {
  let x = (reverseBits(word) + seed) | 0;
  x ^= Math.imul(x, 0x6c50b47c);
  x ^= Math.imul(x, 0xb82f1e52);
  x ^= Math.imul(x, 0xc7afe638);
  x ^= Math.imul(x, 0x8d22f6e6);
  return reverseBits(x);
}

/** Points of one Sobol dimension: 32-bit words of points `first`, `first` + 1, ... in Gray code order. */
export interface SobolDimension {
  fill(out: Int32Array, first: number): void;
}

export function sobolDimension(dimension: number): SobolDimension {
  const directions = directionsOf(dimension);
  return {
    fill: (out, first) => {
      let word = 0;
      const gray = first ^ (first >>> 1);
      for (let i = 0; i < bits; i++) if ((gray >>> i) & 1) word ^= directions[i] ?? 0;
      for (let i = 0; i < out.length; i++) {
        out[i] = word;
        const step = first + i + 1;
        // position of the lowest set bit of the next index
        word ^= directions[31 - Math.clz32(step & -step)] ?? 0;
      }
    },
  };
}

/** Fills `out` with scrambled points inside (0, 1). The same seed gives the same scrambling. */
export function fillSobol(
  dimension: SobolDimension,
  words: Int32Array,
  out: Float64Array,
  first: number,
  seed: number,
): void {
  dimension.fill(words, first);
  const key = mixWord(seed);
  for (let i = 0; i < out.length; i++) {
    out[i] = ((owenScramble(words[i] ?? 0, key) >>> 0) + 0.5) * 2 ** -32;
  }
}
