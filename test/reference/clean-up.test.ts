import { type CleanUpInput, cleanUpProbability, stockForProbability } from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { stepStock } from '../../packages/core/src/allowance/chain-stock.js';

// Probability of clean-up: closed forms, and a simulation that shares no code with the planner.

/** Park and Miller's minimal standard generator with a Box-Muller transform (CACM 31, 1988). */
function otherRandom(seed: number): { uniform: () => number; normal: () => number } {
  let state = seed;
  const uniform = (): number => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
  const normal = (): number =>
    Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
  return { uniform, normal };
}

/** Share of so many blanks whose every side is cut below hollow and skin. */
function simulate(input: CleanUpInput, stockMm: number, blanks: number, seed: number): number {
  const { uniform, normal } = otherRandom(seed);
  let clean = 0;
  for (let blank = 0; blank < blanks; blank++) {
    let size = 0;
    for (const term of input.size) size += term.meanMm + term.sigmaMm * normal();
    let moved = 0;
    for (const term of input.shift) moved += term.meanMm + term.sigmaMm * normal();
    let good = true;
    for (let side = 0; side < input.sides; side++) {
      let hollow = 0;
      for (const term of input.form) hollow += term.meanMm + term.sigmaMm * normal();
      const skin = input.skinLowMm + (input.skinHighMm - input.skinLowMm) * uniform();
      const there = stockMm + size / input.sides + (side === 0 ? -moved : moved);
      if (there < Math.max(0, hollow) + skin) good = false;
    }
    if (good) clean += 1;
  }
  return clean / blanks;
}

const term = (name: string, sigmaMm: number, meanMm = 0) => ({ name, meanMm, sigmaMm });

const cases: readonly (readonly [string, CleanUpInput])[] = [
  [
    'titanium face: print, growth, datum, set-up, curl after relief',
    {
      sides: 1,
      size: [term('print', 0.09), term('growth', 0.01, -0.02), term('cut', 0.02)],
      shift: [term('datum', 0.05), term('set-up', 0.03)],
      form: [term('curl', 0.06, 0.12)],
      skinLowMm: 0.15,
      skinHighMm: 0.34,
    },
  ],
  [
    'bore, both sides, displaced by the place of the print',
    {
      sides: 2,
      size: [term('print', 0.06, 0.08), term('cut', 0.01)],
      shift: [term('place', 0.07), term('set-up', 0.03)],
      form: [term('form', 0.02, 0.05)],
      skinLowMm: 0.15,
      skinHighMm: 0.34,
    },
  ],
  [
    'long flat part: curl rules',
    {
      sides: 1,
      size: [term('print', 0.05)],
      shift: [term('set-up', 0.03)],
      form: [term('curl', 0.5, 0.8)],
      skinLowMm: 0.2,
      skinHighMm: 0.5,
    },
  ],
];

describe('an independent simulation of 100,000 blanks agrees to 0.2 %', () => {
  test.each(cases)('%s', (_name, input) => {
    for (const target of [0.9, 0.99, 0.9973]) {
      const { stockMm, probability } = stockForProbability(input, target, { seed: 7 });
      expect(probability).toBeCloseTo(target, 6);
      expect(Math.abs(simulate(input, stockMm, 100_000, 12_345) - target)).toBeLessThan(0.002);
    }
  });
});

describe('closed forms', () => {
  test('one normal error: stock = skin + z sigma', () => {
    const input: CleanUpInput = {
      sides: 1,
      size: [term('a', 0.03), term('b', 0.04)],
      shift: [],
      form: [],
      skinLowMm: 0.2,
      skinHighMm: 0.2,
    };
    const { stockMm } = stockForProbability(input, 0.9986501019683699, { seed: 1 });
    expect(stockMm).toBeCloseTo(0.2 + 3 * 0.05, 6);
  });

  test('a size error is shared by the two sides of a diameter', () => {
    const input: CleanUpInput = {
      sides: 2,
      size: [term('a', 0.1)],
      shift: [],
      form: [],
      skinLowMm: 0,
      skinHighMm: 0,
    };
    expect(cleanUpProbability(input, 0.05, { seed: 1 })).toBeCloseTo(0.8413447460685429, 12);
  });

  test('skin alone: evenly spread between its ends', () => {
    const input: CleanUpInput = {
      sides: 1,
      size: [],
      shift: [],
      form: [],
      skinLowMm: 0.1,
      skinHighMm: 0.3,
    };
    expect(stockForProbability(input, 0.95, { seed: 3 }).stockMm).toBeCloseTo(0.29, 2);
    expect(cleanUpProbability(input, 0.3, { seed: 3 })).toBe(1);
    expect(cleanUpProbability(input, 0.1, { seed: 3 })).toBe(0);
  });

  test('displacement alone on two sides: 1 - 2 Phi(-z)', () => {
    const input: CleanUpInput = {
      sides: 2,
      size: [],
      shift: [term('place', 0.1)],
      form: [],
      skinLowMm: 0,
      skinHighMm: 0,
    };
    expect(cleanUpProbability(input, 0.2, { seed: 5, blanks: 65_536 })).toBeCloseTo(0.9545, 3);
  });

  test('bad input is refused with its reason', () => {
    const input = cases[0]?.[1];
    if (input === undefined) throw new Error('no case');
    expect(() => stockForProbability(input, 1, { seed: 1 })).toThrow(/target 1/);
    expect(() => cleanUpProbability(input, 1, { seed: 1, blanks: 10 })).toThrow(/blanks 10/);
    expect(() =>
      cleanUpProbability({ ...input, form: [term('curl', -1)] }, 1, { seed: 1 }),
    ).toThrow(/curl: spread -1/);
  });
});

test('the same seed gives the same bits, another one nearly the same stock', () => {
  const input = cases[1]?.[1];
  if (input === undefined) throw new Error('no case');
  const one = stockForProbability(input, 0.9973, { seed: 42 });
  expect(stockForProbability(input, 0.9973, { seed: 42 })).toEqual(one);
  const two = stockForProbability(input, 0.9973, { seed: 43 });
  expect(two.stockMm).not.toBe(one.stockMm);
  expect(Math.abs(two.stockMm - one.stockMm)).toBeLessThan(0.01);
});

describe('analytical method: capability check 26 (Kovan, from memory; computed)', () => {
  test('Rz 90, h 150, rho 200, eps 100 um: Zmin 463.6 um a side, 927.2 on the diameter', () => {
    const stock = stepStock(
      { rzMm: 0.09, layerMm: 0.15, formMm: 0.2, toleranceMm: 0 },
      {
        process: 'rough-turning',
        settingMm: 0.1,
        rule: 'full',
        shiftMm: 0,
        stockMinMm: 0,
        stockMaxMm: 10,
        after: { rzMm: 0.05, layerMm: 0.05, formMm: 0, toleranceMm: 0 },
      },
      true,
    );
    expect(1000 * (stock?.minimumMm ?? 0)).toBeCloseTo(463.6, 1);
    expect(2000 * (stock?.minimumMm ?? 0)).toBeCloseTo(927.2, 1);
  });
});
