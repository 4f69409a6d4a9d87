import { type CleanUpInput, cleanUpProbability, stockForProbability } from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const seed = 20260301;
const spread = fc.double({ min: 0.001, max: 0.4, noNaN: true });

const inputs: fc.Arbitrary<CleanUpInput> = fc
  .record({
    sides: fc.constantFrom<1 | 2>(1, 2),
    print: spread,
    mean: fc.double({ min: -0.2, max: 0.2, noNaN: true }),
    growth: spread,
    datum: spread,
    curl: fc.double({ min: 0, max: 1, noNaN: true }),
    curlSpread: spread,
    skinLowMm: fc.double({ min: 0, max: 0.3, noNaN: true }),
    skinWidth: fc.double({ min: 0, max: 0.3, noNaN: true }),
  })
  .map(({ sides, print, mean, growth, datum, curl, curlSpread, skinLowMm, skinWidth }) => ({
    sides,
    size: [
      { name: 'print', meanMm: mean, sigmaMm: print },
      { name: 'growth', meanMm: 0, sigmaMm: growth },
    ],
    shift: [{ name: 'datum', meanMm: 0, sigmaMm: datum }],
    form: [{ name: 'curl', meanMm: curl, sigmaMm: curlSpread }],
    skinLowMm,
    skinHighMm: skinLowMm + skinWidth,
  }));

const options = { seed: 11, blanks: 2048 };
const target = fc.constantFrom(0.9, 0.99, 0.9973);

/** Rounding and the scatter of 2048 blanks. */
const slack = 1e-3;

describe('stock by probability of clean-up', () => {
  test('more print error never asks for less stock', () => {
    fc.assert(
      fc.property(
        inputs,
        target,
        fc.double({ min: 1, max: 4, noNaN: true }),
        (input, wanted, factor) => {
          const [print, growth] = input.size;
          if (print === undefined || growth === undefined) throw new Error('two terms');
          const worse: CleanUpInput = {
            ...input,
            size: [{ ...print, sigmaMm: print.sigmaMm * factor }, growth],
          };
          const before = stockForProbability(input, wanted, options).stockMm;
          const after = stockForProbability(worse, wanted, options).stockMm;
          expect(after).toBeGreaterThanOrEqual(before - slack);
        },
      ),
      { seed, numRuns: 80 },
    );
  });

  test('more curl, more displacement or a thicker skin never asks for less', () => {
    fc.assert(
      fc.property(
        inputs,
        target,
        fc.double({ min: 0, max: 0.5, noNaN: true }),
        (input, wanted, more) => {
          const before = stockForProbability(input, wanted, options).stockMm;
          const worse: readonly CleanUpInput[] = [
            { ...input, form: [...input.form, { name: 'more curl', meanMm: more, sigmaMm: 0 }] },
            { ...input, skinHighMm: input.skinHighMm + more },
            { ...input, shift: [...input.shift, { name: 'set-up', meanMm: 0, sigmaMm: more }] },
          ];
          for (const each of worse)
            expect(stockForProbability(each, wanted, options).stockMm).toBeGreaterThanOrEqual(
              before - slack,
            );
        },
      ),
      { seed, numRuns: 80 },
    );
  });

  test('more stock never lowers the probability, and the stock found is the least that meets it', () => {
    fc.assert(
      fc.property(
        inputs,
        target,
        fc.double({ min: 0.001, max: 1, noNaN: true }),
        (input, wanted, more) => {
          const { stockMm, probability } = stockForProbability(input, wanted, options);
          expect(probability).toBeGreaterThanOrEqual(wanted - 1e-6);
          expect(cleanUpProbability(input, stockMm + more, options)).toBeGreaterThanOrEqual(
            probability,
          );
          if (stockMm > 0.002)
            expect(cleanUpProbability(input, stockMm - 0.002, options)).toBeLessThan(wanted);
        },
      ),
      { seed, numRuns: 80 },
    );
  });
});
