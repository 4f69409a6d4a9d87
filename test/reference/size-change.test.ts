import {
  alphaCaseUm,
  defaultCatalog,
  densificationStrain,
  dimensionChangeOf,
  heatSkin,
  hipAsRelief,
  limitsBeforeCoating,
  materialById,
  pitchDiameterLimits,
  pitchDiameterShift,
  recastRemovalUm,
  sizeAfterTreatment,
  sizeBeforeTreatment,
  type Thread,
  threadBeforeCoating,
  treatmentById,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

const catalog = defaultCatalog();

describe('C19: HIP densification by mass balance (exact)', () => {
  test.each([
    [0.001, 0, -0.0333],
    [0.002, 0, -0.0667],
    [0.005, 0, -0.1669],
    [0.01, 0, -0.3345],
    [0.0015, 0.0001, -0.0467],
    [0.17, 0.003, -5.93],
  ])('pores %d -> %d: %d %%', (before, after, percent) => {
    const digits = percent < -1 ? 2 : 4;
    expect(100 * densificationStrain(before, after)).toBeCloseTo(percent, digits);
  });

  test('17 % to 0.3 % are the porosities of doi 10.3390/ma13030536 (read); 0.5 % is 1.67 mm a metre', () => {
    expect(-1000 * densificationStrain(0.005, 0)).toBeCloseTo(1.67, 2);
  });

  test('the row of the catalogue is 0.1 % closed to nothing, 0.2 % at its low end', () => {
    const row = dimensionChangeOf(catalog, 'r56400', 'hip', 'HIP');
    expect(row.changePerMm).toBeCloseTo(densificationStrain(0.001, 0), 6);
    expect(row.lowPerMm).toBeCloseTo(densificationStrain(0.002, 0), 6);
  });

  test('the metal itself keeps its volume', () => {
    const e = densificationStrain(0.03, 0.002);
    expect((1 + e) ** 3 * (1 - 0.002)).toBeCloseTo(1 - 0.03, 12);
  });

  test('a pore fraction of 1 or more is refused', () => {
    expect(() => densificationStrain(1, 0)).toThrow(RangeError);
    expect(() => densificationStrain(0.1, -0.1)).toThrow(RangeError);
  });
});

describe('ageing of S17400, MMPDS-04 2.6.9 (read)', () => {
  test('C05: 100 mm from Condition A to H900: 99.940 to 99.960', () => {
    const size = sizeAfterTreatment(catalog, 's17400', 'age', 'H900', 100);
    expect(size.lowMm).toBeCloseTo(99.94, 9);
    expect(size.highMm).toBeCloseTo(99.96, 9);
    expect(size.confidence).toBe('read');
  });
  test('C06: 100 mm from Condition A to H1150: 99.900 to 99.920', () => {
    const size = sizeAfterTreatment(catalog, 's17400', 'age', 'H1150', 100);
    expect(size.lowMm).toBeCloseTo(99.9, 9);
    expect(size.highMm).toBeCloseTo(99.92, 9);
  });
  test('the size to make before comes out right after', () => {
    const before = sizeBeforeTreatment(100, -0.0009);
    expect(sizeAfterTreatment(catalog, 's17400', 'age', 'H1150', before).typicalMm).toBeCloseTo(
      100,
      9,
    );
  });
});

describe('alpha case of titanium: 2 sqrt(D t), D from hardness profiles (Missouri S&T, faculty work 912, read)', () => {
  test.each([
    [777, 1, 32],
    [777, 2, 45],
    [777, 4, 63],
    [777, 8, 90],
    [877, 1, 35],
    [877, 2, 49],
    [877, 4, 70],
    [877, 8, 99],
    [977, 1, 42],
    [977, 2, 59],
    [977, 4, 83],
    [977, 8, 118],
  ])('%d C, %d h: %d um (computed)', (celsius, hours, um) => {
    expect(Math.abs((alphaCaseUm(celsius, hours * 60) ?? 0) - um)).toBeLessThan(0.6);
  });

  test('between the measured temperatures it rises, outside of them there is no figure', () => {
    const depths = [780, 820, 877, 920, 977, 1020, 1066].map((celsius) => alphaCaseUm(celsius, 60));
    expect(depths.every((depth) => depth !== undefined)).toBe(true);
    expect(depths).toEqual([...depths].sort((a = 0, b = 0) => a - b));
    expect(alphaCaseUm(700, 60)).toBeUndefined();
    expect(alphaCaseUm(1100, 60)).toBeUndefined();
  });

  test('planning: 10 um in clean gas, 25 in poor argon, 1.25 of the bound plus scale in air (common practice)', () => {
    const titanium = materialById(catalog, 'r56400');
    expect(heatSkin(catalog, titanium, 'clean', 800, 120).depthUm).toBe(10);
    expect(heatSkin(catalog, titanium, 'poor-argon', 800, 120).depthUm).toBe(25);
    expect(heatSkin(catalog, titanium, 'air', 877, 120).depthUm).toBeCloseTo(
      1.25 * (alphaCaseUm(877, 120) ?? 0) + 15,
      9,
    );
    const cold = heatSkin(catalog, titanium, 'air', 700, 120);
    expect(cold.depthUm).toBeUndefined();
    expect(cold.what).toContain('no measured diffusivity at 700 °C');
  });

  test('scale of 5 to 30 um on steel in air (common practice), none on aluminium', () => {
    const skin = heatSkin(catalog, materialById(catalog, 's31603'), 'air', 900, 60);
    expect(skin.depthUm).toBeGreaterThanOrEqual(5);
    expect(skin.depthUm).toBeLessThanOrEqual(30);
    expect(heatSkin(catalog, materialById(catalog, 'alsi10mg'), 'air', 300, 120).depthUm).toBe(0);
  });
});

test('recast of one wire cut 10 to 40 um (from memory): twice the middle comes off a loaded face', () => {
  expect(recastRemovalUm(catalog, 'recast-wire-one-cut')).toBe(50);
  expect(recastRemovalUm(catalog, 'recast-wire-three-skims')).toBe(5);
});

describe('coating', () => {
  test('pitch diameter of a 60 degree thread moves four times the thickness (geometry); 0.005 mm -> 0.02 mm', () => {
    expect(pitchDiameterShift(0.005)).toBeCloseTo(0.02, 12);
    expect(pitchDiameterShift(0.0125) / 0.0125).toBeCloseTo(4, 12);
  });

  test('shaft and hole before an electroless nickel of 4 to 6 um', () => {
    const growth = { lowMm: 0.004, highMm: 0.006 };
    expect(limitsBeforeCoating({ lowerMm: 19.98, upperMm: 20 }, growth, 2, false)).toEqual({
      lowerMm: 19.972,
      upperMm: 19.988,
    });
    expect(limitsBeforeCoating({ lowerMm: 20, upperMm: 20.021 }, growth, 2, true)).toEqual({
      lowerMm: 20.012,
      upperMm: 20.029,
    });
    expect(limitsBeforeCoating({ lowerMm: 7.1, upperMm: 7.188 }, growth, 4, false)).toEqual({
      lowerMm: 7.084,
      upperMm: 7.164,
    });
  });

  test('a coating that scatters more than the tolerance leaves no limits', () => {
    expect(
      limitsBeforeCoating({ lowerMm: 10, upperMm: 10.009 }, { lowMm: 0.01, highMm: 0.03 }, 2, true),
    ).toBeUndefined();
  });
});

describe('HIP in place of stress relief (ASTM F3301-18a introduction, read: may serve on the plate)', () => {
  const ask = (plate: string, vessel: [number, number, number], powderTrapped: boolean) =>
    hipAsRelief({
      schedule: treatmentById(catalog, 'r56400-hip-1'),
      part: materialById(catalog, 'r56400'),
      plate: materialById(catalog, plate),
      powderTrapped,
      plateSideMm: 250,
      buildHeightMm: 90,
      clearanceMm: 25,
      vesselMm: vessel,
    });
  test('titanium plate, empty part, room enough: allowed', () => {
    expect(ask('r56400', [450, 450, 1200], false)).toMatchObject({ allowed: true, objections: [] });
  });
  test('steel plate, trapped powder, small vessel: each is named', () => {
    const verdict = ask('s31603', [280, 280, 600], true);
    expect(verdict.allowed).toBe(false);
    expect(verdict.objections).toHaveLength(3);
    expect(verdict.objections.join()).toMatch(
      /solid under pressure.*do not fit.*bond under pressure/,
    );
  });
});

describe('ISO 965-1 and -2: pitch diameter limits of metric threads (limits of ISO 965-2 from memory)', () => {
  const thread = (
    designation: string,
    majorMm: number,
    pitchMm: number,
    toleranceClass: string,
    internal: boolean,
  ): Thread => ({ designation, majorMm, pitchMm, toleranceClass, internal });

  test.each([
    [thread('M6-6H', 6, 1, '6H', true), 5.35, 5.5],
    [thread('M8-6H', 8, 1.25, '6H', true), 7.188, 7.348],
    [thread('M10-6H', 10, 1.5, '6H', true), 9.026, 9.206],
    [thread('M12-6H', 12, 1.75, '6H', true), 10.863, 11.063],
    [thread('M8-6g', 8, 1.25, '6g', false), 7.042, 7.16],
    [thread('M10-6g', 10, 1.5, '6g', false), 8.862, 8.994],
    [thread('M12-6g', 12, 1.75, '6g', false), 10.679, 10.829],
  ])('$designation: %d to %d mm, within 2 um', (of, lower, upper) => {
    const limits = pitchDiameterLimits(catalog, of);
    expect(Math.abs((limits?.lowerMm ?? 0) - lower)).toBeLessThan(0.002);
    expect(Math.abs((limits?.upperMm ?? 0) - upper)).toBeLessThan(0.002);
  });

  test('coated: the class holds before coating, and four times the growth stays inside the h or H line', () => {
    const growth = { lowMm: 0.0045, highMm: 0.0055 };
    const nut = threadBeforeCoating(catalog, thread('M8-6H', 8, 1.25, '6H', true), growth);
    expect(nut?.lowerMm).toBeCloseTo(7.1881 + 0.022, 4);
    expect(nut?.upperMm).toBeCloseTo(7.3481, 4);
    // 6g leaves 29 um to the basic profile, the coating takes 22 um: nothing changes.
    const thin = threadBeforeCoating(catalog, thread('M8-6g', 8, 1.25, '6g', false), growth);
    expect(thin?.upperMm).toBeCloseTo(7.1591, 4);
    const thick = { lowMm: 0.015, highMm: 0.02 };
    const bolt = threadBeforeCoating(catalog, thread('M8-6g', 8, 1.25, '6g', false), thick);
    expect(bolt?.upperMm).toBeCloseTo(7.1881 - 0.08, 4);
    expect(bolt?.lowerMm).toBeCloseTo(7.0411, 4);
  });

  test('a coating thicker than the thread has room for leaves no limits', () => {
    expect(
      threadBeforeCoating(catalog, thread('M4-6H', 4, 0.7, '6H', true), {
        lowMm: 0.02,
        highMm: 0.03,
      }),
    ).toBeUndefined();
  });
});
