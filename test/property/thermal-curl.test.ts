import {
  cutOffCurl,
  defaultCatalog,
  machiningCurvature,
  materialById,
  type RemainingStress,
} from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const seed = 20260301;
const catalog = defaultCatalog();
const length = fc.double({ min: 5, max: 600, noNaN: true });
const height = fc.double({ min: 1, max: 200, noNaN: true });
const stress = fc.double({ min: 1, max: 1500, noNaN: true });
const alloy = fc.constantFrom(...catalog.materials.map((row) => row.id));

const leftOf = (share: number): RemainingStress => ({
  known: true,
  low: share,
  typical: share,
  high: share,
  method: 'planning range',
  note: '',
  source: '',
  confidence: 'practice',
});

const curl = (id: string, lengthMm: number, heightMm: number, mpa: number, share?: number) => {
  const report = cutOffCurl(
    materialById(catalog, id),
    { lengthMm, widthMm: 1, heightMm, measuredStressMPa: mpa },
    share === undefined ? undefined : leftOf(share),
  );
  if (!report.known) throw new Error(report.reason);
  return report;
};

describe('K8: curl follows stress, length and what heat leaves', () => {
  test('twice the stress, twice the curl; twice the length, four times; nothing left, none', () => {
    fc.assert(
      fc.property(alloy, length, height, stress, (id, lengthMm, heightMm, mpa) => {
        const one = curl(id, lengthMm, heightMm, mpa).before;
        const doubleStress = curl(id, lengthMm, heightMm, 2 * mpa).before;
        const doubleLength = curl(id, 2 * lengthMm, heightMm, mpa).before;
        expect(doubleStress.typicalMm / one.typicalMm).toBeCloseTo(2, 9);
        expect(doubleStress.highMm / one.highMm).toBeCloseTo(2, 9);
        expect(doubleLength.typicalMm / one.typicalMm).toBeCloseTo(4, 9);
        expect(curl(id, lengthMm, heightMm, mpa, 0).after).toEqual({
          lowMm: 0,
          typicalMm: 0,
          highMm: 0,
        });
      }),
      { seed, numRuns: 300 },
    );
  });

  test('longer never curls less, thicker never more, more left never less', () => {
    fc.assert(
      fc.property(
        alloy,
        length,
        height,
        stress,
        fc.double({ min: 1, max: 3, noNaN: true }),
        (id, lengthMm, heightMm, mpa, factor) => {
          const base = curl(id, lengthMm, heightMm, mpa, 0.3).after.typicalMm;
          expect(
            curl(id, lengthMm * factor, heightMm, mpa, 0.3).after.typicalMm,
          ).toBeGreaterThanOrEqual(base * (1 - 1e-12));
          expect(
            curl(id, lengthMm, heightMm * factor, mpa, 0.3).after.typicalMm,
          ).toBeLessThanOrEqual(base * (1 + 1e-12));
          expect(
            curl(id, lengthMm, heightMm, mpa, Math.min(1, 0.3 * factor)).after.typicalMm,
          ).toBeGreaterThanOrEqual(base * (1 - 1e-12));
        },
      ),
      { seed, numRuns: 300 },
    );
  });

  test('machining stressed stock: one face against the other, and both alike leave it straight', () => {
    const share = fc.double({ min: 0, max: 0.45, noNaN: true });
    fc.assert(
      fc.property(stress, height, share, share, (mpa, heightMm, top, bottom) => {
        const bend = machiningCurvature(mpa, 110_000, heightMm, top * heightMm, bottom * heightMm);
        const mirrored = machiningCurvature(
          mpa,
          110_000,
          heightMm,
          bottom * heightMm,
          top * heightMm,
        );
        const scale = mpa / (110_000 * heightMm);
        expect(Math.abs(bend + mirrored)).toBeLessThan(1e-10 * scale * 1e3);
        const alone = machiningCurvature(mpa, 110_000, heightMm, top * heightMm, 0);
        expect(alone).toBeCloseTo((-6 * mpa * top) / (110_000 * heightMm), 10);
      }),
      { seed, numRuns: 300 },
    );
  });
});
