import { convolve } from '../numeric/fft.js';

/** Values with their probabilities, ascending. */
export interface Atoms {
  readonly values: Float64Array;
  readonly weights: Float64Array;
  /** How far any value may have been moved; 0 when the sum was listed exactly. */
  readonly blur: number;
}

/** Sums listed one by one, at most; beyond that they go onto a grid. */
const maxListed = 1 << 18;
const gridSize = 1 << 16;

/** Distribution of a sum of independent samples (each value of a sample equally likely). */
export function discreteSum(samples: readonly Float64Array[]): Atoms {
  let atoms: Atoms = { values: new Float64Array(1), weights: Float64Array.of(1), blur: 0 };
  for (const [done, sample] of samples.entries()) {
    const next = merged(sample, new Float64Array(sample.length).fill(1 / sample.length));
    if (atoms.values.length * next.values.length > maxListed) {
      return gridSum([atoms.values, ...samples.slice(done)], atoms);
    }
    const count = atoms.values.length * next.values.length;
    const values = new Float64Array(count);
    const weights = new Float64Array(count);
    let at = 0;
    for (let i = 0; i < atoms.values.length; i++) {
      for (let j = 0; j < next.values.length; j++) {
        values[at] = (atoms.values[i] ?? 0) + (next.values[j] ?? 0);
        weights[at] = (atoms.weights[i] ?? 0) * (next.weights[j] ?? 0);
        at += 1;
      }
    }
    atoms = merged(values, weights);
  }
  return atoms;
}

/** Sorts the values and joins those that differ by rounding only. */
function merged(values: Float64Array, weights: Float64Array): Atoms {
  const order = Array.from(values.keys()).sort((a, b) => (values[a] ?? 0) - (values[b] ?? 0));
  const size = Math.max(
    Math.abs(values[order[0] ?? 0] ?? 0),
    Math.abs(values[order[order.length - 1] ?? 0] ?? 0),
  );
  const outValues: number[] = [];
  const outWeights: number[] = [];
  let last = Number.NEGATIVE_INFINITY;
  for (const i of order) {
    const value = values[i] ?? 0;
    if (value - last > 4e-15 * size) {
      outValues.push(value);
      outWeights.push(0);
      last = value;
    }
    const at = outWeights.length - 1;
    outWeights[at] = (outWeights[at] ?? 0) + (weights[i] ?? 0);
  }
  return { values: Float64Array.from(outValues), weights: Float64Array.from(outWeights), blur: 0 };
}

/** All terms on one grid, each value split between its two neighbours so that the mean stays. */
function gridSum(samples: readonly Float64Array[], first: Atoms): Atoms {
  let start = 0;
  let range = 0;
  for (const sample of samples) {
    start += sample[0] ?? 0;
    range += (sample[sample.length - 1] ?? 0) - (sample[0] ?? 0);
  }
  const step = range / (gridSize - 2 * samples.length);
  let total: Float64Array = Float64Array.of(1);
  for (const [k, sample] of samples.entries()) {
    const origin = sample[0] ?? 0;
    const reach = (sample[sample.length - 1] ?? 0) - origin;
    const grid = new Float64Array(Math.floor(reach / step) + 2);
    sample.forEach((value, i) => {
      const place = (value - origin) / step;
      const cell = Math.floor(place);
      const weight = k === 0 ? (first.weights[i] ?? 0) : 1 / sample.length;
      grid[cell] = (grid[cell] ?? 0) + weight * (1 - (place - cell));
      grid[cell + 1] = (grid[cell + 1] ?? 0) + weight * (place - cell);
    });
    total = convolve(total, grid);
  }
  return {
    values: total.map((_, i) => start + i * step),
    weights: total.map((weight) => Math.max(0, weight)),
    blur: step * samples.length,
  };
}
