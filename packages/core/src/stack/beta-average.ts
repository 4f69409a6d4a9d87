import { gaussJacobi } from '../numeric/gauss-jacobi.js';
import type { QuadratureRule } from '../numeric/quadrature.js';

/** A bounded offset: a beta distribution on its limits. */
export interface BoundedOffset {
  readonly lower: number;
  readonly upper: number;
  readonly alpha: number;
  readonly beta: number;
}

const rules = new Map<string, QuadratureRule>();
/** Most rules kept. */
const ruleLimit = 200;

function ruleFor({ alpha, beta }: BoundedOffset, count: number): QuadratureRule {
  const key = `${count}|${alpha}|${beta}`;
  const known = rules.get(key);
  if (known !== undefined) return known;
  const rule = gaussJacobi(count, alpha, beta);
  if (rules.size < ruleLimit) rules.set(key, rule);
  return rule;
}

/**
 * Points for an offset against the scale over which the averaged function changes (the sigma of a
 * normal part): the rule's error is then below 1e-8 of the function's range.
 */
export function pointsFor({ lower, upper }: BoundedOffset, scale: number): number {
  const width = upper - lower;
  if (width <= 0.15 * scale) return 3;
  if (width <= 0.4 * scale) return 4;
  if (width <= scale) return 6;
  if (width <= 4 * scale) return 12;
  return 32;
}

/**
 * Mean of `f` at the sum of independent bounded offsets, by Gauss-Jacobi rules of so many points.
 *
 * @param points by offset
 */
export function betaAverage(
  offsets: readonly BoundedOffset[],
  points: readonly number[],
  f: (sum: number) => number,
): number {
  let total = 0;
  const at = (index: number, sum: number, weight: number): void => {
    const offset = offsets[index];
    if (offset === undefined) {
      total += weight * f(sum);
      return;
    }
    const { nodes, weights } = ruleFor(offset, points[index] ?? 12);
    const width = offset.upper - offset.lower;
    for (let i = 0; i < nodes.length; i++)
      at(index + 1, sum + offset.lower + width * (nodes[i] ?? 0), weight * (weights[i] ?? 0));
  };
  at(0, 0, 1);
  return total;
}
