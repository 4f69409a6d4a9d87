import {
  calibrateReliefLaw,
  creepRelaxation,
  defaultCatalog,
  equivalentMinutes,
  fitReliefLaw,
  mergeShop,
  reliefParameter,
  remainingCurl,
  remainingStress,
  sameReliefMinutes,
  shareLeft,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

// Stress relief: published cycles, and numbers derived from the formulas by hand. Each test names
// its document and says what is measured and what is derived.
const catalog = defaultCatalog();
const austenite = { activationKJPerMol: 280, exponent: 0.2161, lnRatePerHour: 32.566 };

describe('Zener-Wert-Avrami law of S31603', () => {
  test('fit through 700 C 2 h (200 of 380 MPa gone, arch study, read) and 900 C 1 h (0.10 left, doi 10.1177/02670836261433597, read): m 0.2161, ln B 32.566 (derived)', () => {
    const law = fitReliefLaw(
      280,
      { temperatureC: 700, minutes: 120, left: 180 / 380 },
      { temperatureC: 900, minutes: 60, left: 0.1 },
    );
    expect(law.exponent).toBeCloseTo(0.2161, 4);
    expect(law.lnRatePerHour).toBeCloseTo(32.566, 3);
  });

  test.each([
    [450, 240, 0.937],
    [650, 120, 0.608],
    [800, 60, 0.275],
    [900, 60, 0.1],
    [850, 60, 0.174],
    [1000, 60, 0.024],
  ])('%d C for %d min leaves %d (derived from the fit)', (celsius, minutes, left) => {
    expect(Math.abs(shareLeft(austenite, celsius, minutes) - left)).toBeLessThan(0.001);
  });

  test('the activation energy hardly matters between the two points: 230 to 400 kJ/mol moves 650 C 2 h from 0.611 to 0.603 (derived)', () => {
    const at = (activation: number): number =>
      shareLeft(
        fitReliefLaw(
          activation,
          { temperatureC: 700, minutes: 120, left: 180 / 380 },
          { temperatureC: 900, minutes: 60, left: 0.1 },
        ),
        650,
        120,
      );
    expect(at(230)).toBeCloseTo(0.611, 3);
    expect(at(400)).toBeCloseTo(0.603, 3);
  });

  test('ramp of 5 C/min from 20 to 900 C: 0.1276 h at 900 C, 0.229 left at its end, 0.094 after 1 h more (derived)', () => {
    const ramp = equivalentMinutes(
      austenite,
      [
        [0, 20],
        [176, 900],
      ],
      900,
    );
    expect(ramp / 60).toBeCloseTo(0.1276, 4);
    expect(shareLeft(austenite, 900, ramp)).toBeCloseTo(0.229, 3);
    expect(shareLeft(austenite, 900, ramp + 60)).toBeCloseTo(0.094, 3);
    expect(
      equivalentMinutes(
        austenite,
        [
          [0, 20],
          [176, 900],
          [236, 900],
        ],
        900,
      ),
    ).toBeCloseTo(ramp + 60, 6);
  });

  test('most relief comes while heating (doi 10.1177/02670836261433597, read): the ramp takes more than the hold after it', () => {
    const afterRamp = shareLeft(austenite, 900, 0.1276 * 60);
    expect(1 - afterRamp).toBeGreaterThan(afterRamp - shareLeft(austenite, 900, 67.66));
  });

  test('order of relief 450/4 h > 650/2 h > 800/1 h > 900/1 h (Sprengel 2021, direction read)', () => {
    const left = [
      [450, 240],
      [650, 120],
      [800, 60],
      [900, 60],
    ].map(([celsius = 0, minutes = 0]) => shareLeft(austenite, celsius, minutes));
    expect(left).toEqual([...left].sort((a, b) => b - a));
    expect(new Set(left).size).toBe(4);
  });

  test('law through one point: 800 C 2 h leaves 0.1 and comes back', () => {
    const law = calibrateReliefLaw(250, 0.22, { temperatureC: 800, minutes: 120, left: 0.1 });
    expect(shareLeft(law, 800, 120)).toBeCloseTo(0.1, 12);
    const row = catalog.reliefLaws.find((each) => each.material === 'r56400');
    expect(row?.lnRatePerH).toBeCloseTo(law.lnRatePerHour, 3);
    expect(row?.confidence).toBe('memory');
  });
});

describe('creep relaxation and time-temperature parameter (derived from the formulas)', () => {
  test.each([
    [380, 0.5, 246],
    [380, 1, 211],
    [380, 2, 180],
    [380, 4, 152],
    [380, 20, 102],
    [600, 2, 182],
    [250, 2, 171],
  ])('from %d MPa after %d h: %d MPa', (start, hours, left) => {
    expect(
      Math.abs(creepRelaxation(start, 5, 140_000, 8.0771e-16, hours * 60) - left),
    ).toBeLessThan(1);
  });

  test.each([
    ['S31603 700 °C 2 h', 700, 120, 19.76],
    ['S31603 800 °C 1 h', 800, 60, 21.46],
    ['S31603 900 °C 1 h', 900, 60, 23.46],
    ['N06625 870 °C 1 h', 870, 60, 22.86],
    ['AlSi10Mg 265 °C 1 h', 265, 60, 10.76],
  ])('%s: parameter %d', (_name, celsius, minutes, parameter) => {
    expect(reliefParameter(celsius, minutes)).toBeCloseTo(parameter, 2);
  });

  test('as 700 C 2 h: 25.15 h at 650 C, 0.204 h at 750 C', () => {
    expect(sameReliefMinutes(700, 120, 650) / 60 / 25.15).toBeCloseTo(1, 2);
    expect(sameReliefMinutes(700, 120, 750) / 60 / 0.204).toBeCloseTo(1, 2);
  });
});

describe('what a cycle leaves, as a range with its source', () => {
  test('S31603: both plates of the arch study (0.29 and 0.47 left, read) lie in the band', () => {
    const answer = remainingStress(catalog, 's31603', { temperatureC: 700, minutes: 120 });
    if (!answer.known) throw new Error(answer.reason);
    expect(answer.method).toBe('relaxation law');
    for (const row of catalog.relief.filter(
      (each) => each.material === 's31603' && each.kind === 'measured' && each.temperatureC === 700,
    )) {
      expect(row.leftTypical).toBeGreaterThanOrEqual(answer.low);
      expect(row.leftTypical).toBeLessThanOrEqual(answer.high);
    }
  });

  test('S31603 at 900 C 1 h: below 50 MPa of 380 (read) lies in the band; curl is not credited below the planning range', () => {
    const cycle = { temperatureC: 900, minutes: 60 };
    const stress = remainingStress(catalog, 's31603', cycle);
    const curl = remainingCurl(catalog, 's31603', cycle);
    if (!stress.known || !curl.known) throw new Error('no answer');
    expect(stress.typical).toBeCloseTo(0.1, 3);
    expect(stress.low * 380).toBeLessThan(50);
    expect([curl.typical, curl.high]).toEqual([0.3, 0.6]);
    expect(curl.note).toContain('planning range');
  });

  test('N07718 1065 C: partial, 1150 C 6 h: more complete (Gruber et al. 2021, direction read)', () => {
    const partial = remainingStress(catalog, 'n07718', { temperatureC: 1065, minutes: 90 });
    const full = remainingStress(catalog, 'n07718', { temperatureC: 1150, minutes: 360 });
    expect(partial).toMatchObject({ low: 0.1, typical: 0.3, high: 0.6, confidence: 'practice' });
    expect(full).toMatchObject({ low: 0.05, typical: 0.1, high: 0.2 });
  });

  test('R31537 750 to 1050 C is not enough, 1150 C 6 h is (Kajima et al. 2018, direction read)', () => {
    expect(remainingStress(catalog, 'r31537', { temperatureC: 750, minutes: 360 })).toMatchObject({
      known: false,
    });
    expect(remainingStress(catalog, 'r31537', { temperatureC: 1150, minutes: 360 })).toMatchObject({
      known: true,
      high: 0.2,
    });
  });

  test('neither law nor data: no figure, but the reason', () => {
    const aged = remainingStress(catalog, 's17400', { temperatureC: 300, minutes: 60 });
    expect(aged).toMatchObject({ known: false, reason: expect.stringContaining('636 °C 60 min') });
    const cold = remainingStress(catalog, 'r56400', { temperatureC: 300, minutes: 60 });
    expect(cold).toMatchObject({ known: false, reason: expect.stringContaining('480 °C') });
  });

  test('a shop gives two measured cycles: values between them are interpolated, beyond them bounded or refused', () => {
    const row = (id: string, celsius: number, left: number): string[] => [
      ...[id, 'alsi10mg', 'measured', `${celsius}`, '120'],
      ...[left - 0.05, left, left + 0.05].map((share) => share.toFixed(2)),
      'comb test',
    ];
    const { catalog: shop, problems } = mergeShop(catalog, [
      {
        table: 'relief',
        file: 'relief.csv',
        cells: [
          [
            ...['id', 'material', 'kind', 'temperature_c', 'minutes'],
            ...['left_low', 'left_typical', 'left_high', 'finding'],
          ],
          row('own-1', 240, 0.5),
          row('own-2', 300, 0.1),
        ],
      },
    ]);
    expect(problems).toEqual([]);
    const at = (celsius: number) =>
      remainingStress(shop, 'alsi10mg', { temperatureC: celsius, minutes: 120 });
    expect(at(240)).toMatchObject({ typical: 0.5, method: 'measured cycles' });
    const between = at(270);
    if (!between.known) throw new Error(between.reason);
    expect(between.typical).toBeCloseTo(0.3, 2);
    expect(at(320)).toMatchObject({ low: 0, high: 0.15 });
    expect(at(200)).toMatchObject({ known: false });
  });
});
