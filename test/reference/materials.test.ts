import { defaultCatalog, materialById } from '@offplate/core';
import { describe, expect, test } from 'vitest';

// Check values of alloy properties. Each test names its document and how far it is trusted.
const catalog = defaultCatalog();

describe('alloy properties', () => {
  test('C25: Ti-6Al-4V minima of ASTM F2924, yield 825 and UTS 895 MPa, as quoted in Materials 2021, 14, 658, Table 4 (read, second hand)', () => {
    expect(materialById(catalog, 'r56400')).toMatchObject({
      treatedYieldMpa: 825,
      treatedUtsMpa: 895,
      treatedYieldConfidence: 'read',
      treatedUtsConfidence: 'read',
      treatedSource: expect.stringContaining('elongation 10 %'),
    });
  });

  test('C26: AlSi10Mg after 300 C 2 h, yield 230 +/-15 MPa and 93 +/-3 HB, Materials 2019, 12, 1007, Table 1 (read)', () => {
    expect(materialById(catalog, 'alsi10mg')).toMatchObject({
      treatedYieldMpa: 230,
      treatedYieldConfidence: 'read',
      treatedCondition: expect.stringContaining('300 °C 2 h'),
    });
    expect(materialById(catalog, 'alsi10mg').treatedCondition).toContain('230 +/-15');
    expect(materialById(catalog, 'alsi10mg').treatedCondition).toContain('93 +/-3 HB');
  });

  test('as built AlSi10Mg, yield 270 and UTS 460 MPa, Materials 2019, 12, 1007, Table 1 (read)', () => {
    expect(materialById(catalog, 'alsi10mg')).toMatchObject({
      asBuiltYieldMpa: 270,
      asBuiltUtsMpa: 460,
      asBuiltUtsConfidence: 'read',
    });
  });

  test('C12: AlSi10Mg as built reaches UTS 488 MPa, Metals 2022, 12, 1497 (read)', () => {
    expect(materialById(catalog, 'alsi10mg').asBuiltSource).toContain(
      'UTS 488 in Metals 2022, 12, 1497',
    );
  });

  test('C14: CuCrZr, direct age, compressive yield 540 MPa, 220.6 HV, 62.1 %IACS, Zhang et al. 2023 (read)', () => {
    const { treatedYieldMpa, treatedYieldConfidence, treatedCondition } = materialById(
      catalog,
      'c18150',
    );
    expect(treatedYieldMpa).toBe(540);
    expect(treatedYieldConfidence).toBe('read');
    expect(treatedCondition).toContain('220.6 HV, 62.1 %IACS');
  });

  test('densities by public data sheets: N07718 8220, N06625 8440, S31603 7950, R56400 4430 kg/m3 (read)', () => {
    const density = (id: string): unknown => {
      const { densityKgM3, densityConfidence } = materialById(catalog, id);
      return [densityKgM3, densityConfidence];
    };
    expect(['n07718', 'n06625', 's31603', 'r56400'].map(density)).toEqual([
      [8220, 'read'],
      [8440, 'read'],
      [7950, 'read'],
      [4430, 'read'],
    ]);
  });

  test('physical sense: density, modulus, expansion and solidus of each family lie in handbook bounds (memory)', () => {
    const bounds = {
      titanium: [4400, 4550, 105, 120, 8, 10],
      nickel: [8100, 8500, 195, 215, 12, 14.5],
      'stainless-austenitic': [7850, 8050, 185, 205, 15, 18],
      'stainless-ph': [7700, 7900, 185, 205, 10, 12],
      maraging: [7950, 8150, 175, 200, 9, 12],
      aluminium: [2600, 2750, 65, 78, 20, 24],
      cobalt: [8100, 8900, 190, 245, 11, 15],
      copper: [8800, 9000, 110, 135, 16, 18],
      'tool-steel': [7650, 7900, 200, 220, 10, 13],
    } as const;
    for (const row of catalog.materials) {
      const [lightest, heaviest, softest, stiffest, least, most] = bounds[row.family];
      expect(row.densityKgM3, row.id).toBeGreaterThanOrEqual(lightest);
      expect(row.densityKgM3, row.id).toBeLessThanOrEqual(heaviest);
      expect(row.youngsModulusGpa, row.id).toBeGreaterThanOrEqual(softest);
      expect(row.youngsModulusGpa, row.id).toBeLessThanOrEqual(stiffest);
      expect(row.expansionUmMK, row.id).toBeGreaterThanOrEqual(least);
      expect(row.expansionUmMK, row.id).toBeLessThanOrEqual(most);
    }
  });
});
