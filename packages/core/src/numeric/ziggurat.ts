import { nextUniform, nextWord } from './random.js';

// G. Marsaglia & W. W. Tsang, The Ziggurat Method for Generating Random Variables, J. Stat. Software
// 5(8) (2000), with 1024 layers, of which 99.57 % of the tries stay inside; as in J. A. Doornik, An Improved Ziggurat Method (2005), the layer
// and the position use different bits.
export const layerCount: number = 1024;
// Where the tail starts so that 1024 layers of equal area close at the top, and that area (solved
// with 30 digits).
const tailStart = 4.038849846109504;
const layerArea = 0.001226324646353088;

const bell = (x: number): number => Math.exp(-0.5 * x * x);

export interface Ziggurat {
  /** Pairs (scale, limit): deviate = m * scale is taken when |m| < limit, m a signed 52-bit number. */
  readonly layers: Float64Array;
  /** Deviate for a first try `x` that missed the inside of its layer. */
  readonly outside: (state: Int32Array, layer: number, x: number) => number;
  /** A single standard normal deviate. */
  readonly next: (state: Int32Array) => number;
}

export function makeZiggurat(): Ziggurat {
  const widths = new Float64Array(layerCount + 1);
  widths[0] = layerArea / bell(tailStart);
  widths[1] = tailStart;
  for (let i = 2; i < layerCount; i++) {
    const inner = widths[i - 1] ?? 0;
    widths[i] = Math.sqrt(-2 * Math.log(layerArea / inner + bell(inner)));
  }
  const heights = widths.map(bell);
  const layers = new Float64Array(2 * layerCount);
  for (let i = 0; i < layerCount; i++) {
    const width = widths[i] ?? 0;
    layers[2 * i] = width * 2 ** -51;
    layers[2 * i + 1] = ((widths[i + 1] ?? 0) / width) * 2 ** 51;
  }
  const outside = (state: Int32Array, layer: number, x: number): number => {
    if (layer === 0) return tail(state, x < 0);
    const floor = heights[layer] ?? 0;
    const step = (heights[layer + 1] ?? 0) - floor;
    return floor + nextUniform(state) * step < bell(x) ? x : next(state);
  };
  const next = (state: Int32Array): number => {
    const low = nextWord(state);
    const m = nextWord(state) * 2 ** 20 + (low >>> 12);
    const layer = low & (layerCount - 1);
    const x = m * (layers[2 * layer] ?? 0);
    return Math.abs(m) < (layers[2 * layer + 1] ?? 0) ? x : outside(state, layer, x);
  };
  return { layers, outside, next };
}

/** Beyond the last layer: G. Marsaglia, Generating a Variable from the Tail, Technometrics 6 (1964) 101. */
function tail(state: Int32Array, negative: boolean): number {
  for (;;) {
    const beyond = -Math.log(nextUniform(state)) / tailStart;
    const check = -Math.log(nextUniform(state));
    if (check + check >= beyond * beyond)
      return negative ? -tailStart - beyond : tailStart + beyond;
  }
}
