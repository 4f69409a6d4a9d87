import {
  type BinaryOperation,
  type BlockSums,
  countsAt,
  type KernelLoops,
  layersAt,
  registerBytes,
  restAt,
  stateAt,
  sumsAt,
  type UnaryOperation,
  wordsAt,
} from './block-layout.js';
import type { WebAssemblyExport } from './web-assembly.js';

/** The loops of block-kernel.wat. `at` gives the byte offset of a register. */
export function wasmLoops(
  exported: Readonly<Record<string, WebAssemblyExport>>,
  buffer: ArrayBuffer,
  bins: number,
  at: (register: number) => number,
): KernelLoops {
  const run = (name: string): WebAssemblyExport => {
    const found = exported[name];
    if (found === undefined) throw new Error(`the kernel has no ${name}`);
    return found;
  };
  const words = run('words');
  const normals = run('normals');
  const uniforms = run('uniforms');
  const triangulars = run('triangulars');
  const affine = run('affine');
  const addScaled = run('addScaled');
  const sums = run('sums');
  const count = run('count');
  const operations = Object.fromEntries(
    ['add', 'sub', 'mul', 'div', 'min', 'max', 'neg', 'abs', 'sqrt'].map((name) => [
      name,
      run(name),
    ]),
  ) as Record<BinaryOperation | UnaryOperation, WebAssemblyExport>;
  const found = new Float64Array(buffer, sumsAt, 12);
  const foundCounts = new Uint32Array(buffer, sumsAt + 96, 8);
  const draw = (): void => {
    words(stateAt, wordsAt, wordsAt + registerBytes);
  };
  return {
    normals: (out, mean, sd) => {
      draw();
      normals(wordsAt, layersAt, at(out), at(out) + registerBytes, mean, sd);
    },
    uniforms: (out, lower, width) => {
      draw();
      uniforms(wordsAt, at(out), at(out) + registerBytes, lower, width);
    },
    triangulars: (out, lower, mode, upper) => {
      draw();
      const width = upper - lower;
      const split = (mode - lower) / width;
      const left = width * (mode - lower);
      const right = width * (upper - mode);
      triangulars(wordsAt, at(out), at(out) + registerBytes, lower, upper, split, left, right);
    },
    binary: (operation, out, a, b) => {
      operations[operation](at(out), at(out) + registerBytes, at(a), at(b));
    },
    unary: (operation, out, a) => {
      operations[operation](at(out), at(out) + registerBytes, at(a));
    },
    affine: (out, a, scale, shift) => {
      affine(at(out), at(out) + registerBytes, at(a), scale, shift);
    },
    addScaled: (out, a, scale) => {
      addScaled(at(out), at(out) + registerBytes, at(a), scale);
    },
    sums: (values, centre, perUnit, lower, upper) => {
      sums(at(values), at(values) + registerBytes, sumsAt, centre, perUnit, lower, upper);
      return readSums(found, foundCounts);
    },
    count: (values, centre, perUnit, binsPerUnit) => {
      const end = count(
        at(values),
        at(values) + registerBytes,
        countsAt,
        restAt,
        centre,
        perUnit,
        binsPerUnit,
        bins / 2,
        bins,
      );
      return new Float64Array(buffer, restAt, (end - restAt) / 8);
    },
  };
}

function readSums(found: Float64Array, counts: Uint32Array): BlockSums {
  const pair = (k: number): number => (found[2 * k] ?? 0) + (found[2 * k + 1] ?? 0);
  return {
    powers: [pair(0), pair(1), pair(2), pair(3)],
    least: Math.min(found[8] ?? 0, found[9] ?? 0),
    most: Math.max(found[10] ?? 0, found[11] ?? 0),
    below: (counts[0] ?? 0) + (counts[2] ?? 0),
    above: (counts[4] ?? 0) + (counts[6] ?? 0),
  };
}
