import { defaultCatalog, dimensionChangeOf, treatmentById } from '@offplate/core';
import { describe, expect, test } from 'vitest';

// Check values of heat treatment schedules. Each test names its document and how far it is trusted.
const catalog = defaultCatalog();

describe('schedules', () => {
  const ages = [
    ['C01: H900 482 +/-6 °C, 60 min +15/-0', 's17400-age-1', 482, 60, 75],
    ['C02: H1150 621 +/-6 °C, 240 min +30/-0', 's17400-age-6', 621, 240, 270],
    ['C03: H1025 552 +/-6 °C, 240 min +30/-0', 's17400-age-3', 552, 240, 270],
  ] as const;
  test.each(ages)(
    '%s; S17400 bar data sheet quoting AMS 5622 (read)',
    (_name, id, set, least, most) => {
      expect(treatmentById(catalog, id)).toMatchObject({
        temperatureC: set,
        toleranceC: 6,
        minimumC: set - 6,
        maximumC: set + 6,
        soakMinMin: least,
        soakMaxMin: most,
        temperatureConfidence: 'read',
        soakConfidence: 'read',
        toleranceConfidence: 'read',
      });
    },
  );

  test('C04: Condition A of S17400 at 1038 +/-14 C, cooled below 32 C; bar data sheet quoting AMS 5622 (read)', () => {
    expect(treatmentById(catalog, 's17400-solution-anneal-1')).toMatchObject({
      temperatureC: 1038,
      toleranceC: 14,
      temperatureConfidence: 'read',
      toleranceConfidence: 'read',
      cooling: expect.stringContaining('below 32 °C'),
    });
  });

  test('C07: N07718 double age 718 C 8 h, furnace cool to 621 C, 18 h in all; producer data sheet (read)', () => {
    expect(treatmentById(catalog, 'n07718-age-1')).toMatchObject({
      temperatureC: 718,
      soakMinMin: 8 * 60,
      step2TemperatureC: 621,
      totalSoakMin: 18 * 60,
      temperatureConfidence: 'read',
      soakConfidence: 'read',
      betweenSteps: expect.stringContaining('furnace cool'),
    });
  });

  test('C08: N07718 other age 760 C 10 h, cool to 649 C, 20 h in all; producer data sheet (read)', () => {
    expect(treatmentById(catalog, 'n07718-age-2')).toMatchObject({
      temperatureC: 760,
      soakMinMin: 10 * 60,
      step2TemperatureC: 649,
      totalSoakMin: 20 * 60,
      temperatureConfidence: 'read',
    });
  });

  test('C09: N07718 low solution window 1700-1850 F = 927-1010 C; producer data sheet (read)', () => {
    const celsius = (fahrenheit: number): number => Math.round(((fahrenheit - 32) * 5) / 9);
    expect(treatmentById(catalog, 'n07718-solution-anneal-1')).toMatchObject({
      minimumC: celsius(1700),
      maximumC: celsius(1850),
      temperatureConfidence: 'read',
    });
  });

  test('C10: S31603 full relief 900 C 1 h, > 90 %, below 50 MPa; doi 10.1177/02670836261433597 (read)', () => {
    const row = treatmentById(catalog, 's31603-stress-relief-1');
    expect(row).toMatchObject({ temperatureC: 900, soakMinMin: 60, soakMaxMin: 60 });
    expect(row).toMatchObject({ temperatureConfidence: 'read', soakConfidence: 'read' });
    expect(row.source).toContain('10.1177/02670836261433597 (>90 %, below 50 MPa)');
  });

  test('C12: AlSi10Mg 240-300 C leaves UTS 296-417 MPa of 488 MPa; Metals 2022, 12, 1497 (read)', () => {
    const row = treatmentById(catalog, 'alsi10mg-stress-relief-2');
    expect(row.temperatureC).toBe(300);
    expect(row.source).toContain('Metals 12, 1497');
    expect(row.notes).toContain('UTS 488 MPa as built; 296-417 MPa');
    expect(treatmentById(catalog, 'alsi10mg-stress-relief-3').temperatureC).toBe(240);
  });

  test('C13: N06002 HIP 1160 C, 100 MPa, 4 h; doi 10.3390/app15179844 (read)', () => {
    expect(treatmentById(catalog, 'n06002-hip-1')).toMatchObject({
      temperatureC: 1160,
      pressureMpaMin: 100,
      soakMinMin: 240,
      soakMaxMin: 240,
      temperatureConfidence: 'read',
      soakConfidence: 'read',
    });
  });

  test('C14: C18150 direct age 500 C 30 min, 220.6 HV, 62.1 %IACS; doi 10.1016/j.matchemphys.2023.127477 (read)', () => {
    const row = treatmentById(catalog, 'c18150-age-1');
    expect(row).toMatchObject({ temperatureC: 500, soakMinMin: 30, temperatureConfidence: 'read' });
    expect(row.notes).toContain('220.6 HV, 62.1 %IACS');
    expect(row.source).toContain('10.1016/j.matchemphys.2023.127477');
  });

  test('C15: R31537 recrystallises at 1150 C in 6 h, not at 750 to 1050 C; abstracts round doi 10.1016/j.msea.2018.04.048 (read)', () => {
    const row = treatmentById(catalog, 'r31537-homogenise-1');
    expect(row).toMatchObject({ temperatureC: 1150, soakMinMin: 360, soakMaxMin: 360 });
    expect(row.temperatureConfidence).toBe('read');
    expect(row.notes).toContain('750, 900 and 1050 °C for 6 h did not recrystallise');
  });

  test('C16: K93120 double age 2 x 460 C 8 h, > 615 HV, > 2140 MPa; doi 10.3390/met13101700 (read)', () => {
    const row = treatmentById(catalog, 'k93120-age-2');
    expect(row).toMatchObject({
      temperatureC: 460,
      soakMinMin: 480,
      step2TemperatureC: 460,
      step2SoakMin: 480,
      temperatureConfidence: 'read',
      soakConfidence: 'read',
    });
    expect(row.notes).toContain('Above 615 HV, UTS above 2140 MPa');
  });

  test('C17: titanium gas with dew point -54 C (-65 F) or lower; MIL-H-81200B 3.2.1.2 (read)', () => {
    expect(Math.round(((-65 - 32) * 5) / 9)).toBe(-54);
    const hot = catalog.treatments.filter(
      (row) => row.material.startsWith('r564') && !['hip', 'quench'].includes(row.treatment),
    );
    expect(hot.length).toBeGreaterThanOrEqual(8);
    for (const row of hot) expect(row.atmosphere, row.id).toContain('dew point <= -54 °C');
  });
});

describe('schedules whose standard nobody has seen: only the tag is tested, not the number', () => {
  test.each([
    ['C21: Ti-6Al-4V HIP of ASTM F2924-14', 'r56400-hip-1'],
    ['C21: Ti-6Al-4V ELI HIP of ASTM F3001-14', 'r56407-hip-1'],
    ['C22: N07718 HIP of ASTM F3055-14a', 'n07718-hip-1'],
    ['C24: AlSi10Mg stress relief of ASTM F3318-18', 'alsi10mg-stress-relief-1'],
  ])('%s is tagged memory', (_name, id) => {
    expect(treatmentById(catalog, id)).toMatchObject({
      temperatureConfidence: 'memory',
      soakConfidence: 'memory',
      toleranceConfidence: 'memory',
    });
  });

  test('C23: N07718 stress relief of ASTM F3055-14a is tagged memory but for the set point, which Gruber et al. 2021 quote (read)', () => {
    expect(treatmentById(catalog, 'n07718-stress-relief-1')).toMatchObject({
      temperatureConfidence: 'read',
      soakConfidence: 'memory',
      toleranceConfidence: 'memory',
    });
  });
});

describe('change of size', () => {
  const grown = (nominalMm: number, perMm: number): number =>
    Math.round(nominalMm * (1 + perMm) * 1e6) / 1e6;

  test('C05: S17400 from A to H900 shrinks 0.0004-0.0006, 100 mm become 99.940 to 99.960; MMPDS-04 2.6.9 (read)', () => {
    const row = dimensionChangeOf(catalog, 's17400', 'age', 'H900');
    expect([grown(100, row.lowPerMm), grown(100, row.highPerMm)]).toEqual([99.94, 99.96]);
    expect(row.confidence).toBe('read');
  });

  test('C06: S17400 from A to H1150 shrinks 0.0008-0.0010, 100 mm become 99.900 to 99.920; MMPDS-04 2.6.9 (read)', () => {
    const row = dimensionChangeOf(catalog, 's17400', 'age', 'H1150');
    expect([grown(100, row.lowPerMm), grown(100, row.highPerMm)]).toEqual([99.9, 99.92]);
    expect(row.confidence).toBe('read');
  });

  test('ages between H900 and H1150 shrink more with temperature (derived by interpolation)', () => {
    const shrink = ['H900', 'H925', 'H1025', 'H1075', 'H1100', 'H1150'].map(
      (condition) => -dimensionChangeOf(catalog, 's17400', 'age', condition).changePerMm,
    );
    expect(shrink).toEqual([...shrink].sort((a, b) => a - b));
    // H1025 lies at (552 - 482) / (621 - 482) of the way
    expect(shrink[2]).toBeCloseTo(0.0005 + (0.0004 * 70) / 139, 6);
  });

  test('C11: AlSi10Mg grows 0.17 % at 150 C (mean read) and 0.6 % or more at 530 C (lower bound read)', () => {
    const aged = dimensionChangeOf(catalog, 'alsi10mg', 'age', 'T5 / direct aged');
    expect(aged.changePerMm).toBe(0.0017);
    const solution = dimensionChangeOf(catalog, 'alsi10mg', 'solution-anneal', 'solution');
    expect(solution.changePerMm).toBeGreaterThanOrEqual(0.006);
  });

  test('C19: HIP of 0.1 % pores to none shrinks 0.0333 % (computed from the densification formula)', () => {
    const shrink = (before: number, after: number): number =>
      ((1 - before) / (1 - after)) ** (1 / 3) - 1;
    const row = dimensionChangeOf(catalog, 'n07718', 'hip', 'HIP');
    expect(row.changePerMm).toBeCloseTo(shrink(0.001, 0), 6);
    expect(row.lowPerMm).toBeCloseTo(shrink(0.002, 0), 6);
    expect(row.confidence).toBe('computed');
  });
});
