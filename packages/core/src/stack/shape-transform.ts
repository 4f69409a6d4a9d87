import type { Shape } from './types.js';

/** The shape of factor * X + shift. */
export function transformShape(shape: Shape, factor: number, shift: number): Shape {
  const at = (x: number): number => factor * x + shift;
  if (factor === 0) return { kind: 'constant', value: shift };
  const flip = factor < 0;
  switch (shape.kind) {
    case 'constant':
      return { kind: 'constant', value: at(shape.value) };
    case 'normal':
      return { kind: 'normal', mean: at(shape.mean), sd: Math.abs(factor) * shape.sd };
    case 'student-t':
      return { ...shape, mean: at(shape.mean), scale: Math.abs(factor) * shape.scale };
    case 'empirical': {
      const values = shape.values.map(at);
      return { kind: 'empirical', values: flip ? values.reverse() : values };
    }
    default: {
      const lower = at(flip ? shape.upper : shape.lower);
      const upper = at(flip ? shape.lower : shape.upper);
      if (shape.kind === 'triangular') return { ...shape, lower, upper, mode: at(shape.mode) };
      if (shape.kind === 'truncated-normal') {
        return { ...shape, lower, upper, mean: at(shape.mean), sd: Math.abs(factor) * shape.sd };
      }
      if (shape.kind === 'trapezoidal') {
        const topLower = at(flip ? shape.topUpper : shape.topLower);
        const topUpper = at(flip ? shape.topLower : shape.topUpper);
        return { ...shape, lower, upper, topLower, topUpper };
      }
      if (shape.kind === 'beta' && flip) {
        return { ...shape, lower, upper, alpha: shape.beta, beta: shape.alpha };
      }
      return { ...shape, lower, upper };
    }
  }
}
