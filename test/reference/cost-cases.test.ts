import {
  batchShares,
  buildFailure,
  goodPartCost,
  learningFactor,
  machineRate,
  printedKilogram,
  wireCutMinutes,
} from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

// Published figures are named with paper, table and year; "derived" sums follow from them by hand.

/** Relative difference. */
const near = (value: number, wanted: number, within: number): void => {
  expect(Math.abs(value / wanted - 1)).toBeLessThan(within);
};

describe('a kilogram of nickel alloy 718 (trade press, about 2017: shares of printing in the total, powder price, density and build rate read; sums derived)', () => {
  const powder = { powderPerKg: 120, densityGCm3: 8.15, buildRateMm3S: 4.2 };
  // Shares quoted in the article: preparation 14.4, printing 59.2, post-processing 26.4 %.
  const shares = { printShare: 0.592, preparationShare: 0.144 };
  const kilogram = (ratePerHour: number) => printedKilogram({ ...powder, ...shares, ratePerHour });

  test.each([
    [30, 363.5, 613.9, 162.1, 88.4],
    [40, 444.6, 751.0, 198.3, 108.1],
    [50, 525.8, 888.1, 234.5, 127.9],
  ])('printer at %d USD/h', (rate, printing, total, post, preparation) => {
    const result = kilogram(rate);
    near(result.hoursPerKg, 8.115, 1e-4);
    // The sums are given to one decimal.
    expect(result.printing).toBeCloseTo(printing, 0);
    expect(Math.abs(result.printing - printing)).toBeLessThan(0.06);
    expect(Math.abs(result.total - total)).toBeLessThan(0.06);
    expect(Math.abs(result.postProcessing - post)).toBeLessThan(0.06);
    expect(Math.abs(result.preparation - preparation)).toBeLessThan(0.06);
  });

  test('closed form of the case to 1e-12', () => {
    for (const rate of [30, 40, 50])
      near(kilogram(rate).total, (120 + (rate * 1e6) / 8.15 / 4.2 / 3600) / 0.592, 1e-12);
  });
});

describe('one plate with three kinds of parts (derived; charges within ranges of US trade press, about 2017)', () => {
  const quantities = [8, 4, 1];
  const shares = (charge: number, weights: readonly number[]): readonly number[] =>
    batchShares(
      charge,
      weights.map((weight, index) => ({ quantity: quantities[index] ?? 0, weight })),
    );

  test.each([
    ['unpacking by count', 180, [1, 1, 1], [13.8462, 13.8462, 13.8462]],
    ['stress relief by mass', 550, [0.18, 0.42, 1.9], [19.7211, 46.0159, 208.1673]],
    ['stress relief by footprint', 550, [1200, 2500, 9000], [23.0769, 48.0769, 173.0769]],
    ['wire EDM by cut area', 250, [420, 900, 2600], [10.9833, 23.5356, 67.9916]],
  ])('%s', (_, charge, weights, wanted) => {
    const got = shares(charge, weights);
    for (const [index, share] of got.entries()) near(share, wanted[index] ?? Number.NaN, 1e-5);
    const paid = got.reduce((sum, share, index) => sum + share * (quantities[index] ?? 0), 0);
    near(paid, charge, 1e-12);
  });

  const relief = shares(550, [0.18, 0.42, 1.9])[0] ?? 0;
  const wire = shares(250, [420, 900, 2600])[0] ?? 0;
  const machining = 0.75 * 60 + 120 / 8;
  const route = [
    { cost: 180 / 13, scrap: 0 },
    { cost: relief, scrap: 0.005 },
    { cost: wire, scrap: 0.02 },
    { cost: machining, scrap: 0.05 },
    { cost: 25, scrap: 0.03 },
  ];

  test('scrap along the route of the first kind', () => {
    const good = goodPartCost(route);
    near(good.withoutScrap, 129.5505, 1e-6);
    near(good.cost, 140.4035, 1e-6);
    const wanted = [1.1129, 1.1129, 1.10733, 1.08519, 1.03093];
    for (const [index, times] of good.timesDone.entries())
      near(times, wanted[index] ?? Number.NaN, 1e-5);
  });

  test('with printing in front that loses a tenth', () => {
    const good = goodPartCost([{ cost: 300, scrap: 0.1 }, ...route]);
    near(good.withoutScrap, 429.5505, 1e-6);
    near(good.cost, 511.3696, 1e-6);
    near(good.yield, 0.808699, 1e-6);
  });
});

test('time to cut a plate free by wire (derived)', () => {
  const stretches = [
    [40, 0],
    [30, 60],
    [20, 0],
    [60, 110],
    [20, 0],
    [30, 60],
    [50, 0],
  ].map(([travelMm = 0, metalMm = 0]) => ({ travelMm, metalMm }));
  expect(wireCutMinutes(stretches, 80, 4, 45)).toBeCloseTo(205, 9);
  // With a feed that never limits: set-up and area over rate.
  expect(wireCutMinutes(stretches, 80, 1e9, 45)).toBeCloseTo(172.5, 4);
});

test.each([
  [1e-5, 0.97531, 1.025315, 1.01261],
  [4.2e-5, 0.900323, 1.110713, 1.05441],
])(
  'a build of 2500 layers that each fail with %d (derived, model after Baumers et al.)',
  (chance, success, builds, time) => {
    const failure = buildFailure(2500, chance);
    near(failure.success, success, 1e-6);
    near(failure.buildsPerSuccess, builds, 1e-6);
    near(failure.timeFactor, time, 1e-6);
  },
);

describe('learning by Wright 1936, J. Aeronautical Sciences 3(4) 122-128: "the factor by which the average labor cost in any quantity shall be multiplied in order to determine the average labor cost for a quantity of twice that number" (as quoted in a later dissertation)', () => {
  test('every doubling multiplies the mean by the rate', () => {
    for (const percent of [70, 80, 90, 100])
      for (const quantity of [1, 3, 25, 400])
        near(
          learningFactor(2 * quantity, percent),
          (learningFactor(quantity, percent) * percent) / 100,
          1e-12,
        );
  });

  test.each([
    [1, 1],
    [2, 0.8],
    [4, 0.64],
    [8, 0.512],
    [10, 0.4765],
    [100, 0.2271],
  ])(
    'mean of a lot of %d at 80 %% (table of the 80 %% curve, memory; derived by 0.8^log2 n)',
    (quantity, wanted) => {
      expect(learningFactor(quantity, 80)).toBeCloseTo(wanted, 4);
    },
  );
});

test('hour of a printer within what US trade press quoted about 2017: 30 to 50 USD/h at 400 to 800 kUSD, 3 to 5 years, 70 to 90 % use, no overhead', () => {
  const printer = {
    maintenancePerYear: 0,
    floorPerYear: 0,
    hoursPerYear: 24 * 365,
    powerKw: 0,
    pricePerKwh: 0,
  };
  const rate = machineRate({ ...printer, price: 1_000_000, years: 4, utilisation: 0.8 });
  expect(rate).toBeGreaterThan(30);
  expect(rate).toBeLessThan(50);
  // By hand: 1 000 000 / 4 / (8760 x 0.8).
  near(rate, 35.673516, 1e-7);
});

describe('laws of the cost cases', () => {
  const settings = { seed: 20261125, numRuns: 300 };
  const positive = fc.double({ min: 0.01, max: 1e4, noNaN: true });
  const parts = fc.array(
    fc.record({ quantity: fc.integer({ min: 1, max: 50 }), weight: positive }),
    { minLength: 1, maxLength: 8 },
  );

  test('the shares of a batch add up to its charge; doubled weights change nothing', () => {
    fc.assert(
      fc.property(parts, positive, (list, charge) => {
        const got = batchShares(charge, list);
        const paid = got.reduce((sum, share, at) => sum + share * (list[at]?.quantity ?? 0), 0);
        near(paid, charge, 1e-9);
        const doubled = list.map((part) => ({ ...part, weight: 2 * part.weight }));
        expect(batchShares(charge, doubled)).toEqual(got);
      }),
      settings,
    );
    expect(batchShares(431.7, [{ quantity: 1, weight: 3.3 }])).toEqual([431.7]);
  });

  const steps = fc.array(
    fc.record({ cost: positive, scrap: fc.double({ min: 0, max: 0.6, noNaN: true }) }),
    { minLength: 2, maxLength: 8 },
  );

  test('scrap never makes a good part cheaper, and dearer the later it comes', () => {
    fc.assert(
      fc.property(steps, fc.double({ min: 0.01, max: 0.5, noNaN: true }), (list, scrap) => {
        const good = goodPartCost(list);
        expect(good.cost).toBeGreaterThanOrEqual(good.withoutScrap * (1 - 1e-12));
        const none = list.map(({ cost }) => ({ cost, scrap: 0 }));
        expect(goodPartCost(none).cost).toBe(goodPartCost(none).withoutScrap);
        const worse = list.map((step, at) => (at === 1 ? { ...step, scrap: 0.7 } : step));
        expect(goodPartCost(worse).cost).toBeGreaterThan(good.cost);
        const first = none.map((step, at) => (at === 0 ? { ...step, scrap } : step));
        const last = none.map((step, at) => (at === none.length - 1 ? { ...step, scrap } : step));
        expect(goodPartCost(last).cost).toBeGreaterThan(goodPartCost(first).cost);
      }),
      settings,
    );
  });

  test('a wire never cuts faster than its area rate, and just so where there is always metal', () => {
    const way = fc.array(fc.record({ travelMm: positive, metalMm: positive }), { minLength: 1 });
    fc.assert(
      fc.property(way, positive, positive, positive, (stretches, rate, feed, setup) => {
        const area = stretches.reduce((sum, part) => sum + part.travelMm * part.metalMm, 0);
        const least = setup + area / rate;
        expect(wireCutMinutes(stretches, rate, feed, setup)).toBeGreaterThanOrEqual(
          least * (1 - 1e-12),
        );
        const fast = 2 * Math.max(...stretches.map((part) => rate / part.metalMm));
        near(wireCutMinutes(stretches, rate, fast, setup), least, 1e-9);
      }),
      settings,
    );
  });
});

test('numbers out of range are told', () => {
  expect(() => batchShares(10, [{ quantity: 1, weight: 0 }])).toThrow('no part of the batch');
  expect(() => batchShares(10, [{ quantity: -1, weight: 1 }])).toThrow('must not be negative');
  expect(() => goodPartCost([{ cost: 1, scrap: 1 }])).toThrow('scrap must be from 0 to below 1: 1');
  expect(() => goodPartCost([{ cost: 1, scrap: 0, rework: 2 }])).toThrow('rework must be');
  expect(() => buildFailure(0, 0.1)).toThrow('layers must be a whole number from 1: 0');
  expect(() => buildFailure(10, 1)).toThrow('chance must be');
  expect(() => wireCutMinutes([], 0, 1, 1)).toThrow('rate must be above 0: 0');
  expect(() => wireCutMinutes([], 1, 0, 1)).toThrow('feed must be above 0: 0');
  expect(() => learningFactor(0, 80)).toThrow('quantity must be at least 1: 0');
  expect(() => learningFactor(2, 0)).toThrow('learning rate must be above 0 %: 0');
});
