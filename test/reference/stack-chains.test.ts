import { type Contributor, type StackInput, stackUp } from '@offplate/core';
import { describe, expect, test } from 'vitest';

// K. W. Chase, Tolerance Allocation Methods for Designers, Brigham Young University report 99-6,
// 1999. Gap = -A + B - C + D - E + F - G, inches. Inputs and published results from memory.
const links = [
  ['A', 0.0505, 0.0015, -1],
  ['B', 8, 0.008, 1],
  ['C', 0.5093, 0.0025, -1],
  ['D', 0.4, 0.002, 1],
  ['E', 7.711, 0.006, -1],
  ['F', 0.4, 0.002, 1],
  ['G', 0.5093, 0.0025, -1],
] as const;

const chain = (extra: (id: string) => Partial<Contributor> = () => ({})): StackInput => ({
  unit: 'in',
  // ± 0.015 about the mean gap: the published figures ignore that it lies 0.0001 off 0.020
  requirement: { lower: 0.0049, upper: 0.0349 },
  contributors: links.map(([id, nominal, tolerance, coefficient]) => ({
    id,
    nominal,
    plus: tolerance,
    minus: tolerance,
    coefficient,
    ...extra(id),
  })),
});

const halfRange = (range: { readonly lower: number; readonly upper: number }): number =>
  0.5 * (range.upper - range.lower);

describe('A1 seven-link shaft and housing stack, Chase, BYU report 99-6, 1999 (memory, outputs recomputed)', () => {
  const result = stackUp(chain());

  test('mean gap and worst-case sum', () => {
    expect(result.nominal).toBeCloseTo(0.0199, 14);
    expect(halfRange(result.worst)).toBeCloseTo(0.0245, 14);
    expect(result.worst.holds).toBe(false);
  });

  test('root sum square', () => {
    expect(halfRange(result.rss)).toBeCloseTo(0.01107926, 9);
    expect(result.rss.sigma).toBeCloseTo(0.003693087, 9);
  });

  test('sigmas to the limit and two-sided ppm', () => {
    expect(3 * (result.rss.conformity?.cpk ?? 0)).toBeCloseTo(4.061643, 6);
    const { ppmBelow, ppmAbove } = result.rss.conformity ?? { ppmBelow: 0, ppmAbove: 0 };
    expect(ppmBelow + ppmAbove).toBeCloseTo(48.73, 2);
  });

  test('variance shares', () => {
    const published = [1.832994, 52.138493, 5.09165, 3.258656, 29.327902, 3.258656, 5.09165];
    result.contributions.forEach((contribution, i) => {
      expect(contribution.sharePercent).toBeCloseTo(published[i] ?? 0, 6);
    });
  });

  test('Bender factor 1.5 on the root sum square', () => {
    expect(1.5 * halfRange(result.rss)).toBeCloseTo(0.01661889, 8);
  });
});

describe('A2 estimated mean shift, Greenwood & Chase, J. Eng. for Industry 109 (1987) 112 (derived factors)', () => {
  test('a factor for each link', () => {
    const factors: Record<string, number> = {
      A: 0.7,
      B: 0.2,
      C: 0.7,
      D: 0.3,
      E: 0.2,
      F: 0.3,
      G: 0.7,
    };
    const { estimatedMeanShift } = stackUp(chain((id) => ({ shiftFactor: factors[id] ?? 0 })));
    expect(3 * (estimatedMeanShift.sigma ?? 0)).toBeCloseTo(0.008321508, 9);
    expect(halfRange(estimatedMeanShift)).toBeCloseTo(0.016871508, 9);
  });

  test.each([
    [0, 0.01107926],
    [0.25, 0.014434445],
    [0.5, 0.01778963],
    [0.8, 0.021815852],
    [1, 0.0245],
  ])('all factors %d', (shiftFactor, total) => {
    const { estimatedMeanShift } = stackUp(chain(() => ({ shiftFactor })));
    expect(halfRange(estimatedMeanShift)).toBeCloseTo(total, 9);
  });
});

describe('A3 inflation factors, F. Scholz, Tolerance Stack Analysis Methods, Boeing, 1995 (values memory, recomputed)', () => {
  const factor = (distribution: NonNullable<Contributor['distribution']>): number => {
    const result = stackUp({
      contributors: [{ id: 'x', nominal: 0, plus: 1, minus: 1, distribution }],
    });
    return halfRange(result.inflatedRss);
  };

  test.each([
    ['normal, sigma = T/3', { kind: 'normal' }, 1],
    ['uniform', { kind: 'uniform' }, 1.7320508],
    ['symmetric triangular', { kind: 'triangular' }, 1.2247449],
    ['trapezoid, flat top half the base', { kind: 'trapezoidal', topFraction: 0.5 }, 1.3693064],
    ['semi-elliptical', { kind: 'semi-elliptical' }, 1.5],
    ['beta 3, 3', { kind: 'beta', alpha: 3, beta: 3 }, 1.1338934],
  ] as const)('%s', (_, distribution, c) => {
    expect(factor(distribution)).toBeCloseTo(c, 7);
  });

  const six = (extra: Partial<Contributor>): StackInput => ({
    contributors: Array.from({ length: 6 }, (_, i) => ({
      id: `x${i}`,
      nominal: 0,
      plus: 0.02,
      minus: 0.02,
      ...extra,
    })),
  });

  test('six links of ± 0.02 (derived)', () => {
    const result = stackUp(six({ distribution: { kind: 'uniform' } }));
    expect(halfRange(result.worst)).toBeCloseTo(0.12, 14);
    expect(halfRange(result.rss)).toBeCloseTo(0.048989795, 9);
    expect(1.5 * halfRange(result.rss)).toBeCloseTo(0.073484692, 9);
    expect(halfRange(result.inflatedRss)).toBeCloseTo(0.084852814, 9);
  });

  test.each([
    [0.1, 0.056090815],
    [0.2, 0.063191836],
    [0.3, 0.070292856],
  ])('six links with a mean shift of %d of T (derived)', (shiftFactor, total) => {
    expect(halfRange(stackUp(six({ shiftFactor })).estimatedMeanShift)).toBeCloseTo(total, 9);
  });

  test('true 99.73 % half-width of six uniforms (Monte Carlo of 8 million: 0.0802)', () => {
    const { exact } = stackUp({ ...six({ distribution: { kind: 'uniform' } }), coverage: 0.9973 });
    if ('reason' in exact) throw new Error(exact.reason);
    expect(halfRange(exact)).toBeCloseTo(0.0802, 4);
  });
});

test('A4 Cp/k form, Harry & Stewart, Six Sigma Mechanical Design Tolerancing, 1988 (memory, derived numbers)', () => {
  const cp: Record<string, number> = { A: 1.33, B: 1, C: 2, D: 1.33, E: 1, F: 1.33, G: 2 };
  const k: Record<string, number> = { A: 0.1, B: 0.25, C: 0, D: 0.2, E: 0.25, F: 0.2, G: 0 };
  const { sixSigma, exact } = stackUp(
    chain((id) => ({
      distribution: { kind: 'normal', cp: cp[id] ?? 1, cpk: (cp[id] ?? 1) * (1 - (k[id] ?? 0)) },
    })),
  );
  expect(sixSigma.sigma).toBeCloseTo(0.004589113, 9);
  expect(halfRange(sixSigma)).toBeCloseTo(0.01376734, 8);
  expect(3 * (sixSigma.conformity?.cpk ?? 0)).toBeCloseTo(3.268605, 6);
  const { ppmBelow, ppmAbove } = sixSigma.conformity ?? { ppmBelow: 0, ppmAbove: 0 };
  expect(ppmBelow + ppmAbove).toBeCloseTo(1080.79, 2);
  // the exact distribution of the same links widens sigma in the same way
  if ('reason' in exact) throw new Error(exact.reason);
  expect(exact.sigma).toBeCloseTo(sixSigma.sigma ?? 0, 15);
});
