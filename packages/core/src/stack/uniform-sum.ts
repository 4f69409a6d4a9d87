import type { TailValue } from './contour-tail.js';

/** Uniforms of equal width, counted. */
export interface UniformGroup {
  readonly width: number;
  readonly count: number;
}

/** Equal widths (to rounding) together, widest first. */
export function groupWidths(widths: readonly number[]): UniformGroup[] {
  const groups: { width: number; count: number }[] = [];
  for (const width of [...widths].sort((a, b) => b - a)) {
    const last = groups[groups.length - 1];
    if (last !== undefined && last.width - width <= 1e-14 * width) last.count += 1;
    else groups.push({ width, count: 1 });
  }
  return groups;
}

interface CornerSums {
  value: number;
  slope: number;
  size: number;
  readonly order: number;
}

function addCorners(
  groups: readonly UniformGroup[],
  index: number,
  rest: number,
  weight: number,
  sums: CornerSums,
): void {
  const group = groups[index];
  if (group === undefined) {
    const power = rest ** (sums.order - 1);
    sums.value += weight * power * rest;
    sums.slope += weight * power;
    sums.size += Math.abs(weight) * power * rest;
    return;
  }
  let choose = weight;
  for (let k = 0; k <= group.count; k++) {
    const left = rest - k * group.width;
    if (left <= 0) return;
    addCorners(groups, index + 1, left, choose, sums);
    choose *= -(group.count - k) / (k + 1);
  }
}

/**
 * P(S > top - gap) for a sum of independent uniforms whose support ends at `top`, in closed form:
 * the volume of a box corner cut by a plane (Laplace; the Irwin-Hall law when widths are equal),
 * sum over corners of (-1)^k (gap - widths in k)^n / (n! * product of widths). `error` follows the
 * cancellation between the corners.
 */
export function uniformSumTail(groups: readonly UniformGroup[], gap: number): TailValue {
  let order = 0;
  let total = 0;
  let volume = 1;
  for (const { width, count } of groups) {
    for (let k = 0; k < count; k++) {
      order += 1;
      total += width;
      volume *= order * width;
    }
  }
  if (gap <= 0) return { tail: 0, density: 0, error: 0 };
  if (gap >= total) return { tail: 1, density: 0, error: 0 };
  if (gap > 0.5 * total) {
    // from the other end fewer corners are inside
    const other = uniformSumTail(groups, total - gap);
    return { tail: 1 - other.tail, density: other.density, error: other.error * other.tail };
  }
  const sums: CornerSums = { value: 0, slope: 0, size: 0, order };
  addCorners(groups, 0, gap, 1, sums);
  const error = (order * Number.EPSILON * sums.size) / Math.max(sums.value, 1e-300);
  return { tail: sums.value / volume, density: (order * sums.slope) / volume, error };
}
