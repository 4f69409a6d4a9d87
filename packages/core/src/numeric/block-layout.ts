import { layerCount } from './ziggurat.js';

/** Samples that are drawn and computed together; the unit of seeding. */
export const blockLength: number = 1024;

export type BinaryOperation = 'add' | 'sub' | 'mul' | 'div' | 'min' | 'max';
export type UnaryOperation = 'neg' | 'abs' | 'sqrt';

/** Sums of one block of values over z = (value - centre) * perUnit. */
export interface BlockSums {
  /** Sums of z, z^2, z^3, z^4. */
  readonly powers: readonly [number, number, number, number];
  readonly least: number;
  readonly most: number;
  readonly below: number;
  readonly above: number;
}

/**
 * Registers of `blockLength` numbers and the loops over them. Two makes, WebAssembly and plain JS,
 * with the same results bit for bit.
 */
export interface BlockKernel {
  readonly make: 'wasm' | 'js';
  readonly registers: readonly Float64Array[];
  /** State of the random stream, filled by `seedStream`. */
  readonly state: Int32Array;
  /** A single standard normal deviate from the stream's words for single draws. */
  nextNormal(): number;
  normals(out: number, mean: number, sd: number): void;
  uniforms(out: number, lower: number, width: number): void;
  triangulars(out: number, lower: number, mode: number, upper: number): void;
  binary(operation: BinaryOperation, out: number, a: number, b: number): void;
  unary(operation: UnaryOperation, out: number, a: number): void;
  /** out = shift + scale * a */
  affine(out: number, a: number, scale: number, shift: number): void;
  /** out = out + scale * a */
  addScaled(out: number, a: number, scale: number): void;
  sums(values: number, centre: number, perUnit: number, lower: number, upper: number): BlockSums;
  /**
   * Counts floor(z * binsPerUnit + bins / 2) into `counts`; returns the z that lie outside.
   * Valid until the next call.
   */
  count(values: number, centre: number, perUnit: number, binsPerUnit: number): Float64Array;
  readonly counts: Uint32Array;
}

// Byte offsets. Everything is a multiple of 16.
export const stateAt: number = 0;
export const sumsAt: number = 128;
export const layersAt: number = 256;
export const wordsAt: number = layersAt + layerCount * 16;
export const restAt: number = wordsAt + blockLength * 8;
export const countsAt: number = restAt + blockLength * 8;
export const registerBytes: number = blockLength * 8;
export const pageBytes: number = 65_536;

/** What both makes of the kernel share. */
export type KernelMemory = Pick<BlockKernel, 'registers' | 'state' | 'counts' | 'nextNormal'>;
export type KernelLoops = Omit<BlockKernel, 'make' | keyof KernelMemory>;
