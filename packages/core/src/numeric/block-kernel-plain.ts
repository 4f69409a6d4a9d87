import {
  type BinaryOperation,
  blockLength,
  type KernelLoops,
  type KernelMemory,
  layersAt,
  restAt,
  type UnaryOperation,
  wordsAt,
} from './block-layout.js';
import { fillWords, unitFromWords } from './random.js';
import { layerCount } from './ziggurat.js';

/** The loops of block-kernel.wat in plain JS, operation for operation. */
export function plainLoops(
  buffer: ArrayBuffer,
  { registers, state, counts }: KernelMemory,
  outside: (state: Int32Array, layer: number, x: number) => number,
): KernelLoops {
  const words = new Int32Array(buffer, wordsAt, 2 * blockLength);
  const layers = new Float64Array(buffer, layersAt, 2 * layerCount);
  const rest = new Float64Array(buffer, restAt, blockLength);
  const missed = new Int32Array(blockLength);
  const register = (index: number): Float64Array => {
    const found = registers[index];
    if (found === undefined) throw new RangeError(`no register ${index}`);
    return found;
  };
  return {
    normals: (out, mean, sd) => {
      fillWords(state, words);
      fillNormals(words, layers, register(out), missed, mean, sd, (layer, x) =>
        outside(state, layer, x),
      );
    },
    uniforms: (out, lower, width) => {
      fillWords(state, words);
      const to = register(out);
      for (let i = 0; i < to.length; i++) {
        to[i] = lower + width * unitFromWords(words[2 * i] ?? 0, words[2 * i + 1] ?? 0);
      }
    },
    triangulars: (out, lower, mode, upper) => {
      fillWords(state, words);
      const to = register(out);
      const width = upper - lower;
      const split = (mode - lower) / width;
      const left = width * (mode - lower);
      const right = width * (upper - mode);
      for (let i = 0; i < to.length; i++) {
        const u = unitFromWords(words[2 * i] ?? 0, words[2 * i + 1] ?? 0);
        to[i] = u < split ? lower + Math.sqrt(u * left) : upper - Math.sqrt((1 - u) * right);
      }
    },
    binary: (operation, out, a, b) => binary[operation](register(out), register(a), register(b)),
    unary: (operation, out, a) => unary[operation](register(out), register(a)),
    affine: (out, a, scale, shift) => {
      const to = register(out);
      const from = register(a);
      for (let i = 0; i < to.length; i++) to[i] = shift + scale * (from[i] ?? 0);
    },
    addScaled: (out, a, scale) => {
      const to = register(out);
      const from = register(a);
      for (let i = 0; i < to.length; i++) to[i] = (to[i] ?? 0) + scale * (from[i] ?? 0);
    },
    sums: (values, centre, perUnit, lower, upper) => {
      const from = register(values);
      const powers: [number, number, number, number] = [0, 0, 0, 0];
      let least = Number.POSITIVE_INFINITY;
      let most = Number.NEGATIVE_INFINITY;
      let below = 0;
      let above = 0;
      // even and odd elements apart, as the vector lanes add them
      for (let lane = 0; lane < 2; lane++) {
        let s1 = 0;
        let s2 = 0;
        let s3 = 0;
        let s4 = 0;
        for (let i = lane; i < from.length; i += 2) {
          const y = from[i] ?? 0;
          const z = (y - centre) * perUnit;
          const q = z * z;
          s1 += z;
          s2 += q;
          s3 += q * z;
          s4 += q * q;
          if (y < least) least = y;
          if (y > most) most = y;
          if (y < lower) below++;
          if (y > upper) above++;
        }
        powers[0] += s1;
        powers[1] += s2;
        powers[2] += s3;
        powers[3] += s4;
      }
      return { powers, least, most, below, above };
    },
    count: (values, centre, perUnit, binsPerUnit) => {
      const from = register(values);
      const half = counts.length / 2;
      let left = 0;
      for (let i = 0; i < from.length; i++) {
        const z = ((from[i] ?? 0) - centre) * perUnit;
        const bin = Math.floor(z * binsPerUnit + half);
        if (bin >= 0 && bin < counts.length) counts[bin] = (counts[bin] ?? 0) + 1;
        else rest[left++] = z;
      }
      return rest.subarray(0, left);
    },
  };
}

/** Tries that miss their layer are put right afterwards: a call inside the loop would slow it threefold. */
function fillNormals(
  words: Int32Array,
  layers: Float64Array,
  out: Float64Array,
  missed: Int32Array,
  mean: number,
  sd: number,
  outside: (layer: number, x: number) => number,
): void {
  let count = 0;
  for (let i = 0; i < blockLength; i++) {
    const low = words[2 * i] ?? 0;
    const m = (words[2 * i + 1] ?? 0) * 1_048_576 + (low >>> 12);
    const layer = (low & (layerCount - 1)) * 2;
    out[i] = mean + sd * (m * (layers[layer] ?? 0));
    if (!(Math.abs(m) < (layers[layer + 1] ?? 0))) missed[count++] = i;
  }
  for (let k = 0; k < count; k++) {
    const i = missed[k] ?? 0;
    const low = words[2 * i] ?? 0;
    const m = (words[2 * i + 1] ?? 0) * 1_048_576 + (low >>> 12);
    const layer = low & (layerCount - 1);
    out[i] = mean + sd * outside(layer, m * (layers[2 * layer] ?? 0));
  }
}

const binary: Readonly<
  Record<BinaryOperation, (out: Float64Array, a: Float64Array, b: Float64Array) => void>
> = {
  add: (out, a, b) => {
    for (let i = 0; i < out.length; i++) out[i] = (a[i] ?? 0) + (b[i] ?? 0);
  },
  sub: (out, a, b) => {
    for (let i = 0; i < out.length; i++) out[i] = (a[i] ?? 0) - (b[i] ?? 0);
  },
  mul: (out, a, b) => {
    for (let i = 0; i < out.length; i++) out[i] = (a[i] ?? 0) * (b[i] ?? 0);
  },
  div: (out, a, b) => {
    for (let i = 0; i < out.length; i++) out[i] = (a[i] ?? 0) / (b[i] ?? 0);
  },
  min: (out, a, b) => {
    for (let i = 0; i < out.length; i++) out[i] = Math.min(a[i] ?? 0, b[i] ?? 0);
  },
  max: (out, a, b) => {
    for (let i = 0; i < out.length; i++) out[i] = Math.max(a[i] ?? 0, b[i] ?? 0);
  },
};

const unary: Readonly<Record<UnaryOperation, (out: Float64Array, a: Float64Array) => void>> = {
  neg: (out, a) => {
    for (let i = 0; i < out.length; i++) out[i] = -(a[i] ?? 0);
  },
  abs: (out, a) => {
    for (let i = 0; i < out.length; i++) out[i] = Math.abs(a[i] ?? 0);
  },
  sqrt: (out, a) => {
    for (let i = 0; i < out.length; i++) out[i] = Math.sqrt(a[i] ?? 0);
  },
};
