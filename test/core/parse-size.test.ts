import {
  type DrawingSize,
  formatSize,
  parseSize,
  type SizeLimits,
  type SizeOptions,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

const read = (text: string, options: SizeOptions = {}): DrawingSize => {
  const reading = parseSize(text, options);
  if (!reading.ok) throw new Error(`${text}: column ${reading.column}: ${reading.message}`);
  return reading.value;
};
const sizeOf = (text: string, options: SizeOptions = {}): SizeLimits => {
  const value = read(text, options);
  if (value.form !== 'size') throw new Error(`${text} is a thread`);
  return value.size;
};
const findingsOf = (text: string, options: SizeOptions = {}): readonly string[] => {
  const reading = parseSize(text, options);
  return reading.ok ? reading.findings.map(({ id }) => id) : ['fault'];
};

describe('sizes as on drawings', () => {
  test.each([
    // text, nominal, lower, upper, origin
    ['25 H7', 25, 25, 25.021, 'fit'],
    ['25H7', 25, 25, 25.021, 'fit'],
    ['25 h7', 25, 24.979, 25, 'fit'],
    ['10 js6', 10, 9.9955, 10.0045, 'fit'],
    ['25 P7', 25, 24.965, 24.986, 'fit'],
    ['⌀12 ±0.05', 12, 11.95, 12.05, 'plus-minus'],
    ['12 +/-0.05', 12, 11.95, 12.05, 'plus-minus'],
    ['12 +-0.05', 12, 11.95, 12.05, 'plus-minus'],
    ['12±.05', 12, 11.95, 12.05, 'plus-minus'],
    ['40 +0.1/-0', 40, 40, 40.1, 'deviations'],
    ['40 +0.1 -0.05', 40, 39.95, 40.1, 'deviations'],
    ['40 +0.1 / -0.05', 40, 39.95, 40.1, 'deviations'],
    ['40+0.1-0.05', 40, 39.95, 40.1, 'deviations'],
    ['25 -0.02/-0.041', 25, 24.959, 24.98, 'deviations'],
    ['25 +0.021/0', 25, 25, 25.021, 'deviations'],
    ['25 +0.021 0', 25, 25, 25.021, 'deviations'],
    ['25 0/-0.1', 25, 24.9, 25, 'deviations'],
    ['25 0 -0.1', 25, 24.9, 25, 'deviations'],
    ['25 +0.3/+0.1', 25, 25.1, 25.3, 'deviations'],
    ['19.95-20.05', 20, 19.95, 20.05, 'limits'],
    ['19.95 - 20.05', 20, 19.95, 20.05, 'limits'],
    ['19.95–20.05', 20, 19.95, 20.05, 'limits'],
    ['19.95..20.05', 20, 19.95, 20.05, 'limits'],
    ['19.95 to 20.05', 20, 19.95, 20.05, 'limits'],
    ['20.05/19.95', 20, 19.95, 20.05, 'limits'],
    ['max 5', 5, 0, 5, 'one-sided'],
    ['5 max', 5, 0, 5, 'one-sided'],
    ['5 MAX.', 5, 0, 5, 'one-sided'],
    ['≤ 5', 5, 0, 5, 'one-sided'],
    ['min 3', 3, 3, 6, 'one-sided'],
    ['3 min', 3, 3, 6, 'one-sided'],
    ['R5', 5, 5, 5, 'untoleranced'],
    ['R5 ±0.2', 5, 4.8, 5.2, 'plus-minus'],
    ['25', 25, 25, 25, 'untoleranced'],
    ['[25]', 25, 25, 25, 'theoretical'],
    ['[⌀25]', 25, 25, 25, 'theoretical'],
    ['25 TED', 25, 25, 25, 'theoretical'],
    ['(25)', 25, 25, 25, 'reference'],
    ['25 REF', 25, 25, 25, 'reference'],
    ['0.8 in ±0.002', 20.32, 20.2692, 20.3708, 'plus-minus'],
    ['0.8 ±0.002 in', 20.32, 20.2692, 20.3708, 'plus-minus'],
    ['0.8" ±0.002"', 20.32, 20.2692, 20.3708, 'plus-minus'],
    ['0.8"', 20.32, 20.32, 20.32, 'untoleranced'],
    ['0.8 in. H7', 20.32, 20.32, 20.341, 'fit'],
    ['0.799-0.801 in', 20.32, 20.2946, 20.3454, 'limits'],
    ['25 ±20 µm', 25, 24.98, 25.02, 'plus-minus'],
    ['25 mm +20/-10 µm', 25, 24.99, 25.02, 'deviations'],
    ['25 +20 µm/0', 25, 25, 25.02, 'deviations'],
    ['25.4 mm ±1 thou', 25.4, 25.3746, 25.4254, 'plus-minus'],
    ['2.5 cm ±0.1 mm', 25, 24.9, 25.1, 'plus-minus'],
    ['2000 H7', 2000, 2000, 2000.15, 'fit'],
    ['25 H7 (+0.021/0)', 25, 25, 25.021, 'fit'],
    ['25 H7 +0.021 0', 25, 25, 25.021, 'fit'],
  ] as const)('%s', (text, nominalMm, lowerMm, upperMm, origin) => {
    expect(sizeOf(text)).toMatchObject({ nominalMm, lowerMm, upperMm, origin, text });
  });

  test.each([
    ['⌀12', { diametral: true }],
    ['Ø12', { diametral: true }],
    ['ø 12', { diametral: true }],
    ['DIA 12', { diametral: true }],
    ['12 dia', { diametral: true }],
    ['12', { diametral: false }],
    ['R12', { diametral: false, shape: 'radius' }],
    ['SR12', { diametral: false, shape: 'spherical-radius' }],
    ['S⌀12', { diametral: true, shape: 'spherical-diameter' }],
    ['□12', { diametral: false, shape: 'square' }],
    ['max ⌀12', { diametral: true, open: 'below' }],
    ['min 12', { open: 'above' }],
    ['4x ⌀8 H7', { diametral: true, count: 4, fit: 'H7', upperDeviationUm: 15 }],
    ['4×⌀8', { diametral: true, count: 4 }],
    ['4 x 8', { count: 4, nominalMm: 8 }],
    ['4x R2', { count: 4, shape: 'radius' }],
    ['25 H7 Ⓔ', { modifiers: ['E'], fit: 'H7' }],
    ['25 ±0.1 (E)', { modifiers: ['E'] }],
    ['25 ±0.1 GG', { modifiers: ['GG'] }],
  ])('symbols of %s', (text, expected) => {
    expect(sizeOf(text)).toMatchObject(expected);
  });

  test('deviations stay as written, in um', () => {
    expect(sizeOf('25 -0.02/-0.041')).toMatchObject({
      upperDeviationUm: -20,
      lowerDeviationUm: -41,
    });
    expect(sizeOf('0.8 in +0.0005/-0.001')).toMatchObject({
      upperDeviationUm: 12.7,
      lowerDeviationUm: -25.4,
    });
  });

  test('the default unit may be the inch', () => {
    expect(sizeOf('1 ±0.001', { defaultUnit: 'in' })).toMatchObject({
      nominalMm: 25.4,
      upperDeviationUm: 25.4,
    });
    expect(sizeOf('25.4 mm ±0.0254 mm', { defaultUnit: 'in' })).toMatchObject({
      nominalMm: 25.4,
      upperDeviationUm: 25.4,
    });
  });

  test('the decimal comma only when asked for', () => {
    expect(sizeOf('12,5 ±0,05', { decimalComma: true })).toMatchObject({
      lowerMm: 12.45,
      upperMm: 12.55,
    });
    expect(parseSize('12,5 ±0,05')).toMatchObject({ ok: false, column: 3 });
  });
});

describe('general tolerances fill what is unmarked (ISO 2768-1:1989)', () => {
  const general = { general: { linear: 'm' } } as const;

  test.each([
    ['10', 9.8, 10.2, 'general'],
    ['⌀40', 39.7, 40.3, 'general'],
    ['R5', 4.5, 5.5, 'general'],
    ['0.4', 0.4, 0.4, 'untoleranced'],
    ['10 ±0.1', 9.9, 10.1, 'plus-minus'],
    ['[10]', 10, 10, 'theoretical'],
    ['(10)', 10, 10, 'reference'],
  ] as const)('%s', (text, lowerMm, upperMm, origin) => {
    expect(sizeOf(text, general)).toMatchObject({ lowerMm, upperMm, origin });
  });

  test('says where the standard has no value', () => {
    expect(findingsOf('0.4', general)).toEqual(['general-tolerance-not-defined']);
  });
});

describe('what is read otherwise than written is said', () => {
  test.each([
    ['40 -0.05/+0.1', ['size-swapped']],
    ['20.05-19.95', ['size-swapped']],
    ['25 -0.02', ['size-one-deviation']],
    ['25 +0.02', ['size-one-deviation']],
    ['25 H7 GG', ['size-modifier-not-used']],
    ['25 x8 (+0.087/+0.054)', ['fit-from-figures']],
    ['1 H14', ['grade-not-for-small-size']],
    ['M8', ['thread-class-assumed']],
    ['M8x1.1-6H', ['thread-not-listed']],
    ['25 H7', []],
  ])('%s', (text, ids) => {
    expect(findingsOf(text)).toEqual(ids);
  });

  test('swapped deviations and limits give the same size as in order', () => {
    expect(sizeOf('40 -0.05/+0.1')).toMatchObject({ lowerMm: 39.95, upperMm: 40.1 });
    expect(sizeOf('25 -0.02')).toMatchObject({ lowerMm: 24.98, upperMm: 25 });
    expect(sizeOf('25 x8 (+0.087/+0.054)')).toMatchObject({ lowerMm: 25.054, upperMm: 25.087 });
  });
});

describe('metric threads', () => {
  test.each([
    ['M8', 'M8', 8, 1.25, '6H', true],
    ['M8-6H', 'M8-6H', 8, 1.25, '6H', true],
    ['M8 6H', 'M8-6H', 8, 1.25, '6H', true],
    ['M8-6g', 'M8-6g', 8, 1.25, '6g', false],
    ['M10x1-6g', 'M10x1-6g', 10, 1, '6g', false],
    ['M10×1 - 6H', 'M10x1-6H', 10, 1, '6H', true],
    ['M10X1.0-6H', 'M10x1-6H', 10, 1, '6H', true],
    ['M8-4g6g LH', 'M8-4g6g-LH', 8, 1.25, '4g6g', false],
  ])('%s', (text, designation, majorMm, pitchMm, toleranceClass, internal) => {
    expect(read(text)).toEqual({
      form: 'thread',
      thread: { designation, majorMm, pitchMm, toleranceClass, internal },
      count: 1,
    });
  });

  test('count, and the class of a bolt thread when none is written', () => {
    expect(read('4x M6')).toMatchObject({ count: 4, thread: { toleranceClass: '6H' } });
    expect(read('M6', { externalThread: true })).toMatchObject({
      thread: { toleranceClass: '6g', internal: false },
    });
  });
});

describe('faults give the column and what would be accepted', () => {
  test.each([
    ['', 1, /empty/],
    ['   ', 4, /empty/],
    ['abc', 1, /number is expected/],
    ['H7', 1, /number is expected/],
    ['25 H', 4, /not a tolerance/],
    ['25 H 7', 4, /not a tolerance/],
    ['25 Js7', 4, /Js is not a fundamental deviation/],
    ['25 K9', 4, /K is not defined/],
    ['25 h19', 4, /not a tolerance class/],
    ['25 H7/g6', 4, /pair of fits/],
    ['25 x8', 4, /not in the table/],
    ['25 H7 (+0.03/0)', 8, /do not belong to H7/],
    ['25 H7 (+0.021)', 14, /second deviation is missing/],
    ['25 H7 (+0.021/0', 16, /parenthesis/],
    ['25 H7 0.1', 7, /after the tolerance/],
    ['25 H7 H8', 7, /after the tolerance/],
    ['25 kg', 4, /not a tolerance/],
    ['25 0.05', 4, /not a tolerance/],
    ['25 ±', 5, /number is expected/],
    ['25 ±0', 1, /no width/],
    ['25 +0.1/+0.1', 1, /no width/],
    ['25 +0.1/0.2', 9, /needs its sign/],
    ['20-20', 1, /no width/],
    ['0', 1, /out of range/],
    ['-5', 1, /number is expected/],
    ['200000', 1, /out of range/],
    ['0.05 ±0.1', 1, /wider than the size/],
    ['1/2"', 1, /fraction/],
    ['5-2', 2, /deviation or a limit/],
    ['12,5', 3, /comma/],
    ['1.2.3', 4, /second decimal mark/],
    ['max 5 ±0.1', 5, /contradict/],
    ['[25] ±0.1', 2, /carries no tolerance/],
    ['[25', 4, /not closed/],
    ['(25', 4, /not closed/],
    ['0x 8', 1, /none is no count/],
    ['M7.3', 1, /no coarse pitch/],
    ['M8x', 4, /number is expected/],
    ['M8x5', 4, /pitch does not suit/],
    ['M8-6H/6g', 6, /pair of thread classes/],
    ['M8-4g6H', 3, /internal \(capital letter\) or external/],
    ['M8-banana', 4, /tolerance class of the thread/],
    ['M8-6H x 20', 7, /after the thread/],
    ['G1/4', 1, /thread system/],
    ['4000 H7', 6, /no tolerance grades/],
    ['25 +0.1 constructor', 9, /after the tolerance/],
    ['5'.repeat(201), 201, /too long/],
  ])('%s', (text, column, message) => {
    const reading = parseSize(text);
    expect(reading).toMatchObject({ ok: false, column });
    expect(reading.ok ? '' : reading.message).toMatch(message);
    expect(reading.ok ? '' : reading.accept).not.toBe('');
  });
});

describe('printing a size', () => {
  test.each([
    ['25H7', '25 H7'],
    ['4×Ø8 H7', '4x ⌀8 H7'],
    ['12+/-.05', '12 ±0.05'],
    ['40 0 -0.1', '40 0/-0.1'],
    ['40 +0.1 -0', '40 +0.1/0'],
    ['20.05/19.95', '19.95-20.05'],
    ['5 max', 'max 5'],
    ['3 min', 'min 3'],
    ['SR5', 'SR5'],
    ['25 TED', '[25]'],
    ['25 REF', '(25)'],
    ['0.8 in', '20.32'],
    ['25 ±0.1 Ⓔ', '25 ±0.1 (E)'],
    ['25 x8 (+0.087/+0.054)', '25 x8 (+0.087/+0.054)'],
  ])('%s', (text, printed) => {
    expect(formatSize(sizeOf(text))).toBe(printed);
  });
});
