import { sampleStatistics } from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { normalQuantile } from '../../packages/core/src/numeric/normal.js';
import { lew, lottery, mavro, michelson } from './nist-strd.js';

/** Correct significant digits, 15 at most. */
const digits = (value: number, certified: number): number =>
  value === certified ? 15 : Math.min(15, -Math.log10(Math.abs(value / certified - 1)));

const alternating = (first: number, low: number, high: number): number[] => [
  first,
  ...Array.from({ length: 1000 }, (_, i) => (i % 2 === 0 ? low : high)),
];

describe('NIST StRD univariate sets: certified mean, standard deviation, lag-1 autocorrelation', () => {
  test.each([
    ['Lew', lew, -177.435, 277.332168044316, -0.307304800605679],
    ['Lottery', lottery, 518.95871559633, 291.699727470969, -0.120948622967393],
    ['Michelso', michelson, 299.8524, 0.0790105478190518, 0.535199668621283],
    ['NumAcc1 (I2)', [10000001, 10000003, 10000002], 10000002, 1, -0.5],
    ['NumAcc2', alternating(1.2, 1.1, 1.3), 1.2, 0.1, -0.999],
  ] as const)('%s to 13 digits', (_, values, mean, sd, autocorrelation) => {
    const result = sampleStatistics(values);
    expect(digits(result.mean, mean)).toBeGreaterThan(14);
    expect(digits(result.sd, sd)).toBeGreaterThan(13);
    expect(digits(result.autocorrelation, autocorrelation)).toBeGreaterThan(13);
  });

  test('Mavro (I1): the data as doubles hold 12 digits of the spread', () => {
    const result = sampleStatistics(mavro);
    expect(digits(result.mean, 2.001856)).toBeGreaterThan(14);
    expect(digits(result.sd, 0.000429123454003053)).toBeGreaterThan(12.5);
    expect(digits(result.autocorrelation, 0.937989183438248)).toBeGreaterThan(12.5);
  });

  // 10000000.1 as a double is off by 1.5e-9: exact arithmetic on the doubles gives 0.10000000055879
  test('NumAcc3 and NumAcc4 (I2): as exact as their doubles', () => {
    const third = sampleStatistics(alternating(1000000.2, 1000000.1, 1000000.3));
    expect(digits(third.mean, 1000000.2)).toBe(15);
    expect(digits(third.sd, 0.1)).toBeGreaterThan(9);
    const fourth = sampleStatistics(alternating(10000000.2, 10000000.1, 10000000.3));
    expect(digits(fourth.mean, 10000000.2)).toBe(15);
    expect(fourth.sd).toBeCloseTo(0.10000000055879, 14);
    expect(digits(fourth.autocorrelation, -0.999)).toBeGreaterThan(7.5);
  });
});

test.each([
  [0.9, 1.2815515655446],
  [0.95, 1.64485362695147],
  [0.975, 1.95996398454005],
  [0.99, 2.32634787404084],
  [0.995, 2.5758293035489],
  [0.99865, 2.9999769927034],
  [0.999, 3.09023230616781],
  [0.9999, 3.71901648545571],
  [0.999999, 4.75342430881709],
  [1 - 3.4e-6, 4.49985447002584],
])('I3 normal quantile at %d (recomputed)', (p, z) => {
  expect(Math.abs(normalQuantile(p) / z - 1)).toBeLessThan(1e-12);
});
