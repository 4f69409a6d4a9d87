import { type ChartLink, type ChartResult, checkChart, solveChart } from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { blankChart, printedShaft, shaftChart } from '../fixtures/charts.js';

const written = (chain: readonly ChartLink[]): string =>
  chain.map(({ cut, sign }) => `${sign === 1 ? '+' : '-'}${cut}`).join('');
const resultant = (result: ChartResult, id: string) => {
  const found = result.resultants.find(({ blueprint }) => blueprint === id);
  if (found === undefined) throw new Error(`no resultant ${id}`);
  return found;
};
const stock = (result: ChartResult, id: string) => {
  const found = result.stocks.find(({ cut }) => cut === id);
  if (found === undefined) throw new Error(`no stock ${id}`);
  return found;
};

describe('axial chain of a turned shaft, published student calculation of machining accuracy, chains 2-12 (read)', () => {
  const solved = solveChart(shaftChart());

  test('relations of all chains as printed', () => {
    const chains = {
      ...Object.fromEntries(solved.resultants.map((one) => [one.blueprint, written(one.chain)])),
      ...Object.fromEntries(solved.stocks.map((one) => [`z ${one.cut}`, written(one.chain)])),
    };
    expect(chains).toEqual({
      K1: '+A13',
      K2: '+A9-A12-A11',
      K3: '+A11',
      K4: '+A5+A8',
      'z A4': '+A2-A4',
      'z A5': '+A3-A5',
      'z A6': '+A4-A6',
      'z A9': '+A8-A9',
      'z A10': '+A6-A8+A9-A10',
      'z A11': '+A7-A8+A9-A12-A11',
      'z A12': '+A10-A12',
      'z A13': '+A12-A13',
    });
  });

  test('corrected working dimensions: the chart solved with its rounding rule (derived)', () => {
    const stated = Object.fromEntries(solved.cuts.map(({ cut, statedMm }) => [cut, statedMm]));
    expect(stated).toEqual({
      A13: 12,
      A11: 20,
      A12: 12.2,
      A10: 12.5,
      A9: 47.42,
      A8: 49.1,
      A7: 34.8,
      A5: 73.5,
      A6: 15,
      A4: 16.7,
      A3: 75.3,
      A2: 18.2,
    });
    expect(solved.feasible).toBe(true);
  });

  test.each([
    ['A13', 0.157, 0.243],
    ['A12', 0.19, 0.343],
    ['A9', 1.29, 1.84],
    ['A11', 0.37, 1.483],
    ['A10', 0.39, 1.32],
    ['A6', 1.27, 1.97],
  ])('corrected stock of cut %s: %d to %d mm (derived)', (cut, lower, upper) => {
    const { range } = stock(solved, cut);
    expect(range.lowerMm).toBeCloseTo(lower, 9);
    expect(range.upperMm).toBeCloseTo(upper, 9);
  });

  test('corrected blueprint dimensions K2 15.060-15.393, K4 121.47-122.60 (derived)', () => {
    expect(resultant(solved, 'K2').range).toEqual({ lowerMm: 15.06, upperMm: 15.393 });
    expect(resultant(solved, 'K4').range).toEqual({ lowerMm: 121.47, upperMm: 122.6 });
  });

  test('the printed chart is caught: K2 reaches 15.563, K4 122.87-124.00, stock of A9 falls short', () => {
    const checked = checkChart(shaftChart(), printedShaft);
    expect(checked.feasible).toBe(false);
    expect(resultant(checked, 'K2').range).toEqual({ lowerMm: 15.23, upperMm: 15.563 });
    expect(resultant(checked, 'K4').range).toEqual({ lowerMm: 122.87, upperMm: 124 });
    const faults = checked.faults.map(({ kind, id, side, byMm }) => ({ kind, id, side, byMm }));
    expect(faults).toEqual([
      { kind: 'blueprint', id: 'K4', side: 'above', byMm: 1.4 },
      { kind: 'blueprint', id: 'K2', side: 'above', byMm: 0.163 },
      // A8 is 48.71 at least, A9 47.59 at most: 1.12 where 1.2 is wanted
      { kind: 'stock', id: 'A9', side: 'below', byMm: 0.08 },
    ]);
    expect(checked.faults[0]?.message).toBe(
      'blueprint dimension K4 comes to 124.000, 1.400 above its most of 122.600; chain A5 + A8',
    );
  });

  test('what the print has right is not called a fault', () => {
    const checked = checkChart(shaftChart(), printedShaft);
    expect(stock(checked, 'A5').range.lowerMm).toBeCloseTo(1.2, 9);
    expect(stock(checked, 'A4').range.lowerMm).toBeCloseTo(1.2, 9);
    expect(stock(checked, 'A13').range.lowerMm).toBeCloseTo(0.157, 9);
    expect(stock(checked, 'A12').range.lowerMm).toBeCloseTo(0.19, 9);
  });
});

describe('printed blank with two facing cuts and a step, rules of Wade, Tolerance Control, 1967 (derived)', () => {
  const solved = solveChart(blankChart());

  test('mean working dimensions 41.11, 14.75, 40.43, 40.00, 25.00', () => {
    const means = Object.fromEntries(solved.cuts.map(({ cut, meanMm }) => [cut, meanMm]));
    expect(means.W1).toBeCloseTo(41.11, 9);
    expect(means.W5).toBeCloseTo(14.75, 9);
    expect(means.W2).toBeCloseTo(40.43, 9);
    expect(means.W3).toBeCloseTo(40, 9);
    expect(means.W4).toBeCloseTo(25, 9);
    expect(solved.feasible).toBe(true);
  });

  test.each([
    ['B1', '+W3', 0.05, 0.05, 39.95, 40.05],
    ['B2', '+W3-W4', 0.1, 0.070711, 14.9, 15.1],
  ])('resultant %s = %s: worst ±%d, RSS ±%d', (id, chain, worst, rss, lower, upper) => {
    const found = resultant(solved, id);
    expect(written(found.chain)).toBe(chain);
    expect(found.worstMm).toBeCloseTo(worst, 9);
    expect(found.statisticalMm).toBeCloseTo(rss, 6);
    expect(found.range).toEqual({ lowerMm: lower, upperMm: upper });
    expect(found.marginMm).toBeCloseTo(0, 9);
  });

  test.each([
    ['W2', '+W1-W2', 0.38, 0.310483, 0.68, 1.06],
    ['W3', '+W2-W3', 0.13, 0.09434, 0.43, 0.56],
    ['W4', '+W1-W5-W2+W3-W4', 0.63, 0.351994, 0.93, 1.56],
  ])('stock of %s = %s: worst ±%d, RSS ±%d', (id, chain, worst, rss, mean, upper) => {
    const found = stock(solved, id);
    expect(written(found.chain)).toBe(chain);
    expect(found.worstMm).toBeCloseTo(worst, 9);
    expect(found.statisticalMm).toBeCloseTo(rss, 6);
    expect(found.meanMm).toBeCloseTo(mean, 9);
    expect(found.range.lowerMm).toBeCloseTo(0.3, 9);
    expect(found.range.upperMm).toBeCloseTo(upper, 9);
  });
});
