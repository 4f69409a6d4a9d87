import {
  defaultCatalog,
  equivalentMinutes,
  type ReliefCycle,
  remainingCurl,
  remainingStress,
  shareLeft,
} from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const seed = 20260301;
const catalog = defaultCatalog();
const alloys = catalog.materials.map((row) => row.id);

const hold = fc.record({
  temperatureC: fc.double({ min: 100, max: 1250, noNaN: true }),
  minutes: fc.double({ min: 1, max: 1200, noNaN: true }),
});

describe('hotter or longer never leaves more stress', () => {
  test('every alloy of the catalogue, stress and curl: low, typical and high', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...alloys),
        hold,
        fc.double({ min: 0, max: 400, noNaN: true }),
        fc.double({ min: 0, max: 600, noNaN: true }),
        (alloy, cycle, hotter, longer) => {
          const stronger: ReliefCycle = {
            temperatureC: cycle.temperatureC + hotter,
            minutes: cycle.minutes + longer,
          };
          for (const ask of [remainingStress, remainingCurl]) {
            const weak = ask(catalog, alloy, cycle);
            const strong = ask(catalog, alloy, stronger);
            // what is known of a cycle is known of a stronger one
            if (!weak.known) continue;
            if (!strong.known) throw new Error(strong.reason);
            expect(strong.low).toBeLessThanOrEqual(weak.low + 1e-12);
            expect(strong.typical).toBeLessThanOrEqual(weak.typical + 1e-12);
            expect(strong.high).toBeLessThanOrEqual(weak.high + 1e-12);
            expect(weak.low).toBeLessThanOrEqual(weak.typical);
            expect(weak.typical).toBeLessThanOrEqual(weak.high);
            expect(weak.high).toBeLessThanOrEqual(1);
          }
        },
      ),
      { seed, numRuns: 1000 },
    );
  });

  test('a ramp before the hold never leaves more than the hold alone', () => {
    const law = { activationKJPerMol: 280, exponent: 0.2161, lnRatePerHour: 32.566 };
    fc.assert(
      fc.property(hold, fc.double({ min: 1, max: 30, noNaN: true }), (cycle, rate) => {
        const up = (cycle.temperatureC - 20) / rate;
        const curve = [
          [0, 20],
          [up, cycle.temperatureC],
          [up + cycle.minutes, cycle.temperatureC],
        ] as const;
        const whole = equivalentMinutes(law, curve, cycle.temperatureC);
        expect(whole).toBeGreaterThanOrEqual(cycle.minutes);
        expect(shareLeft(law, cycle.temperatureC, whole)).toBeLessThanOrEqual(
          shareLeft(law, cycle.temperatureC, cycle.minutes),
        );
      }),
      { seed, numRuns: 200 },
    );
  });
});
