import { normalUpperTail } from '../numeric/normal.js';
import { InputError } from '../problems/problem.js';
import { type BoundedOffset, betaAverage, pointsFor } from './beta-average.js';

/** An axis in a round zone. Lengths in one unit. */
export interface RoundZone {
  /** Half of the diametral zone. */
  readonly radius: number;
  /** Standard deviation of the offset along each of two directions at right angles. */
  readonly sigma: number;
  /** Further offsets, all along one direction. */
  readonly offsets?: readonly BoundedOffset[];
}

/** Centres this many sigmas out are treated as a straight edge (error of order sigma over radius). */
const farSigmas = 30;

/**
 * Probability that an axis lies in a round zone: its offset has a normal part, alike in every
 * direction (Rayleigh), about a centre that bounded offsets may move along one direction (Rice).
 * Averages the Rice distribution over the offsets by Gauss-Jacobi rules.
 * Source: S. O. Rice, Bell System Technical Journal 24 (1945) 46, as a Poisson mixture of gamma
 * distributions. Throws `InputError` for a negative radius or sigma.
 *
 * @example
 * roundZoneProbability({ radius: 0.03, sigma: 0.01 }) // -> ~0.988891
 */
export function roundZoneProbability({ radius, sigma, offsets = [] }: RoundZone): number {
  for (const [path, value] of Object.entries({ radius, sigma }))
    if (!(value >= 0 && Number.isFinite(value)))
      throw new InputError([
        {
          code: 'out-of-range',
          place: { path },
          message: `${path} is no length`,
          value: String(value),
          accept: '0 or more',
        },
      ]);
  const points = offsets.map((offset) => pointsFor(offset, sigma));
  const few = points.reduce((product, count) => product * count, 1) <= pointLimit;
  const outside = betaAverage(offsets, few ? points : points.map(() => 6), (centre) =>
    outsideCircle(radius, sigma, Math.abs(centre)),
  );
  return Math.max(0, 1 - outside);
}

/** More points than this are too many: each offset then gets few. */
const pointLimit = 20_000;

/** P(distance from the origin > radius) for a normal point about a centre at some distance. */
function outsideCircle(radius: number, sigma: number, centre: number): number {
  if (sigma === 0) return centre <= radius ? 0 : 1;
  const apart = (centre - radius) / sigma;
  if (apart > 10) return 1;
  if (centre > farSigmas * sigma)
    return normalUpperTail((radius - Math.hypot(centre, sigma)) / sigma);
  const a = 0.5 * (centre / sigma) ** 2;
  const b = 0.5 * (radius / sigma) ** 2;
  if (b > 700) return 0;
  // sum over k of Poisson(k; a) * Q(k + 1, b), where Q is a Poisson sum itself
  let poisson = Math.exp(-a);
  let term = Math.exp(-b);
  let upper = term;
  let sum = 0;
  let left = 1;
  for (let k = 0; k < 2000; k++) {
    sum += poisson * Math.min(1, upper);
    left -= poisson;
    if (left < 1e-16 || (k > a && poisson < 1e-18)) break;
    poisson *= a / (k + 1);
    term *= b / (k + 1);
    upper += term;
  }
  return Math.min(1, sum);
}
