import {
  datumShift,
  earnedTolerance,
  type FeatureOfSize,
  featureBoundaries,
  geometricContributors,
  InputError,
  stackUp,
  wallThickness,
} from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const hole: FeatureOfSize = { kind: 'internal', lowerMm: 10, upperMm: 10.2 };
const position = (materialCondition?: 'MMC' | 'LMC') =>
  ({
    kind: 'position',
    valueMm: 0.3,
    diametral: true,
    ...(materialCondition === undefined ? {} : { materialCondition }),
  }) as const;

describe('contributors', () => {
  test('position regardless of size: half the zone, semi-elliptical', () => {
    const [link, ...rest] = geometricContributors({ id: 'P', tolerance: position() });
    expect(rest).toEqual([]);
    expect(link).toMatchObject({
      id: 'P position',
      nominal: 0,
      plus: 0.15,
      minus: 0.15,
      distribution: { kind: 'semi-elliptical' },
    });
  });

  test('position at MMC with datum shift: zone, bonus, play', () => {
    const links = geometricContributors({
      id: 'P',
      tolerance: position('MMC'),
      size: hole,
      datumShiftMm: 0.1,
      coefficient: -1,
    });
    expect(links.map(({ id }) => id)).toEqual(['P position', 'P bonus', 'P datum shift']);
    expect(links.map(({ plus }) => plus?.toFixed(3))).toEqual(['0.150', '0.100', '0.050']);
    expect(links.map(({ coefficient }) => coefficient)).toEqual([-1, -1, -1]);
    expect(links[2]?.distribution).toEqual({ kind: 'uniform' });
    const { worst, moments } = stackUp({ contributors: links });
    expect(worst.upper).toBeCloseTo(0.3, 12);
    // semi-ellipse: half width / 2; uniform: half width / sqrt 3
    expect(moments.sigma).toBeCloseTo(Math.hypot(0.075, 0.05, 0.05 / Math.sqrt(3)), 12);
  });

  test('perpendicularity beyond the feature leans with the lever 1 + 2P/L', () => {
    const [link] = geometricContributors({
      id: 'axis',
      tolerance: { kind: 'perpendicularity', valueMm: 0.05, diametral: true },
      lengthMm: 20,
      beyondMm: 30,
    });
    expect(link?.plus).toBeCloseTo(0.025 * 4, 12);
  });

  test('runout is an offset of half the indicator movement; a plane zone is uniform', () => {
    const [runout] = geometricContributors({
      id: 'r',
      tolerance: { kind: 'runout', valueMm: 0.04, diametral: false },
    });
    expect(runout).toMatchObject({ plus: 0.02, distribution: { kind: 'semi-elliptical' } });
    const [flat] = geometricContributors({
      id: 'f',
      tolerance: { kind: 'parallelism', valueMm: 0.04, diametral: false },
    });
    expect(flat).toMatchObject({ plus: 0.02, minus: 0.02, distribution: { kind: 'uniform' } });
  });

  test('a given distribution is kept', () => {
    const [link] = geometricContributors({
      id: 'P',
      tolerance: position(),
      distribution: { kind: 'normal', cp: 1.33 },
    });
    expect(link?.distribution).toEqual({ kind: 'normal', cp: 1.33 });
  });

  test.each([
    ['a bonus without a size', { id: 'P', tolerance: position('MMC') }, /needs the limits of size/],
    [
      'more than the zone',
      {
        id: 'P',
        tolerance: { kind: 'profile-surface', valueMm: 0.2, diametral: false },
        addsMaterialMm: 0.3,
      },
      /more than the whole zone/,
    ],
    [
      'a reach without a length',
      {
        id: 'P',
        tolerance: { kind: 'perpendicularity', valueMm: 0.2, diametral: true },
        beyondMm: 5,
      },
      /needs its length/,
    ],
    [
      'a negative zone',
      { id: 'P', tolerance: { kind: 'position', valueMm: -0.2, diametral: true } },
      /valueMm must be a length/,
    ],
  ] as const)('%s is refused', (_, input, message) => {
    expect(() => geometricContributors(input)).toThrow(InputError);
    expect(() => geometricContributors(input)).toThrow(message);
  });
});

describe('boundaries', () => {
  test('regardless of size there is no bonus and no datum shift', () => {
    const boundaries = featureBoundaries(hole, { valueMm: 0.3 });
    expect(boundaries.innerMm).toBeCloseTo(9.7, 12);
    expect(boundaries.outerMm).toBeCloseTo(10.5, 12);
    expect(boundaries.bonusMm).toBe(0);
    expect(datumShift(hole, { valueMm: 0.3 })).toBe(0);
  });

  const kind = fc.constantFrom('internal', 'external') as fc.Arbitrary<'internal' | 'external'>;
  const condition = fc.constantFrom('MMC', 'LMC') as fc.Arbitrary<'MMC' | 'LMC'>;
  const share = fc.double({ min: 0, max: 1, noNaN: true });

  test('no produced feature leaves them, and both are reached', () => {
    fc.assert(
      fc.property(kind, condition, share, share, share, (kindOf, materialCondition, a, b, at) => {
        const feature: FeatureOfSize = { kind: kindOf, lowerMm: 10, upperMm: 10 + a };
        const tolerance = { valueMm: 0.3 * b, materialCondition };
        const boundaries = featureBoundaries(feature, tolerance);
        const reach = (sizeMm: number) => earnedTolerance(feature, tolerance, { sizeMm }).totalMm;
        const size = 10 + a * at;
        expect(size - reach(size)).toBeGreaterThanOrEqual(boundaries.innerMm - 1e-12);
        expect(size + reach(size)).toBeLessThanOrEqual(boundaries.outerMm + 1e-12);
        const ends = [10, 10 + a];
        const inner = Math.min(...ends.map((end) => end - reach(end)));
        const outer = Math.max(...ends.map((end) => end + reach(end)));
        expect(inner).toBeCloseTo(boundaries.innerMm, 12);
        expect(outer).toBeCloseTo(boundaries.outerMm, 12);
        // the virtual condition does not depend on the size that was produced
        const isHole = kindOf === 'internal';
        const sign = isHole === (materialCondition === 'MMC') ? -1 : 1;
        expect(size + sign * reach(size)).toBeCloseTo(boundaries.virtualConditionMm, 12);
      }),
      { seed: 20261125, numRuns: 200 },
    );
  });

  test('a wall between two holes counts both', () => {
    const wall = wallThickness({
      basicMm: 20,
      features: [
        { feature: hole, tolerance: { valueMm: 0.3, materialCondition: 'MMC' } },
        { feature: hole, tolerance: { valueMm: 0.1 } },
      ],
    });
    expect(wall.minimumMm).toBeCloseTo(20 - 10.7 / 2 - 10.3 / 2, 12);
    expect(wall.maximumMm).toBeCloseTo(20 - 9.7 / 2 - 9.9 / 2, 12);
  });

  test('limits the wrong way round', () => {
    expect(() =>
      featureBoundaries({ kind: 'external', lowerMm: 5, upperMm: 4 }, { valueMm: 0.1 }),
    ).toThrow(/lower limit of size is above/);
  });
});
