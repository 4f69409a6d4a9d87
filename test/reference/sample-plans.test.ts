import {
  acceptanceProbability,
  badPartsFound,
  InputError,
  normalSamplePlan,
  qualityLimits,
  zeroAcceptancePlan,
} from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

describe('ISO 2859-1:1999, single sampling, normal inspection', () => {
  test.each([
    // lot, I, II, III: table 1, general levels, read in a copy of the tables
    [2, 'A', 'A', 'B'],
    [8, 'A', 'A', 'B'],
    [9, 'A', 'B', 'C'],
    [25, 'B', 'C', 'D'],
    [26, 'C', 'D', 'E'],
    [90, 'C', 'E', 'F'],
    [150, 'D', 'F', 'G'],
    [280, 'E', 'G', 'H'],
    [500, 'F', 'H', 'J'],
    [1200, 'G', 'J', 'K'],
    [3200, 'H', 'K', 'L'],
    [10_000, 'J', 'L', 'M'],
    [35_000, 'K', 'M', 'N'],
    [150_000, 'L', 'N', 'P'],
    [500_000, 'M', 'P', 'Q'],
    [500_001, 'N', 'Q', 'R'],
  ] as const)('table 1: a lot of %d has letters %s %s %s', (lot, one, two, three) => {
    const letter = (level: 'I' | 'II' | 'III'): string => normalSamplePlan(lot, 1, level).lotLetter;
    expect([letter('I'), letter('II'), letter('III')]).toEqual([one, two, three]);
  });

  test.each([
    // Birolini, Reliability Engineering, 2007, figure 7.4 (read)
    [150, 0.65, 20, 0, 'read'],
    [1200, 0.65, 80, 1, 'read'],
    [150_000, 0.65, 500, 7, 'read'],
    // table 2-A from memory
    [3200, 0.65, 125, 2, 'memory'],
    [10_000, 0.65, 200, 3, 'memory'],
    [35_000, 0.65, 315, 5, 'memory'],
    [90, 1, 13, 0, 'memory'],
    [500, 1, 50, 1, 'memory'],
    [1200, 1, 80, 2, 'memory'],
    [3200, 1, 125, 3, 'memory'],
    [10_000, 1, 200, 5, 'memory'],
    [25, 2.5, 5, 0, 'memory'],
    [150, 2.5, 20, 1, 'memory'],
    [280, 2.5, 32, 2, 'memory'],
    [500, 2.5, 50, 3, 'memory'],
    [1200, 2.5, 80, 5, 'memory'],
    [3200, 2.5, 125, 7, 'memory'],
    // arrows: F at 1.0 goes up to E, G at 1.0 down to H
    [150, 1, 13, 0, 'memory'],
    [280, 1, 50, 1, 'memory'],
    // A and B at 10 go down to C
    [9, 10, 5, 1, 'memory'],
  ] as const)('table 2-A: lot %d at %d %%: n %d, Ac %d', (lot, limit, size, accept, confidence) => {
    expect(normalSamplePlan(lot, limit)).toMatchObject({
      sampleSize: size,
      accept,
      reject: accept + 1,
      confidence,
    });
  });

  test('a sample as large as the lot is the lot', () => {
    expect(normalSamplePlan(4, 0.65)).toMatchObject({ sampleSize: 4, accept: 0 });
    expect(normalSamplePlan(8, 2.5)).toMatchObject({ planLetter: 'C', sampleSize: 5 });
  });

  test('a stricter limit never takes a smaller sample by more than an arrow, nor accepts more', () => {
    for (const lot of [9, 60, 400, 3000, 40_000, 900_000])
      for (const [index, limit] of qualityLimits.entries()) {
        const next = qualityLimits[index + 1];
        if (next === undefined) continue;
        expect(normalSamplePlan(lot, limit).accept).toBeLessThanOrEqual(
          normalSamplePlan(lot, next).accept,
        );
      }
  });

  test('what the standard does not hold is told at once', () => {
    expect(() => normalSamplePlan(1.5, 3 as 2.5, 'V' as 'I')).toThrowError(InputError);
    expect(() => normalSamplePlan(1.5, 3 as 2.5, 'V' as 'I')).toThrowError(
      /lotSize.*\n.*limitPercent.*\n.*level.*S-1, S-2/,
    );
  });
});

function choose(n: number, k: number): bigint {
  let value = 1n;
  for (let i = 0; i < k; i++) value = (value * BigInt(n - i)) / BigInt(i + 1);
  return value;
}

/** Whole numbers only until the last division. */
function exactly(lot: number, bad: number, size: number, accept: number): number {
  let ways = 0n;
  for (let x = 0; x <= Math.min(accept, bad, size); x++)
    if (size - x <= lot - bad) ways += choose(bad, x) * choose(lot - bad, size - x);
  const scale = 10n ** 30n;
  return Number((ways * scale) / choose(lot, size)) / 1e30;
}

describe('acceptance with the hypergeometric distribution', () => {
  test('agrees with whole-number arithmetic', () => {
    const cases = fc
      .tuple(fc.integer({ min: 1, max: 400 }), fc.nat(400), fc.nat(400), fc.nat(6))
      .map(([lot, bad, size, accept]) => [lot, bad % (lot + 1), size % (lot + 1), accept] as const);
    fc.assert(
      fc.property(cases, ([lotSize, badParts, sampleSize, accept]) => {
        const exact = exactly(lotSize, badParts, sampleSize, accept);
        const found = acceptanceProbability({ lotSize, badParts, sampleSize, accept });
        expect(Math.abs(found - exact)).toBeLessThanOrEqual(1e-11 * exact + 1e-29);
      }),
      { seed: 2859, numRuns: 400 },
    );
  });

  test.each([
    // least sample at a risk of 0.10 for 1, 2.5, 5 and 10 % bad, computed with exact fractions apart
    [10, [9, 9, 9, 9]],
    [20, [18, 18, 18, 14]],
    [25, [23, 23, 17, 13]],
    [50, [45, 34, 27, 18]],
    [100, [90, 54, 37, 20]],
    [150, [103, 65, 37, 21]],
    [280, [150, 78, 42, 22]],
    [500, [184, 81, 43, 22]],
  ] as const)('zero acceptance, lot of %d', (lotSize, sizes) => {
    const found = [0.01, 0.025, 0.05, 0.1].map(
      (badShare) => zeroAcceptancePlan({ lotSize, badShare, consumerRisk: 0.1 }).sampleSize,
    );
    expect(found).toEqual(sizes);
  });

  test('a large lot comes to ln(risk) / ln(1 - p)', () => {
    const { sampleSize } = zeroAcceptancePlan({
      lotSize: 1_000_000,
      badShare: 0.02,
      consumerRisk: 0.05,
    });
    expect(sampleSize).toBe(Math.ceil(Math.log(0.05) / Math.log(0.98)));
  });

  test('what a sample finds is the least number of bad parts that it mostly finds', () => {
    expect(badPartsFound({ lotSize: 24, sampleSize: 24, accept: 0 }, 0.1)).toBe(1);
    expect(badPartsFound({ lotSize: 24, sampleSize: 2, accept: 5 }, 0.1)).toBeUndefined();
    const found = badPartsFound({ lotSize: 100, sampleSize: 20, accept: 1 }, 0.1) ?? 0;
    expect(exactly(100, found, 20, 1)).toBeLessThanOrEqual(0.1);
    expect(exactly(100, found - 1, 20, 1)).toBeGreaterThan(0.1);
  });

  test('counts that do not fit are told at once', () => {
    expect(() =>
      acceptanceProbability({ lotSize: 10, badParts: 11, sampleSize: -1, accept: 0.5 }),
    ).toThrowError(/badParts.*\n.*sampleSize.*\n.*accept/);
    expect(() => zeroAcceptancePlan({ lotSize: 10, badShare: 0, consumerRisk: 1 })).toThrowError(
      /badShare.*\n.*consumerRisk/,
    );
  });
});
