import {
  type Contributor,
  chainDistribution,
  type Distribution,
  resolveStack,
  type StackInput,
  type SumDistribution,
  stackUp,
} from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { gaussLegendre } from '../../packages/core/src/numeric/quadrature.js';
import { shapeQuantile } from '../../packages/core/src/stack/shape-quantile.js';

const { nodes, weights } = gaussLegendre(6);

const seed = { seed: 20261125, endOnFailure: true };

const shape = (low: number, high: number) => fc.double({ min: low, max: high, noNaN: true });

const bounded: fc.Arbitrary<Distribution> = fc.oneof(
  fc.constant<Distribution>({ kind: 'uniform' }),
  fc.constant<Distribution>({ kind: 'triangular' }),
  fc.constant<Distribution>({ kind: 'semi-elliptical' }),
  fc.constant<Distribution>({ kind: 'arcsine' }),
  shape(0, 1).map<Distribution>((topFraction) => ({ kind: 'trapezoidal', topFraction })),
  shape(0.4, 2).map<Distribution>((cp) => ({ kind: 'truncated-normal', cp })),
  fc
    .tuple(shape(0.5, 8), shape(0.5, 8))
    .map<Distribution>(([alpha, beta]) => ({ kind: 'beta', alpha, beta })),
);
const normal: fc.Arbitrary<Distribution> = shape(0.5, 2).map((cp) => ({ kind: 'normal', cp }));
/** Log-concave and symmetric: a narrower link makes a narrower sum. */
const peaked: fc.Arbitrary<Distribution> = fc.oneof(
  normal,
  fc.constant<Distribution>({ kind: 'uniform' }),
  fc.constant<Distribution>({ kind: 'triangular' }),
  fc.constant<Distribution>({ kind: 'semi-elliptical' }),
  shape(1, 6).map<Distribution>((alpha) => ({ kind: 'beta', alpha, beta: alpha })),
);

const links = (
  distribution: fc.Arbitrary<Distribution>,
  maxLength: number,
): fc.Arbitrary<Contributor[]> =>
  fc
    .array(
      fc.record({
        nominal: shape(-50, 50),
        plus: shape(0.001, 0.5),
        minus: shape(0.001, 0.5),
        coefficient: fc.oneof(fc.constantFrom(-1, 1), shape(0.1, 2), shape(-2, -0.1)),
        shiftFactor: shape(0, 1),
        distribution,
      }),
      { minLength: 1, maxLength },
    )
    .map((list) => list.map((link, i) => ({ id: `x${i}`, ...link })));

const any = fc.oneof(bounded, normal);

/** A requirement that some of the assemblies miss. */
const against = (contributors: Contributor[], sigmas: number): StackInput => {
  const { mean, sigma } = stackUp({ contributors }).moments;
  return {
    contributors,
    requirement: { lower: mean - sigmas * sigma, upper: mean + sigmas * sigma },
  };
};

const exactOf = (input: StackInput): SumDistribution => {
  const distribution = chainDistribution(input);
  if ('reason' in distribution) throw new Error(distribution.reason);
  return distribution;
};

const near = (value: number, expected: number, scale: number, tolerance = 1e-9): void => {
  expect(Math.abs(value - expected)).toBeLessThanOrEqual(tolerance * scale);
};

describe('linear chains', () => {
  test('worst case bounds every sampled value, and is reached', () => {
    fc.assert(
      fc.property(
        links(bounded, 6),
        fc.array(shape(1e-9, 1 - 1e-9), { minLength: 6, maxLength: 6 }),
        (contributors, uniforms) => {
          const { worst } = stackUp({ contributors });
          const resolved = resolveStack({ contributors }).contributors;
          const sum = (at: readonly number[]): number =>
            resolved.reduce((total, c, i) => total + c.coefficient * (at[i] ?? 0), 0);
          const value = sum(resolved.map((c, i) => shapeQuantile(c.shape, uniforms[i] ?? 0.5)));
          expect(value).toBeGreaterThanOrEqual(worst.lower - 1e-12);
          expect(value).toBeLessThanOrEqual(worst.upper + 1e-12);
          near(sum(worst.lowerAt), worst.lower, 100, 1e-13);
          near(sum(worst.upperAt), worst.upper, 100, 1e-13);
        },
      ),
      { ...seed, numRuns: 60 },
    );
  });

  test('contributions sum to 100, correlated or not', () => {
    fc.assert(
      fc.property(links(any, 8), shape(-1, 1), (contributors, rho) => {
        const correlation = contributors.map((_, i) =>
          contributors.map((__, j) => (i === j ? 1 : i + j === 1 ? rho : 0)),
        );
        for (const input of [{ contributors }, { contributors, correlation }]) {
          const { contributions, moments } = stackUp(input);
          const shares = contributions.reduce((sum, c) => sum + c.sharePercent, 0);
          const worst = contributions.reduce((sum, c) => sum + c.worstSharePercent, 0);
          if (moments.sigma > 1e-6) expect(shares).toBeCloseTo(100, 6);
          expect(worst).toBeCloseTo(100, 9);
        }
      }),
      { ...seed, numRuns: 40 },
    );
  });

  test('the order of the contributors does not matter', () => {
    fc.assert(
      fc.property(links(any, 6), fc.infiniteStream(fc.nat()), (contributors, order) => {
        const shuffled = contributors
          .map((contributor) => ({ contributor, key: order.next().value }))
          .sort((a, b) => a.key - b.key)
          .map(({ contributor }) => contributor);
        const { requirement } = against(contributors, 2.5);
        const limits = requirement === undefined ? {} : { requirement };
        const a = stackUp({ contributors, ...limits });
        const b = stackUp({ contributors: shuffled, ...limits });
        const scale = a.worst.upper - a.worst.lower;
        for (const method of [
          'worst',
          'rss',
          'inflatedRss',
          'estimatedMeanShift',
          'sixSigma',
          'moments',
        ] as const) {
          near(a[method].lower, b[method].lower, scale);
          near(a[method].upper, b[method].upper, scale);
        }
        if ('reason' in a.exact || 'reason' in b.exact) throw new Error('no exact result');
        near(a.exact.conformity?.inLimits ?? 0, b.exact.conformity?.inLimits ?? 0, 1);
        near(a.exact.upper, b.exact.upper, scale);
        expect(a.tightenFirst.map(({ id }) => id)).toEqual(b.tightenFirst.map(({ id }) => id));
      }),
      { ...seed, numRuns: 25 },
    );
  });

  test('a tighter tolerance never widens a result nor lowers P(in limits)', () => {
    fc.assert(
      fc.property(links(peaked, 5), shape(0.05, 0.98), fc.nat(), (list, factor, pick) => {
        const contributors = list.map((link) => ({ ...link, minus: link.plus ?? 0 }));
        const at = pick % contributors.length;
        const tightened = contributors.map((link, i) =>
          i === at
            ? { ...link, plus: factor * (link.plus ?? 0), minus: factor * link.minus }
            : link,
        );
        const { requirement } = against(contributors, 2);
        const limits = requirement === undefined ? {} : { requirement };
        const before = stackUp({ contributors, ...limits });
        const after = stackUp({ contributors: tightened, ...limits });
        const scale = before.worst.upper - before.worst.lower;
        for (const method of [
          'worst',
          'rss',
          'inflatedRss',
          'estimatedMeanShift',
          'sixSigma',
          'moments',
        ] as const) {
          const width = before[method].upper - before[method].lower;
          const now = after[method].upper - after[method].lower;
          expect(now).toBeLessThanOrEqual(width + 1e-9 * scale);
          const was = before[method].conformity?.inLimits ?? 0;
          expect(after[method].conformity?.inLimits ?? 0).toBeGreaterThanOrEqual(was - 1e-9);
        }
        if ('reason' in before.exact || 'reason' in after.exact) throw new Error('no exact result');
        const width = before.exact.upper - before.exact.lower;
        expect(after.exact.upper - after.exact.lower).toBeLessThanOrEqual(width + 1e-9 * scale);
        const was = before.exact.conformity?.inLimits ?? 0;
        expect(after.exact.conformity?.inLimits ?? 0).toBeGreaterThanOrEqual(was - 1e-9);
      }),
      { ...seed, numRuns: 40 },
    );
  });

  test('inches and millimetres give the same chain', () => {
    fc.assert(
      fc.property(links(any, 5), (contributors) => {
        const input = against(contributors, 2.5);
        const scaled = contributors.map((link) => ({
          ...link,
          nominal: 25.4 * link.nominal,
          plus: 25.4 * (link.plus ?? 0),
          minus: 25.4 * (link.minus ?? 0),
        }));
        const a = stackUp(input);
        const b = stackUp({
          contributors: scaled,
          requirement: {
            lower: 25.4 * (input.requirement?.lower ?? 0),
            upper: 25.4 * (input.requirement?.upper ?? 0),
          },
        });
        const scale = b.worst.upper - b.worst.lower;
        near(25.4 * a.rss.upper, b.rss.upper, scale);
        near(25.4 * a.estimatedMeanShift.lower, b.estimatedMeanShift.lower, scale);
        near(25.4 * a.moments.sigma, b.moments.sigma, scale);
        if ('reason' in a.exact || 'reason' in b.exact) throw new Error('no exact result');
        near(25.4 * a.exact.upper, b.exact.upper, scale);
        near(a.exact.conformity?.inLimits ?? 0, b.exact.conformity?.inLimits ?? 0, 1);
      }),
      { ...seed, numRuns: 25 },
    );
  });
});

describe('exact distribution', () => {
  test('both tails make one, the mirrored chain has them swapped, quantiles undo them', () => {
    fc.assert(
      fc.property(links(any, 6), shape(-4, 4), (contributors, z) => {
        const chain = exactOf({ contributors });
        const mirrored = exactOf({
          contributors: contributors.map((link) => ({
            ...link,
            coefficient: -(link.coefficient ?? 1),
          })),
        });
        const { mean, sd } = chain.moments;
        const x = mean + z * sd;
        const lower = chain.lowerTail(x);
        const upper = chain.upperTail(x);
        near(lower.tail + upper.tail, 1, 1, 1e-12);
        const swapped = mirrored.lowerTail(-x);
        near(swapped.tail, upper.tail, upper.tail, 2 * (upper.error + swapped.error) + 1e-10);
        if (lower.tail > 1e-9 && lower.tail < 1 - 1e-9 && lower.density * sd > 1e-9) {
          near(chain.quantile(lower.tail), x, sd, 1e-6);
        }
      }),
      { ...seed, numRuns: 60 },
    );
  });

  test('its tails integrate to the mean and variance of the cumulants', () => {
    fc.assert(
      fc.property(links(any, 4), (contributors) => {
        const chain = exactOf({ contributors });
        const { mean, sd } = chain.moments;
        // E Z and E Z^2 from the tails, panel by panel
        let first = 0;
        let second = 0;
        for (const [from, to] of [
          [0, 0.5],
          [0.5, 1],
          [1, 1.5],
          [1.5, 2],
          [2, 3],
          [3, 5],
          [5, 9],
        ] as const) {
          nodes.forEach((node, i) => {
            const z = from + 0.5 * (to - from) * (1 + node);
            const weight = 0.5 * (to - from) * (weights[i] ?? 0);
            const upper = chain.upperTail(mean + z * sd).tail;
            const lower = chain.lowerTail(mean - z * sd).tail;
            first += weight * (upper - lower);
            second += weight * 2 * z * (upper + lower);
          });
        }
        expect(Math.abs(first)).toBeLessThan(2e-3);
        expect(Math.abs(second - 1)).toBeLessThan(2e-3);
      }),
      { ...seed, numRuns: 12 },
    );
  });

  test('tails fall with x, and the stated error covers a finer look from the other side', () => {
    fc.assert(
      fc.property(links(any, 5), (contributors) => {
        const chain = exactOf({ contributors });
        const { mean, sd } = chain.moments;
        let before = 1;
        for (let z = -5; z <= 5; z += 0.5) {
          const { tail, error } = chain.upperTail(mean + z * sd);
          expect(tail).toBeLessThanOrEqual(before * (1 + 4 * error + 1e-12));
          expect(error).toBeLessThan(1e-3);
          before = tail;
        }
      }),
      { ...seed, numRuns: 40 },
    );
  });
});
