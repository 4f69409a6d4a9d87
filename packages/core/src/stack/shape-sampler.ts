import type { BlockKernel } from '../numeric/block-layout.js';
import { normalBetween } from '../numeric/normal.js';
import { nextUniform } from '../numeric/random.js';
import { shapeQuantile } from './shape-quantile.js';
import type { Shape } from './types.js';

/** Below this share of a normal between its limits, drawing and throwing away takes too long. */
const leastAcceptance = 0.25;

/**
 * Fills a register with deviates of the shape from the kernel's random stream. `scratch` is a
 * register that may be overwritten.
 */
export function drawShape(kernel: BlockKernel, shape: Shape, out: number, scratch: number): void {
  switch (shape.kind) {
    case 'normal':
      kernel.normals(out, shape.mean, shape.sd);
      return;
    case 'uniform':
      kernel.uniforms(out, shape.lower, shape.upper - shape.lower);
      return;
    case 'triangular':
      kernel.triangulars(out, shape.lower, shape.mode, shape.upper);
      return;
    case 'truncated-normal':
      drawTruncated(kernel, shape, out);
      return;
    case 'student-t': {
      // R. W. Bailey, Math. Comp. 62 (1994) 779: the polar method, exact for any degrees of freedom
      const degrees = shape.degreesOfFreedom;
      drawPair(kernel, out, scratch, (u, angle) => {
        const radius = Math.sqrt(degrees * (u ** (-2 / degrees) - 1));
        return shape.mean + shape.scale * radius * Math.cos(angle);
      });
      return;
    }
    case 'semi-elliptical': {
      // a point of the disc, seen from the side
      const middle = (shape.lower + shape.upper) / 2;
      const half = (shape.upper - shape.lower) / 2;
      drawPair(kernel, out, scratch, (u, angle) => middle + half * Math.sqrt(u) * Math.cos(angle));
      return;
    }
    case 'beta':
      drawBeta(kernel, shape, out);
      return;
    default:
      kernel.uniforms(out, 0, 1);
      transformBlock(kernel, out, (u) => shapeQuantile(shape, u));
  }
}

/** Replaces uniform deviates in a register by those of the shape. */
export function transformBlock(
  kernel: BlockKernel,
  register: number,
  transform: (value: number) => number,
): void {
  const values = kernel.registers[register];
  if (values === undefined) return;
  for (let i = 0; i < values.length; i++) values[i] = transform(values[i] ?? 0);
}

function drawPair(
  kernel: BlockKernel,
  out: number,
  scratch: number,
  combine: (u: number, angle: number) => number,
): void {
  kernel.uniforms(out, 0, 1);
  kernel.uniforms(scratch, 0, 2 * Math.PI);
  const values = kernel.registers[out];
  const angles = kernel.registers[scratch];
  if (values === undefined || angles === undefined) return;
  for (let i = 0; i < values.length; i++) values[i] = combine(values[i] ?? 0, angles[i] ?? 0);
}

function drawTruncated(
  kernel: BlockKernel,
  shape: Extract<Shape, { kind: 'truncated-normal' }>,
  out: number,
): void {
  const { mean, sd, lower, upper } = shape;
  if (normalBetween((lower - mean) / sd, (upper - mean) / sd) < leastAcceptance) {
    kernel.uniforms(out, 0, 1);
    transformBlock(kernel, out, (u) => shapeQuantile(shape, u));
    return;
  }
  kernel.normals(out, mean, sd);
  transformBlock(kernel, out, (first) => {
    let x = first;
    while (x < lower || x > upper) x = mean + sd * kernel.nextNormal();
    return x;
  });
}

function drawBeta(kernel: BlockKernel, shape: Extract<Shape, { kind: 'beta' }>, out: number): void {
  const width = shape.upper - shape.lower;
  const left = gammaDraw(kernel, shape.alpha);
  const right = gammaDraw(kernel, shape.beta);
  transformBlock(kernel, out, () => {
    const a = left();
    return shape.lower + width * (a / (a + right()));
  });
}

/**
 * Gamma deviates of unit scale: G. Marsaglia & W. W. Tsang, ACM Trans. Math. Softw. 26 (2000) 363,
 * doi 10.1145/358407.358414; a shape number below 1 is raised by one and the deviate thinned.
 */
function gammaDraw(kernel: BlockKernel, shapeNumber: number): () => number {
  const raised = shapeNumber < 1 ? shapeNumber + 1 : shapeNumber;
  const d = raised - 1 / 3;
  const c = 1 / Math.sqrt(9 * d);
  const draw = (): number => {
    for (;;) {
      const x = kernel.nextNormal();
      const root = 1 + c * x;
      if (root <= 0) continue;
      const v = root * root * root;
      const u = nextUniform(kernel.state);
      if (Math.log(u) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v;
    }
  };
  if (shapeNumber >= 1) return draw;
  return () => draw() * nextUniform(kernel.state) ** (1 / shapeNumber);
}
