import {
  datumLetters,
  geometricSymbols,
  parseGeneralTolerance,
  parseGeometricTolerance,
  parseRoughness,
  preferredRaUm,
  preferredRaWithinUm,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

describe('geometric tolerances', () => {
  test.each([
    ['position 0.05 A B', 'position', 0.05, false, ['A', 'B']],
    ['⌖ ⌀0.05 A', 'position', 0.05, true, ['A']],
    ['position dia 0.05 A', 'position', 0.05, true, ['A']],
    ['POS 0.1 A', 'position', 0.1, false, ['A']],
    ['true position 0.1 A', 'position', 0.1, false, ['A']],
    ['flatness 0.02', 'flatness', 0.02, false, []],
    ['Flatness 0.02', 'flatness', 0.02, false, []],
    ['⏥ 0.02', 'flatness', 0.02, false, []],
    ['straightness ⌀0.02', 'straightness', 0.02, true, []],
    ['circularity 0.01', 'roundness', 0.01, false, []],
    ['CYL 0.01', 'cylindricity', 0.01, false, []],
    ['⟂|0.05|A', 'perpendicularity', 0.05, false, ['A']],
    ['⊥ 0.05 A', 'perpendicularity', 0.05, false, ['A']],
    ['squareness 0.05 A', 'perpendicularity', 0.05, false, ['A']],
    ['// 0.02 A', 'parallelism', 0.02, false, ['A']],
    ['angularity 0.1 A', 'angularity', 0.1, false, ['A']],
    ['profile 0.2 A', 'profile-surface', 0.2, false, ['A']],
    ['profile 0.2', 'profile-surface', 0.2, false, []],
    ['profile of a surface 0.2', 'profile-surface', 0.2, false, []],
    ['profile of a line 0.2', 'profile-line', 0.2, false, []],
    ['line profile 0.2', 'profile-line', 0.2, false, []],
    ['concentricity ⌀0.05 A', 'coaxiality', 0.05, true, ['A']],
    ['symmetry 0.1 A', 'symmetry', 0.1, false, ['A']],
    ['runout 0.05 A', 'runout', 0.05, false, ['A']],
    ['circular run-out 0.05 A', 'runout', 0.05, false, ['A']],
    ['total runout 0.05 A-B', 'total-runout', 0.05, false, ['A-B']],
    ['position 0.002 in A', 'position', 0.0508, false, ['A']],
    ['position: 0.05, A, B', 'position', 0.05, false, ['A', 'B']],
  ] as const)('%s', (text, kind, valueMm, diametral, letters) => {
    const reading = parseGeometricTolerance(text);
    expect(reading).toMatchObject({
      ok: true,
      value: { kind, valueMm, diametral, text, datums: letters.map((letter) => ({ letter })) },
      findings: [],
    });
  });

  test.each([
    '⌖ ⌀0.05 Ⓜ | A | BⓂ | C',
    'position dia 0.05 (M) A B(M) C',
    'POS ⌀0.05 MMC A B MMC C',
  ])('%s', (text) => {
    expect(parseGeometricTolerance(text)).toEqual({
      ok: true,
      value: {
        kind: 'position',
        valueMm: 0.05,
        diametral: true,
        materialCondition: 'MMC',
        datums: [{ letter: 'A' }, { letter: 'B', materialCondition: 'MMC' }, { letter: 'C' }],
        text,
      },
      findings: [],
    });
  });

  test('every symbol is read as its own kind', () => {
    for (const [kind, symbol] of Object.entries(geometricSymbols))
      expect(parseGeometricTolerance(`${symbol} 0.1`)).toMatchObject({ ok: true, value: { kind } });
  });

  test('the unit and the decimal comma follow the options', () => {
    expect(parseGeometricTolerance('flatness 0.001', { defaultUnit: 'in' })).toMatchObject({
      value: { valueMm: 0.0254 },
    });
    expect(parseGeometricTolerance('flatness 0,02', { decimalComma: true })).toMatchObject({
      value: { valueMm: 0.02 },
    });
  });

  test.each([
    ['perpendicularity 0.05', 'geometric-datum-missing'],
    ['position 0.1 CZ A', 'geometric-modifier-not-used'],
    ['position 0.1 Ⓟ 12 A', 'geometric-modifier-not-used'],
    ['flatness ⌀0.1', 'geometric-zone-not-round'],
  ])('%s gives the finding %s', (text, id) => {
    const reading = parseGeometricTolerance(text);
    expect(reading.ok ? reading.findings.map((finding) => finding.id) : []).toEqual([id]);
  });

  test.each([
    ['', 1, /empty/],
    ['wobble 0.1', 1, /not a geometric characteristic/],
    ['position', 9, /width of the zone is missing/],
    ['position A', 10, /width of the zone is missing/],
    ['position 0', 10, /out of range/],
    ['position 0,05 A', 11, /comma/],
    ['flatness 0.02 A', 15, /takes no datum/],
    ['position 0.05 A A', 17, /named twice/],
    ['position 0.05 A B C D', 21, /more than three/],
    ['position 0.05 a', 15, /datum letter/],
    ['position 0.05 A 0.1', 17, /datum letter/],
  ])('%s is a fault', (text, column, message) => {
    const reading = parseGeometricTolerance(text);
    expect(reading).toMatchObject({ ok: false, column });
    expect(reading.ok ? '' : reading.message).toMatch(message);
  });

  test('letters of common datums', () => {
    expect(datumLetters({ datums: [{ letter: 'A-B' }, { letter: 'C' }] })).toEqual(['A', 'B', 'C']);
  });
});

describe('general tolerances', () => {
  test.each([
    ['ISO 2768-mK', { linear: 'm', geometric: 'K' }],
    ['ISO 2768 - m K'.replace('m K', 'mK'), { linear: 'm', geometric: 'K' }],
    ['iso 2768-f', { linear: 'f' }],
    ['ISO 2768-1 c', { linear: 'c' }],
    ['ISO 2768-2-H', { geometric: 'H' }],
    ['EN ISO 2768-1:1991 vL', { linear: 'v', geometric: 'L' }],
    ['mK', { linear: 'm', geometric: 'K' }],
  ])('%s', (text, classes) => {
    expect(parseGeneralTolerance(text)).toEqual({
      ok: true,
      value: { ...classes, text },
      findings: [],
    });
  });

  test.each([
    ['', 1, /missing/],
    ['ISO 2768', 9, /missing/],
    ['ISO 2768-MK', 10, /M is not a class of ISO 2768 \(m is one\)/],
    ['ISO 2768-mm', 11, /m is not a class/],
    ['ISO 2768-mKx', 10, /missing or not understood/],
    ['ISO 22081', 1, /no classes/],
  ])('%s is a fault', (text, column, message) => {
    const reading = parseGeneralTolerance(text);
    expect(reading).toMatchObject({ ok: false, column });
    expect(reading.ok ? '' : reading.message).toMatch(message);
  });

  test('the envelope requirement is reported', () => {
    const reading = parseGeneralTolerance('ISO 2768-mK-E');
    expect(reading.ok && reading.findings.map(({ id }) => id)).toEqual(['envelope-not-used']);
  });
});

describe('surface texture', () => {
  test.each([
    ['Ra 1.6', { raMaxUm: 1.6 }],
    ['Ra1.6', { raMaxUm: 1.6 }],
    ['RA 1.6', { raMaxUm: 1.6 }],
    ['Ra ≤ 1.6', { raMaxUm: 1.6 }],
    ['Ra max 1.6 µm', { raMaxUm: 1.6 }],
    ['U Ra 1.6', { raMaxUm: 1.6 }],
    ['Rz 10', { rzMaxUm: 10 }],
    ['Ra 0.8-3.2', { raMaxUm: 3.2, raMinUm: 0.8 }],
    ['Ra 0.8..3.2', { raMaxUm: 3.2, raMinUm: 0.8 }],
    ['Ra 1.6 Rz 10', { raMaxUm: 1.6, rzMaxUm: 10 }],
    ['Ra 1.6; Rz 6.3-10', { raMaxUm: 1.6, rzMaxUm: 10, rzMinUm: 6.3 }],
    ['N7', { raMaxUm: 1.6 }],
    ['N9', { raMaxUm: 6.3 }],
    ['√ Ra 1.6', { raMaxUm: 1.6 }],
    ['Ra 63 uin', { raMaxUm: 1.6002 }],
    ['Ra 32-63 µin', { raMaxUm: 1.6002, raMinUm: 0.8128 }],
    ['Ra 800 nm', { raMaxUm: 0.8 }],
  ])('%s', (text, value) => {
    expect(parseRoughness(text)).toEqual({ ok: true, value, findings: [] });
  });

  test.each([
    ['√ 1.6', 'roughness-parameter-assumed'],
    ['1.6', 'roughness-parameter-assumed'],
    ['max 1.6', 'roughness-parameter-assumed'],
    ['Ra 3.2-0.8', 'roughness-swapped'],
  ])('%s gives the finding %s', (text, id) => {
    const reading = parseRoughness(text);
    expect(reading.ok && reading.findings.map((finding) => finding.id)).toEqual([id]);
  });

  test('the unit and the decimal comma follow the options', () => {
    expect(parseRoughness('Ra 63', { defaultUnit: 'uin' })).toMatchObject({
      value: { raMaxUm: 1.6002 },
    });
    expect(parseRoughness('Ra 1,6', { decimalComma: true })).toMatchObject({
      value: { raMaxUm: 1.6 },
    });
  });

  test.each([
    ['', 1, /empty/],
    ['Ra', 3, /number is expected/],
    ['Rq 1', 1, /parameter is not read/],
    ['N13', 1, /no such roughness grade/],
    ['Ra 0', 4, /out of range/],
    ['Ra 5000', 4, /out of range/],
    ['Ra 1,6', 5, /comma/],
    ['Ra 1.6 Ra 2', 8, /given twice/],
    ['L Ra 0.8', 1, /lower limit alone/],
    ['smooth', 1, /number is expected/],
  ])('%s is a fault', (text, column, message) => {
    const reading = parseRoughness(text);
    expect(reading).toMatchObject({ ok: false, column });
    expect(reading.ok ? '' : reading.message).toMatch(message);
  });

  test('the preferred series', () => {
    expect(preferredRaWithinUm(1.6)).toBe(1.6);
    expect(preferredRaWithinUm(3)).toBe(1.6);
    expect(preferredRaWithinUm(0.01)).toBeUndefined();
    expect(preferredRaUm).toHaveLength(12);
  });
});
