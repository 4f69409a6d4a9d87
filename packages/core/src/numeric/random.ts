/** Bijective mixing of a 32-bit word (finaliser of MurmurHash3, public domain). */
export function mixWord(word: number): number {
  let h = word;
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return h ^ (h >>> 16);
}

/** Four words that depend on every bit of all the parts; parts are whole numbers below 2^53. */
export function streamKey(parts: readonly number[]): Int32Array {
  const key = new Int32Array([0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344]);
  for (const part of parts) {
    for (const word of [part % 2 ** 32, Math.floor(part / 2 ** 32)]) {
      for (let k = 0; k < 4; k++) key[k] = mixWord((key[k] ?? 0) ^ word);
    }
  }
  return key;
}

/** Words that a stream's state takes: four lanes of four, then four of the stream for single draws. */
export const stateWords = 20;

/**
 * Fills the state of stream number `stream` of the key: lane l has its words at l, l + 4, l + 8 and
 * l + 12. Different (key, stream) give unrelated states.
 */
export function seedStream(state: Int32Array, key: Int32Array, stream: number): void {
  for (let k = 0; k < stateWords; k++) {
    const lane = k < 16 ? (k & 3) * 4 + (k >> 2) : k;
    const number = Math.imul(stream * 32 + lane, 0x9e3779b1);
    state[k] = mixWord((key[lane & 3] ?? 0) ^ number);
  }
  // an all-zero state would stay so
  for (const last of [12, 13, 14, 15, 19]) state[last] = (state[last] ?? 0) | 1;
}

/**
 * Fills `out` (whole multiples of 4) with 32-bit words of four interleaved xoshiro128++ streams
 * (Blackman & Vigna 2021, doi 10.1145/3460772).
 */
export function fillWords(state: Int32Array, out: Int32Array): void {
  for (let lane = 0; lane < 4; lane++) {
    let s0 = state[lane] ?? 0;
    let s1 = state[lane + 4] ?? 0;
    let s2 = state[lane + 8] ?? 0;
    let s3 = state[lane + 12] ?? 0;
    for (let at = lane; at < out.length; at += 4) {
      const sum = (s0 + s3) | 0;
      out[at] = (((sum << 7) | (sum >>> 25)) + s0) | 0;
      const t = s1 << 9;
      s2 ^= s0;
      s3 ^= s1;
      s1 ^= s2;
      s0 ^= s3;
      s2 ^= t;
      s3 = (s3 << 11) | (s3 >>> 21);
    }
    state[lane] = s0;
    state[lane + 4] = s1;
    state[lane + 8] = s2;
    state[lane + 12] = s3;
  }
}

/** Next 32-bit word of the stream for single draws (words 16 to 19 of the state). */
export function nextWord(state: Int32Array): number {
  const s0 = state[16] ?? 0;
  const s1 = state[17] ?? 0;
  const s2 = (state[18] ?? 0) ^ s0;
  const s3 = (state[19] ?? 0) ^ s1;
  const sum = (s0 + (state[19] ?? 0)) | 0;
  state[16] = s0 ^ s3;
  state[17] = s1 ^ s2;
  state[18] = s2 ^ (s1 << 9);
  state[19] = (s3 << 11) | (s3 >>> 21);
  return (((sum << 7) | (sum >>> 25)) + s0) | 0;
}

/** A uniform deviate inside (0, 1): (k + 1/2) / 2^52. */
export function nextUniform(state: Int32Array): number {
  const low = nextWord(state);
  return unitFromWords(low, nextWord(state));
}

/** (k + 1/2) / 2^52, k the upper 52 bits of the 64 in `high` and `low`. */
export function unitFromWords(low: number, high: number): number {
  return ((high >>> 0) * 2 ** 20 + (low >>> 12) + 0.5) * 2 ** -52;
}
