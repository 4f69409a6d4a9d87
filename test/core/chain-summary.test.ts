import {
  type Contributor,
  chainSummary,
  type Distribution,
  InputError,
  roundZoneProbability,
  stackUp,
} from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { chainInLimits } from '../../packages/core/src/stack/chain-summary.js';

const distribution: fc.Arbitrary<Distribution> = fc.oneof(
  fc.double({ min: 0.001, max: 0.05, noNaN: true }).map((sigma) => ({
    kind: 'normal' as const,
    sigma,
  })),
  fc.constant({ kind: 'uniform' as const }),
  fc
    .tuple(fc.double({ min: 1, max: 5, noNaN: true }), fc.double({ min: 1, max: 5, noNaN: true }))
    .map(([alpha, beta]) => ({ kind: 'beta' as const, alpha, beta })),
);

const contributors: fc.Arbitrary<Contributor[]> = fc
  .array(
    fc.record({
      nominal: fc.double({ min: -20, max: 20, noNaN: true }),
      plus: fc.double({ min: 0.01, max: 0.1, noNaN: true }),
      minus: fc.double({ min: 0.01, max: 0.1, noNaN: true }),
      coefficient: fc.constantFrom(1, -1, 0.5, -2),
      distribution,
    }),
    { minLength: 1, maxLength: 5 },
  )
  .map((list) => list.map((entry, index) => ({ id: `c${index}`, ...entry })));

describe('a linear chain in short', () => {
  test('gives the figures of the full stack-up', () => {
    fc.assert(
      fc.property(contributors, fc.double({ min: 0.5, max: 4, noNaN: true }), (list, reach) => {
        const middle = stackUp({ contributors: list });
        const requirement = {
          lower: middle.moments.mean - reach * middle.moments.sigma,
          upper: middle.moments.mean + 1.2 * reach * middle.moments.sigma,
        };
        const full = stackUp({ contributors: list, requirement });
        const short = chainSummary({ contributors: list, requirement });
        expect(short.mean).toBeCloseTo(full.moments.mean, 12);
        expect(short.sigma).toBeCloseTo(full.moments.sigma, 12);
        expect(short.worst.lower).toBeCloseTo(full.worst.lower, 12);
        expect(short.worst.upper).toBeCloseTo(full.worst.upper, 12);
        expect(short.contributions).toEqual(full.contributions);
        if ('reason' in full.exact) throw new Error(full.exact.reason);
        expect(short.inLimits).toBeCloseTo(full.exact.conformity?.inLimits ?? 0, 8);
        expect(chainInLimits({ contributors: list, requirement }).inLimits).toBe(short.inLimits);
        const gain = full.tightenFirst.find(({ id }) => id === short.tightenFirst?.id);
        expect(short.tightenFirst?.inLimits).toBeCloseTo(gain?.inLimits ?? 0, 8);
        const largest = Math.max(...full.contributions.map((part) => part.sharePercent));
        const named = full.contributions.find(({ id }) => id === short.tightenFirst?.id);
        expect(named?.sharePercent).toBeCloseTo(largest, 6);
      }),
      { seed: 31, numRuns: 120 },
    );
  });

  test('limits far beyond everything need no integral', () => {
    const { inLimits, by } = chainSummary({
      contributors: [
        { id: 'a', nominal: 0, plus: 0.1, minus: 0.1, distribution: { kind: 'uniform' } },
        { id: 'b', nominal: 0, distribution: { kind: 'normal', sigma: 0.01 } },
      ],
      requirement: { lower: -0.2, upper: 0.2 },
    });
    expect(inLimits).toBe(1);
    expect(by).toMatch(/lie inside/);
  });
});

/** P(inside) by a plain sum over the plane: an independent check. */
function bySum(radius: number, sigma: number, density: (c: number) => number, width: number) {
  const steps = 400;
  let inside = 0;
  let whole = 0;
  for (let k = 0; k < steps; k++) {
    const centre = width * ((k + 0.5) / steps);
    const weight = density(centre / width);
    whole += weight;
    const rings = 400;
    for (let i = 0; i < rings; i++) {
      // strips across the direction of the offset
      const x = radius * (-1 + (2 * (i + 0.5)) / rings);
      const half = Math.sqrt(radius * radius - x * x) / sigma;
      const across = erf(half / Math.SQRT2);
      const along = Math.exp(-0.5 * ((x - centre) / sigma) ** 2) / (sigma * Math.sqrt(2 * Math.PI));
      inside += (weight * along * across * 2 * radius) / rings;
    }
  }
  return inside / whole;
}

/** Abramowitz and Stegun 7.1.26, error below 1.5e-7. */
function erf(x: number): number {
  const t = 1 / (1 + 0.3275911 * x);
  const poly =
    t *
    (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  return 1 - poly * Math.exp(-x * x);
}

describe('an axis in a round zone', () => {
  test('without offsets is Rayleigh', () => {
    expect(roundZoneProbability({ radius: 0.03, sigma: 0.01 })).toBeCloseTo(1 - Math.exp(-4.5), 13);
    expect(roundZoneProbability({ radius: 0.03, sigma: 0 })).toBe(1);
    expect(roundZoneProbability({ radius: 0, sigma: 0.01 })).toBe(0);
  });

  test.each([
    [0.03, 0.01, 0.02, 4, 4],
    [0.05, 0.01, 0.06, 2, 4],
    [0.04, 0.02, 0.01, 3, 1.5],
  ])(
    'with an offset agrees with a sum over the plane (%d, %d, %d)',
    (radius, sigma, width, alpha, beta) => {
      const exact = roundZoneProbability({
        radius,
        sigma,
        offsets: [{ lower: 0, upper: width, alpha, beta }],
      });
      const sum = bySum(radius, sigma, (u) => u ** (alpha - 1) * (1 - u) ** (beta - 1), width);
      expect(exact).toBeCloseTo(sum, 4);
    },
  );

  test('a centre far out against sigma is a straight edge', () => {
    const at = (centre: number): number =>
      roundZoneProbability({
        radius: 0.1,
        sigma: 0.001,
        offsets: [{ lower: centre, upper: centre + 1e-9, alpha: 1, beta: 1 }],
      });
    expect(at(0.09)).toBeCloseTo(1, 10);
    expect(at(0.1)).toBeCloseTo(0.5, 1);
    expect(at(0.12)).toBeCloseTo(0, 12);
  });

  test('refuses what is no length', () => {
    expect(() => roundZoneProbability({ radius: -1, sigma: 1 })).toThrow(InputError);
    expect(() => roundZoneProbability({ radius: 1, sigma: Number.NaN })).toThrow(InputError);
  });
});
