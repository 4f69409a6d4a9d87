import {
  formatFixed,
  formatMm,
  formatShort,
  formatUm,
  parseAngleDeg,
  parseAreaMm2,
  parseLengthMm,
  parseMassKg,
  parseMinutes,
  parseNumber,
  parsePressureMPa,
  parseRoughnessUm,
  parseTemperatureC,
  parseTemperatureDifferenceK,
  parseVolumeMm3,
  type Reading,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

const numberOf = (reading: Reading<number>): number => {
  if (!reading.ok) throw new Error(reading.message);
  return reading.value;
};

describe('units', () => {
  test.each([
    ['1 mm', 1],
    ['2.5 cm', 25],
    ['0.3 m', 300],
    ['20 um', 0.02],
    ['20 µm', 0.02],
    ['20 μm', 0.02],
    ['500 nm', 0.0005],
    ['0.8 in', 20.32],
    ['0.8"', 20.32],
    ['0.8″', 20.32],
    ['1 inch', 25.4],
    ['5 thou', 0.127],
    ['5 mil', 0.127],
    ['−3 mm', -3],
    ['+3 mm', 3],
    ['  3\u00a0mm ', 3],
    ['.5 mm', 0.5],
    ['5. mm', 5],
    ['1.2e3 mm', 1200],
    ['25E-3 mm', 0.025],
  ])('length %s', (text, mm) => {
    expect(numberOf(parseLengthMm(text))).toBe(mm);
  });

  test.each([
    [parseAngleDeg, '90 deg', 90],
    [parseAngleDeg, '90°', 90],
    [parseAngleDeg, '30 arcmin', 0.5],
    [parseTemperatureC, '20 C', 20],
    [parseTemperatureC, '20 degC', 20],
    [parseTemperatureC, '20 deg C', 20],
    [parseTemperatureC, '20 °C', 20],
    [parseTemperatureC, '32 °F', 0],
    [parseTemperatureC, '212 degF', 100],
    [parseTemperatureC, '-40 F', -40],
    [parseTemperatureC, '273.15 K', 0],
    [parseTemperatureC, '0 K', -273.15],
    [parseTemperatureDifferenceK, '18 degF', 10],
    [parseTemperatureDifferenceK, '5 °C', 5],
    [parseTemperatureDifferenceK, '5 K', 5],
    [parseMinutes, '30 s', 0.5],
    [parseMinutes, '2 h', 120],
    [parseMinutes, '2 hours', 120],
    [parseMinutes, '1.5 d', 2160],
    [parseMassKg, '250 g', 0.25],
    [parseMassKg, '1 lb', 0.45359237],
    [parsePressureMPa, '1000 bar', 100],
    [parseAreaMm2, '3 cm²', 300],
    [parseAreaMm2, '3 cm^2', 300],
    [parseAreaMm2, '0.5 m2', 500000],
    [parseAreaMm2, '1 in2', 645.16],
    [parseVolumeMm3, '12 ml', 12000],
    [parseVolumeMm3, '1 l', 1e6],
    [parseVolumeMm3, '2 cm³', 2000],
    [parseVolumeMm3, '1 in^3', 16387.064],
    [parseRoughnessUm, '63 µin', 1.6002],
    [parseRoughnessUm, '800 nm', 0.8],
  ] as const)('%o %s', (parse, text, value) => {
    expect(numberOf(parse(text))).toBe(value);
  });

  test('angles in radians and pressures in psi to double precision', () => {
    expect(numberOf(parseAngleDeg(`${Math.PI} rad`))).toBeCloseTo(180, 12);
    // 1 psi = 0.45359237 kg x 9.80665 m/s2 / (0.0254 m)^2
    const psi = (0.45359237 * 9.80665) / 0.0254 ** 2 / 1e6;
    expect(numberOf(parsePressureMPa('1 psi'))).toBeCloseTo(psi, 15);
    expect(numberOf(parsePressureMPa('15 ksi'))).toBeCloseTo(15000 * psi, 11);
  });

  test('a bare number takes the default unit, or is a fault', () => {
    expect(numberOf(parseLengthMm('2', { defaultUnit: 'in' }))).toBe(50.8);
    expect(parseLengthMm('2')).toEqual({
      ok: false,
      column: 2,
      message: 'the unit is missing',
      accept: 'a unit of length: mm, cm, m, um, nm, in, thou or mil',
    });
  });

  test.each([
    [parseLengthMm, '5 kg', 3, /not a unit of length/],
    [parsePressureMPa, '5 mPa', 3, /not a unit of pressure/],
    [parseLengthMm, '5²', 2, /not a unit of length/],
    [parseLengthMm, 'NaN mm', 1, /a number is expected/],
    [parseLengthMm, '', 1, /a number is expected/],
    [parseLengthMm, '1,5 mm', 2, /comma/],
    [parseLengthMm, '1.2.3 mm', 4, /second decimal mark/],
    [parseLengthMm, '1e999 mm', 1, /too large/],
    [parseLengthMm, '1e-999 mm', 1, /too small/],
    [parseLengthMm, '0x10 mm', 2, /not a unit/],
    [parseLengthMm, '- - 5 mm', 2, /a number is expected/],
    [parseTemperatureC, '-300 C', 1, /absolute zero/],
    [parseLengthMm, `${' '.repeat(300)}5 mm`, 201, /too long/],
    [parseLengthMm, '5 constructor', 3, /not a unit/],
    [parseLengthMm, '5 __proto__', 3, /not a unit/],
  ] as const)('%o %s is a fault', (parse, text, column, message) => {
    const reading = parse(text);
    expect(reading).toMatchObject({ ok: false, column });
    expect(reading.ok ? '' : reading.message).toMatch(message);
  });
});

describe('decimal comma', () => {
  const comma = { decimalComma: true };

  test('is read only when asked for', () => {
    expect(numberOf(parseNumber('12,5', comma))).toBe(12.5);
    expect(numberOf(parseLengthMm('0,8 in', comma))).toBe(20.32);
    expect(parseNumber('12,5')).toMatchObject({ ok: false, column: 3 });
  });

  test('a point still works unless it may group thousands', () => {
    expect(numberOf(parseNumber('12.5', comma))).toBe(12.5);
    expect(numberOf(parseNumber('0.125', comma))).toBe(0.125);
    expect(parseNumber('1.500', comma)).toMatchObject({ ok: false, column: 2 });
    expect(parseNumber('1.234,5', comma)).toMatchObject({ ok: false });
  });

  test('a plain number takes nothing behind it', () => {
    expect(parseNumber('5 mm')).toMatchObject({ ok: false, column: 3 });
    expect(Object.is(numberOf(parseNumber('-0')), 0)).toBe(true);
  });
});

describe('printing', () => {
  test.each([
    [1.005, 2, '1.01'],
    [2.675, 2, '2.68'],
    [-2.675, 2, '-2.68'],
    [0.5, 0, '1'],
    [-0.5, 0, '-1'],
    [-0.04, 1, '0.0'],
    [-0, 2, '0.00'],
    [9.995, 2, '10.00'],
    [99.9999, 3, '100.000'],
    [1e-7, 3, '0.000'],
    [1.5e-7, 7, '0.0000002'],
    [1e21, 1, '1000000000000000000000.0'],
    [1.25e22, 0, '12500000000000000000000'],
    [25, 3, '25.000'],
  ])('%s with %s decimals', (value, decimals, text) => {
    expect(formatFixed(value, decimals)).toBe(text);
  });

  test('mm, um and short forms', () => {
    expect(formatMm(20.0205)).toBe('20.021');
    expect(formatMm(20, 1)).toBe('20.0');
    expect(formatUm(12.34)).toBe('12.3');
    expect(formatShort(25.02, 6)).toBe('25.02');
    expect(formatShort(100, 3)).toBe('100');
    expect(formatShort(-0.0001, 3)).toBe('0');
  });

  test('what is no number is refused, not printed', () => {
    expect(() => formatFixed(Number.NaN, 2)).toThrow(/not a finite number/);
    expect(() => formatMm(Number.POSITIVE_INFINITY)).toThrow(RangeError);
    expect(() => formatFixed(1, 21)).toThrow(/0 to 20/);
  });
});
