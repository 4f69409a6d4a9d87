import {
  equivalentGrade,
  fitLimits,
  formatFixed,
  formatSize,
  parseGeneralTolerance,
  parseGeometricTolerance,
  parseLengthMm,
  parseMinutes,
  parseNumber,
  parseRoughness,
  parseSize,
  parseTemperatureC,
  type SizeLimits,
  type SizeOptions,
  toleranceGradeUm,
  toleranceOfGradeUm,
} from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const seed = 20260301;

const sizeOf = (text: string, options: SizeOptions = {}): SizeLimits => {
  const reading = parseSize(text, options);
  if (!reading.ok) throw new Error(`${text}: column ${reading.column}: ${reading.message}`);
  if (reading.value.form !== 'size') throw new Error(`${text} is a thread`);
  return reading.value.size;
};

const holes = ['C', 'D', 'E', 'F', 'G', 'H', 'JS', 'K', 'M', 'N', 'P', 'R', 'S'];
const letters = fc.constantFrom(...holes, ...holes.map((letter) => letter.toLowerCase()));
const micrometres = (min: number, max: number) =>
  fc.integer({ min, max }).map((um) => ({ um, text: formatFixed(um / 1000, 3) }));
const nominal = micrometres(500, 500_000);

describe('readers are total', () => {
  const pieces = fc.constantFrom(
    ...'25|12.5|0|⌀|Ø|R|SR|M8|x|×|4x|H7|js6|±|+/-|+0.1|-0.05|/|-|–|..|max|min|[|]|(|)|in|"|mm|µm|Ⓔ|GG|,| |Ra|Rz|N7|A|B|Ⓜ|(M)|position|flatness|ISO 2768|mK|e5|.|−'.split(
      '|',
    ),
  );
  const drawing = fc.array(pieces, { maxLength: 10 }).map((parts) => parts.join(' '));
  const packed = fc.array(pieces, { maxLength: 10 }).map((parts) => parts.join(''));
  const anything = fc.oneof(
    fc.string({ unit: 'binary', maxLength: 250 }),
    fc.string({ maxLength: 40 }),
    drawing,
    packed,
  );
  const readers: readonly ((text: string) => unknown)[] = [
    (text) => parseSize(text, { general: { linear: 'm' } }),
    (text) => parseSize(text, { decimalComma: true, defaultUnit: 'in' }),
    parseGeometricTolerance,
    parseGeneralTolerance,
    parseRoughness,
    parseNumber,
    (text) => parseLengthMm(text),
    (text) => parseTemperatureC(text),
    (text) => parseMinutes(text),
  ];

  test('no text makes a reader throw; every number it returns is finite', () => {
    fc.assert(
      fc.property(anything, (text) => {
        for (const reader of readers) {
          const reading = reader(text);
          // JSON turns NaN and infinities into null
          expect(JSON.stringify(reading)).not.toContain('null');
          const { ok, column } = reading as { ok: boolean; column?: number };
          if (!ok && (column === undefined || column < 1 || column > text.length + 1))
            throw new Error(`column ${column} of ${JSON.stringify(text)}`);
        }
      }),
      { seed, numRuns: 20_000 },
    );
  });

  test('long and nested texts end at once', () => {
    const hard = ['(', '[', '±', '4x', '+0.1/', 'A-B ', '1', 'Ⓜ', ' ', '-', 'a'].flatMap(
      (piece) => [
        piece.repeat(200 / piece.length),
        piece.repeat(1_000_000),
        `position 0.1 ${piece.repeat(180 / piece.length)}`,
      ],
    );
    const start = performance.now();
    for (const text of hard) for (const reader of readers) reader(text);
    expect(performance.now() - start).toBeLessThan(500);
  });
});

describe('sizes', () => {
  const sizeText = fc.oneof(
    fc.tuple(nominal, micrometres(1, 400)).map(([n, t]) => `${n.text} ±${t.text}`),
    fc
      .tuple(nominal, micrometres(-400, 400), micrometres(-400, 400))
      .filter(([, a, b]) => a.um !== b.um)
      .map(
        ([n, a, b]) => `⌀${n.text} ${a.um < 0 ? '' : '+'}${a.text}/${b.um < 0 ? '' : '+'}${b.text}`,
      ),
    fc
      .tuple(nominal, micrometres(1, 400))
      .map(([n, t]) => `${n.text}-${formatFixed((n.um + t.um) / 1000, 3)}`),
    fc
      .tuple(nominal, fc.constantFrom('H7', 'h6', 'js9', 'JS5', 'g6', 'P7'))
      .map(([n, f]) => `${n.text} ${f}`),
    nominal.map((n) => `max ${n.text}`),
    nominal.map((n) => `R${n.text}`),
    nominal.map((n) => `3x [${n.text}]`),
    fc.tuple(nominal, micrometres(1, 15)).map(([n, t]) => `${n.text} in ±${t.text} in`),
  );

  test('printing and reading again gives the same size', () => {
    fc.assert(
      fc.property(sizeText, (text) => {
        const size = sizeOf(text);
        const again = sizeOf(formatSize(size));
        expect({ ...again, text }).toEqual(size);
        expect(formatSize(again)).toBe(formatSize(size));
      }),
      { seed, numRuns: 2000 },
    );
  });

  test('a fit has the limits of its looked-up deviations', () => {
    fc.assert(
      fc.property(nominal, letters, fc.integer({ min: 3, max: 18 }), (n, letter, grade) => {
        const fit = `${letter}${grade}`;
        const reading = parseSize(`${n.text} ${fit}`);
        if (!reading.ok) {
          const undefinedK = letter === 'K' && grade > 8;
          expect(undefinedK || fitLimits(n.um / 1000, fit).lowerMm < 0).toBe(true);
          return;
        }
        const size = sizeOf(`${n.text} ${fit}`);
        const { upperMm, lowerMm, upperDeviationUm, lowerDeviationUm } = fitLimits(
          n.um / 1000,
          fit,
        );
        expect([size.upperMm, size.lowerMm]).toEqual([upperMm, lowerMm]);
        const sign = (um: number) => `${um < 0 ? '' : '+'}${formatFixed(um / 1000, 5)}`;
        const written = sizeOf(`${n.text} ${sign(upperDeviationUm)}/${sign(lowerDeviationUm)}`);
        expect([written.upperMm, written.lowerMm]).toEqual([upperMm, lowerMm]);
      }),
      { seed, numRuns: 3000 },
    );
  });

  test('the same size in mm and in inch gives the same limits', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 50, max: 19_000 }),
        fc.integer({ min: 1, max: 40 }),
        (thou, toleranceThou) => {
          const inch = `${formatFixed(thou / 1000, 3)} in ±${formatFixed(toleranceThou / 1000, 3)}`;
          const mm = `${formatFixed((thou * 254) / 10_000, 4)} ±${formatFixed((toleranceThou * 254) / 10_000, 4)}`;
          expect({ ...sizeOf(inch), text: '' }).toEqual({ ...sizeOf(mm), text: '' });
        },
      ),
      { seed, numRuns: 2000 },
    );
  });

  test('the decimal mark does not change the size', () => {
    fc.assert(
      fc.property(nominal, micrometres(1, 400), (n, t) => {
        const text = `${n.text} ±${t.text}`;
        const comma = sizeOf(text.replaceAll('.', ','), { decimalComma: true });
        expect({ ...comma, text }).toEqual(sizeOf(text));
      }),
      { seed, numRuns: 500 },
    );
  });
});

describe('grades', () => {
  const size = fc.double({ min: 0.001, max: 3150, noNaN: true });

  test('tolerance and equivalent grade are inverse', () => {
    fc.assert(
      fc.property(size, fc.double({ min: -5, max: 25, noNaN: true }), (sizeMm, grade) => {
        expect(equivalentGrade(sizeMm, toleranceOfGradeUm(sizeMm, grade))).toBeCloseTo(grade, 9);
      }),
      { seed, numRuns: 5000 },
    );
  });

  test('the equivalent grade rises with the tolerance', () => {
    const um = fc.double({ min: 0.01, max: 100_000, noNaN: true });
    fc.assert(
      fc.property(size, um, um, (sizeMm, a, b) => {
        const [low, high] = [Math.min(a, b), Math.max(a, b)];
        fc.pre(high > low * 1.000001);
        expect(equivalentGrade(sizeMm, high)).toBeGreaterThan(equivalentGrade(sizeMm, low));
      }),
      { seed, numRuns: 5000 },
    );
  });

  test('a coarser grade and a larger size never have a smaller tolerance', () => {
    fc.assert(
      fc.property(size, size, fc.integer({ min: 1, max: 17 }), (a, b, grade) => {
        const [small, large] = [Math.min(a, b), Math.max(a, b)];
        expect(toleranceGradeUm(large, grade)).toBeGreaterThanOrEqual(
          toleranceGradeUm(small, grade),
        );
        expect(toleranceGradeUm(small, grade + 1)).toBeGreaterThan(toleranceGradeUm(small, grade));
      }),
      { seed, numRuns: 3000 },
    );
  });
});

describe('printing numbers', () => {
  test('is within half a unit of the last decimal and reads back as a plain number', () => {
    const value = fc.double({ min: -1e9, max: 1e9, noNaN: true });
    fc.assert(
      fc.property(value, fc.integer({ min: 0, max: 9 }), (number, decimals) => {
        const text = formatFixed(number, decimals);
        expect(text).toMatch(
          decimals === 0 ? /^-?\d+$/ : new RegExp(`^-?\\d+\\.\\d{${decimals}}$`),
        );
        expect(text).not.toMatch(/^-0\.?0*$/);
        const reading = parseNumber(text);
        const half = 0.5 * 10 ** -decimals;
        expect(reading.ok && Math.abs(reading.value - number)).toBeLessThanOrEqual(
          half + Math.abs(number) * 1e-15,
        );
      }),
      { seed, numRuns: 5000 },
    );
  });
});
