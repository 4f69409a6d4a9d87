import { makeKernel } from '../numeric/block-kernel.js';
import { type BlockKernel, blockLength } from '../numeric/block-layout.js';
import type { Matrix } from '../numeric/linear-algebra.js';
import { normalCdf, normalQuantile } from '../numeric/normal.js';
import { mixWord, seedStream, streamKey } from '../numeric/random.js';
import { fillSobol, sobolDimension } from '../numeric/sobol.js';
import { loadConstants, planRegisters, runBlock } from './block-program.js';
import { shapeQuantile } from './shape-quantile.js';
import { drawShape, transformBlock } from './shape-sampler.js';
import { innerBins } from './tally.js';
import type { TreeProgram } from './tree-program.js';
import type { Shape } from './types.js';

export interface BlockSampler {
  readonly kernel: BlockKernel;
  /** Register in which the results of the block stand after `draw`. */
  readonly result: number;
  /** Draws the block and computes its results. Blocks are independent of one another. */
  draw(block: number): void;
}

/** What decides the samples of a block. Plain data. */
export interface BlockDraws {
  readonly scheme: 'random' | 'sobol';
  readonly seed: number;
  /** 1 for `random`. Block b belongs to replicate b modulo this. */
  readonly replicates: number;
  /** One for each variable of the program. */
  readonly shapes: readonly Shape[];
  /** Lower triangular factor of the correlation of the normal scores; absent when independent. */
  readonly mixing?: Matrix;
  readonly program: TreeProgram;
}

/** `make: 'js'` does without WebAssembly; the samples are the same. */
export function blockSampler(plan: BlockDraws, make: 'wasm' | 'js' = 'wasm'): BlockSampler {
  const registers = planRegisters(plan.program);
  const kernel = makeKernel(registers.count, innerBins, make);
  loadConstants(plan.program, registers, kernel);
  const fill =
    plan.scheme === 'sobol' ? sobolFill(plan, kernel) : randomFill(plan, kernel, registers.scratch);
  return {
    kernel,
    result: registers.result,
    draw: (block) => {
      fill(block);
      runBlock(plan.program, registers, kernel);
    },
  };
}

function randomFill(
  plan: BlockDraws,
  kernel: BlockKernel,
  scratch: number,
): (block: number) => void {
  return (block) => {
    const key = streamKey([plan.seed, block]);
    plan.shapes.forEach((shape, variable) => {
      if (shape.kind === 'constant') {
        kernel.registers[variable]?.fill(shape.value);
        return;
      }
      seedStream(kernel.state, key, variable);
      if (plan.mixing === undefined) drawShape(kernel, shape, variable, scratch);
      else kernel.normals(variable, 0, 1);
    });
    if (plan.mixing !== undefined) mixScores(plan.shapes, plan.mixing, kernel);
  };
}

function sobolFill(plan: BlockDraws, kernel: BlockKernel): (block: number) => void {
  const words = new Int32Array(blockLength);
  const dimensions = plan.shapes.map((_, variable) => sobolDimension(variable));
  return (block) => {
    const replicate = block % plan.replicates;
    const first = Math.floor(block / plan.replicates) * blockLength;
    const key = streamKey([plan.seed, replicate]);
    plan.shapes.forEach((shape, variable) => {
      const values = kernel.registers[variable];
      const dimension = dimensions[variable];
      if (values === undefined || dimension === undefined) return;
      const seed = mixWord((key[variable & 3] ?? 0) ^ Math.imul(variable + 1, 0x9e3779b1));
      fillSobol(dimension, words, values, first, seed);
      if (plan.mixing !== undefined) transformBlock(kernel, variable, normalQuantile);
      else transformBlock(kernel, variable, (u) => shapeQuantile(shape, u));
    });
    if (plan.mixing !== undefined) mixScores(plan.shapes, plan.mixing, kernel);
  };
}

/**
 * Gaussian copula: correlates the independent normal scores in the registers by the lower triangular
 * factor, last row first so that no row is overwritten before it is read, then gives each its shape.
 */
function mixScores(shapes: readonly Shape[], mixing: Matrix, kernel: BlockKernel): void {
  for (let row = shapes.length - 1; row >= 0; row--) {
    const factors = mixing[row] ?? [];
    kernel.affine(row, row, factors[row] ?? 0, 0);
    for (let column = 0; column < row; column++) {
      const factor = factors[column] ?? 0;
      if (factor !== 0) kernel.addScaled(row, column, factor);
    }
  }
  shapes.forEach((shape, variable) => {
    if (shape.kind === 'normal') kernel.affine(variable, variable, shape.sd, shape.mean);
    else if (shape.kind === 'constant') kernel.registers[variable]?.fill(shape.value);
    else transformBlock(kernel, variable, (score) => shapeQuantile(shape, normalCdf(score)));
  });
}
