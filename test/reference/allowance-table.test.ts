import { allowanceTable } from '@offplate/core';
import { describe, expect, test } from 'vitest';

// Student process plan of a planet gear (read): hole 42.025 to 42.044, five states. The printed least
// allowances are inputs; their parts Rz, h and rho were not readable.
const rows = allowanceTable(
  { lowerMm: 42.025, upperMm: 42.044 },
  [
    { name: 'ground', toleranceMm: 0.019, leastMm: 0.198 },
    { name: 'broached', toleranceMm: 0.062, leastMm: 0.268 },
    { name: 'finish countersunk', toleranceMm: 0.1, leastMm: 0.328 },
    { name: 'rough countersunk', toleranceMm: 0.25, leastMm: 1.042 },
    { name: 'blank', toleranceMm: 0.62 },
  ],
  true,
);

describe('H1: machining allowance of a hole in five states, published student process plan (read)', () => {
  test.each([
    ['ground', 42.044, 42.025],
    ['broached', 41.846, 41.784],
    ['finish countersunk', 41.578, 41.478],
    ['rough countersunk', 41.25, 41.0],
    ['blank', 40.208, 39.588],
  ])('%s: largest %f, smallest %f as printed', (name, largest, smallest) => {
    const row = rows.find((entry) => entry.name === name);
    expect(row?.upperMm).toBeCloseTo(largest, 9);
    expect(row?.lowerMm).toBeCloseTo(smallest, 9);
  });

  test('largest allowances .478 and 1.412 as printed, .241 and .306 (recomputed)', () => {
    expect(rows.map(({ mostMm }) => mostMm)).toEqual([0.241, 0.306, 0.478, 1.412, undefined]);
  });

  test('totals 1.836 and 2.437; their difference 0.601 is 0.620 - 0.019 (printed)', () => {
    const sum = (values: readonly (number | undefined)[]): number =>
      values.reduce<number>((total, value) => total + (value ?? 0), 0);
    expect(sum(rows.map(({ leastMm }) => leastMm))).toBeCloseTo(1.836, 9);
    expect(sum(rows.map(({ mostMm }) => mostMm))).toBeCloseTo(2.437, 9);
    expect(2.437 - 1.836).toBeCloseTo(0.62 - 0.019, 9);
  });

  test('a shaft is the mirror image of a hole', () => {
    const [, blank] = allowanceTable(
      { lowerMm: 20, upperMm: 20.021 },
      [
        { name: 'ground', toleranceMm: 0.021, leastMm: 0.2 },
        { name: 'turned', toleranceMm: 0.1 },
      ],
      false,
    );
    expect(blank).toEqual({ name: 'turned', lowerMm: 20.2, upperMm: 20.3 });
  });
});
