import {
  datumShift,
  earnedTolerance,
  type FeatureOfSize,
  featureBoundaries,
  fixedFastener,
  floatingFastener,
  geometricContributors,
  InputError,
  stackUp,
  wallThickness,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

test('F1 bonus from the oriented envelope, dimcax.com gdt_web/august-97 (read)', () => {
  const hole: FeatureOfSize = { kind: 'internal', lowerMm: 0.499, upperMm: 0.505 };
  const tolerance = { valueMm: 0.015, materialCondition: 'MMC' } as const;
  const earned = earnedTolerance(hole, tolerance, { sizeMm: 0.502, orientationMm: 0.002 });
  expect(earned.bonusMm).toBeCloseTo(0.001, 12);
  expect(earned.totalMm).toBeCloseTo(0.016, 12);
  // the published wrong answer takes the bare size
  expect(earnedTolerance(hole, tolerance, { sizeMm: 0.502 }).bonusMm).toBeCloseTo(0.003, 12);
});

test('F2 straightness of an axis at MMC, slides on ASME Y14.5M-1994 (read)', () => {
  const pin: FeatureOfSize = { kind: 'external', lowerMm: 14.85, upperMm: 15 };
  const tolerance = { valueMm: 0.1, materialCondition: 'MMC' } as const;
  expect(earnedTolerance(pin, tolerance, { sizeMm: 15 }).totalMm).toBeCloseTo(0.1, 12);
  expect(earnedTolerance(pin, tolerance, { sizeMm: 14.85 }).totalMm).toBeCloseTo(0.25, 12);
  expect(featureBoundaries(pin, tolerance).virtualConditionMm).toBeCloseTo(15.1, 12);
});

describe('F3 fasteners, ASME Y14.5 appendix B (H = F + T and H = F + T1 + T2 read; numbers derived)', () => {
  test('floating', () => {
    expect(floatingFastener({ fastenerMm: 10, toleranceMm: 0.4 }).holeMm).toBeCloseTo(10.4, 12);
    expect(floatingFastener({ fastenerMm: 10, holeMm: 10.4 }).toleranceMm).toBeCloseTo(0.4, 12);
  });

  test('fixed with a projected zone', () => {
    const hole = fixedFastener({
      fastenerMm: 10,
      clearanceToleranceMm: 0.4,
      fixedToleranceMm: 0.4,
    });
    expect(hole.holeMm).toBeCloseTo(10.8, 12);
    const split = fixedFastener({ fastenerMm: 10, holeMm: 10.8 });
    expect(split.clearanceToleranceMm).toBeCloseTo(0.4, 12);
    expect(split.fixedToleranceMm).toBeCloseTo(0.4, 12);
    const rest = fixedFastener({ fastenerMm: 10, holeMm: 10.6, clearanceToleranceMm: 0.25 });
    expect(rest.fixedToleranceMm).toBeCloseTo(0.35, 12);
  });

  test('fixed without a projected zone, H = F + T1 + T2 (1 + 2P/D) (memory)', () => {
    const tolerances = { fastenerMm: 10, clearanceToleranceMm: 0.2, fixedToleranceMm: 0.2 };
    expect(fixedFastener(tolerances).holeMm).toBeCloseTo(10.4, 12);
    const leaning = fixedFastener({ ...tolerances, unprojected: { heightMm: 12, depthMm: 20 } });
    expect(leaning.holeMm).toBeCloseTo(10.64, 12);
  });

  test('a hole that is too small is refused', () => {
    expect(() => floatingFastener({ fastenerMm: 10, holeMm: 9.9 })).toThrow(InputError);
    expect(() => fixedFastener({ fastenerMm: 10 })).toThrow(/too little is given/);
  });
});

describe('F4 wall thickness with bonus and datum shift, boundaries of ASME Y14.5 and ISO 2692 (derived)', () => {
  const hole: FeatureOfSize = { kind: 'internal', lowerMm: 10, upperMm: 10.2 };
  const position = { valueMm: 0.3, materialCondition: 'MMC' } as const;

  test('virtual and resultant condition', () => {
    const boundaries = featureBoundaries(hole, position);
    expect(boundaries.virtualConditionMm).toBeCloseTo(9.7, 12);
    expect(boundaries.resultantConditionMm).toBeCloseTo(10.7, 12);
  });

  test('from a plane', () => {
    const wall = wallThickness({ basicMm: 30, features: [{ feature: hole, tolerance: position }] });
    expect(wall.minimumMm).toBeCloseTo(24.65, 12);
    expect(wall.maximumMm).toBeCloseTo(25.15, 12);
  });

  test('from a datum hole at its maximum material boundary', () => {
    const shift = datumShift(
      { kind: 'internal', lowerMm: 20, upperMm: 20.1 },
      { valueMm: 0.05, materialCondition: 'MMC' },
    );
    expect(shift).toBeCloseTo(0.15, 12);
    const wall = wallThickness({
      basicMm: 30,
      features: [{ feature: hole, tolerance: position }],
      datumShiftMm: shift,
    });
    expect(wall.minimumMm).toBeCloseTo(24.575, 12);
    expect(wall.maximumMm).toBeCloseTo(25.225, 12);
  });
});

describe('F5 profile in a stack, ASME Y14.5 (derived)', () => {
  const stack = (addsMaterialMm?: number) =>
    stackUp({
      contributors: [
        { id: 'basic', nominal: 50, plus: 0, minus: 0 },
        ...geometricContributors({
          id: 'face',
          tolerance: { kind: 'profile-surface', valueMm: 0.4, diametral: false },
          ...(addsMaterialMm === undefined ? {} : { addsMaterialMm }),
        }),
      ],
    });

  test('bilateral: 50 ± 0.2', () => {
    expect(stack().worst.lower).toBeCloseTo(49.8, 12);
    expect(stack().worst.upper).toBeCloseTo(50.2, 12);
  });

  test('0.1 of 0.4 adds material: 49.9 ± 0.2', () => {
    const { worst } = stack(0.1);
    expect(worst.mean).toBeCloseTo(49.9, 12);
    expect(worst.lower).toBeCloseTo(49.7, 12);
    expect(worst.upper).toBeCloseTo(50.1, 12);
  });
});
