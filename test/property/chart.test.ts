import {
  assignTolerances,
  type BlueprintDimension,
  type ChartCut,
  type ChartInput,
  type ChartSurface,
  chartText,
  checkChart,
  readChart,
  solveChart,
} from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { normalQuantile } from '../../packages/core/src/numeric/normal.js';
import { blankChart } from '../fixtures/charts.js';

const seed = 20261126;

interface Plan {
  readonly surfaces: number;
  readonly cuts: number;
  readonly picks: readonly number[];
  readonly rule: 'worst-case' | 'statistical';
}

const plan: fc.Arbitrary<Plan> = fc.record({
  surfaces: fc.integer({ min: 2, max: 7 }),
  cuts: fc.integer({ min: 0, max: 10 }),
  picks: fc.array(fc.nat(), { minLength: 80, maxLength: 80 }),
  rule: fc.constantFrom('worst-case' as const, 'statistical' as const),
});

/** A chart with every surface formed from one before it, then cut at random; all ends far apart. */
function chartOf({ surfaces: count, cuts: later, picks, rule }: Plan): ChartInput {
  let at = 0;
  const pick = (below: number): number => (picks[at++ % picks.length] ?? 0) % below;
  const surfaces = Array.from(
    { length: count },
    (_v, index): ChartSurface => ({ id: `S${index}`, faces: pick(2) === 0 ? 'up' : 'down' }),
  );
  const order = surfaces.map(({ id }) => id);
  for (let i = order.length - 1; i > 0; i--) {
    const j = pick(i + 1);
    [order[i], order[j]] = [order[j] ?? '', order[i] ?? ''];
  }
  const tolerance = (): number => (1 + pick(50)) / 1000;
  const cuts: ChartCut[] = order.slice(1).map((surface, index) => ({
    id: `${10 * (index + 1)}`,
    datum: order[pick(index + 1)] ?? '',
    surface,
    toleranceMm: tolerance(),
  }));
  for (let index = 0; index < later; index++)
    cuts.push({
      id: `${10 * (cuts.length + 1)}`,
      datum: order[pick(count)] ?? '',
      surface: order[pick(count)] ?? '',
      toleranceMm: tolerance(),
      minStockMm: pick(50) / 100,
    });
  const blueprint = order.slice(1).map((to, index): BlueprintDimension => {
    const from = order[pick(index + 1)] ?? '';
    const length = 50 * Math.abs(order.length > 0 ? number(to) - number(from) : 0);
    return { id: `B${index}`, from, to, lowerMm: length - 1, upperMm: length + 1 };
  });
  return { rule, surfaces, cuts, blueprint };
}

const number = (id: string): number => Number(id.slice(1));

/**
 * A part made with given working dimensions: coordinates of the surfaces as they are cut. Knows
 * nothing of chains.
 */
function makePart(input: ChartInput, dimensions: readonly number[]) {
  const coordinate = new Map<string, number>([[input.cuts[0]?.datum ?? '', 0]]);
  const stocks = new Map<string, number>();
  const place = (id: string): number => input.surfaces.findIndex((surface) => surface.id === id);
  input.cuts.forEach((cut, index) => {
    const from = coordinate.get(cut.datum) ?? Number.NaN;
    const length = dimensions[index] ?? Number.NaN;
    const up = input.surfaces.find(({ id }) => id === cut.surface)?.faces === 'up';
    const before = coordinate.get(cut.surface);
    const after =
      cut.datum === cut.surface
        ? from + (up ? -length : length)
        : from + (place(cut.surface) > place(cut.datum) ? length : -length);
    coordinate.set(cut.surface, after);
    if (before !== undefined) stocks.set(cut.id, up ? before - after : after - before);
  });
  const blueprint = new Map(
    input.blueprint.map(({ id, from, to }) => [
      id,
      Math.abs((coordinate.get(to) ?? 0) - (coordinate.get(from) ?? 0)),
    ]),
  );
  return { blueprint, stocks };
}

describe('random charts', () => {
  test('means are met and simulated parts stay in the worst-case ranges of resultants and stocks', () => {
    fc.assert(
      fc.property(
        plan,
        fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 40, maxLength: 40 }),
        (given, draws) => {
          const input: ChartInput = { ...chartOf(given), rule: 'worst-case' };
          const result = solveChart(input);
          const mean = makePart(
            input,
            result.cuts.map(({ meanMm }) => meanMm),
          );
          for (const { blueprint, limits } of result.resultants)
            expect(mean.blueprint.get(blueprint)).toBeCloseTo(
              (limits.lowerMm + limits.upperMm) / 2,
              9,
            );
          for (const { cut, worstMm, minMm } of result.stocks)
            expect(mean.stocks.get(cut)).toBeCloseTo(minMm + worstMm, 9);
          for (let round = 0; round < 20; round++) {
            const part = makePart(
              input,
              result.cuts.map(({ meanMm, toleranceMm }, index) => {
                const draw = draws[(index + round) % draws.length] ?? 0;
                // every other part at the corners of the tolerances
                return meanMm + toleranceMm * (round % 2 === 0 ? draw : Math.sign(draw));
              }),
            );
            for (const { blueprint, range } of result.resultants)
              inside(part.blueprint.get(blueprint), range);
            for (const { cut, range, minMm } of result.stocks) {
              inside(part.stocks.get(cut), range);
              expect(part.stocks.get(cut)).toBeGreaterThanOrEqual(minMm - 1e-9);
            }
          }
        },
      ),
      { seed, numRuns: 300 },
    );
  });

  test('both ends of every range are reached by a part', () => {
    fc.assert(
      fc.property(plan, (given) => {
        const input: ChartInput = { ...chartOf(given), rule: 'worst-case' };
        const result = solveChart(input);
        for (const sum of [...result.resultants, ...result.stocks]) {
          const sign = new Map(sum.chain.map((link) => [link.cut, link.sign]));
          for (const side of [1, -1]) {
            const part = makePart(
              input,
              result.cuts.map(
                ({ cut, meanMm, toleranceMm }) =>
                  meanMm + side * (sign.get(cut) ?? 0) * toleranceMm,
              ),
            );
            const value =
              'blueprint' in sum ? part.blueprint.get(sum.blueprint) : part.stocks.get(sum.cut);
            expect(value).toBeCloseTo(side === 1 ? sum.range.upperMm : sum.range.lowerMm, 9);
          }
        }
      }),
      { seed, numRuns: 150 },
    );
  });

  test('statistical variation never exceeds the worst case, and equals it for one link', () => {
    fc.assert(
      fc.property(plan, (given) => {
        for (const sum of solveChart(chartOf(given)).resultants) {
          expect(sum.statisticalMm).toBeLessThanOrEqual(sum.worstMm + 1e-12);
          if (sum.chain.length === 1) expect(sum.statisticalMm).toBeCloseTo(sum.worstMm, 12);
        }
      }),
      { seed, numRuns: 100 },
    );
  });

  test('of 50,000 parts with normal working dimensions the stated shares are in range and in limits', () => {
    const input: ChartInput = { ...blankChart(), rule: 'statistical', coverage: 0.95 };
    const result = solveChart(input);
    let state = seed;
    const uniform = (): number => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return (state + 0.5) / 4294967296;
    };
    const sums = [...result.resultants, ...result.stocks];
    const count = 50_000;
    const inRange = sums.map(() => 0);
    const inLimits = sums.map(() => 0);
    for (let n = 0; n < count; n++) {
      const part = makePart(
        input,
        result.cuts.map(
          ({ meanMm, toleranceMm }) => meanMm + (toleranceMm / 3) * normalQuantile(uniform()),
        ),
      );
      sums.forEach((sum, index) => {
        const value =
          'blueprint' in sum ? part.blueprint.get(sum.blueprint) : part.stocks.get(sum.cut);
        const [low, high] =
          'blueprint' in sum
            ? [sum.limits.lowerMm, sum.limits.upperMm]
            : [sum.minMm, Number.POSITIVE_INFINITY];
        if (value === undefined) throw new Error('no value');
        if (value >= sum.range.lowerMm && value <= sum.range.upperMm)
          inRange[index] = (inRange[index] ?? 0) + 1;
        if (value >= low && value <= high) inLimits[index] = (inLimits[index] ?? 0) + 1;
      });
    }
    const agrees = (hits: number | undefined, share: number): void => {
      const error = Math.sqrt((share * (1 - share)) / count);
      expect(Math.abs((hits ?? 0) / count - share)).toBeLessThan(4 * error + 1e-12);
    };
    sums.forEach((sum, index) => {
      agrees(inRange[index], 0.95);
      agrees(inLimits[index], sum.inLimits);
    });
  });

  test('a solved chart passes its own check, and a shifted working dimension shifts the ranges', () => {
    fc.assert(
      fc.property(plan, fc.nat(), (given, pick) => {
        const input = chartOf(given);
        const solved = solveChart(input);
        const limits = solved.cuts.map(({ cut, lowerMm, upperMm }) => ({ cut, lowerMm, upperMm }));
        const checked = checkChart(input, limits);
        expect(checked.feasible).toBe(solved.feasible);
        solved.resultants.forEach(({ meanMm, range }, index) => {
          expect(checked.resultants[index]?.meanMm).toBeCloseTo(meanMm, 9);
          expect(checked.resultants[index]?.range.lowerMm).toBeCloseTo(range.lowerMm, 9);
        });
        const moved = pick % limits.length;
        const id = limits[moved]?.cut;
        const shifted = checkChart(
          input,
          limits.map((one, index) =>
            index === moved
              ? { ...one, lowerMm: one.lowerMm + 0.25, upperMm: one.upperMm + 0.25 }
              : one,
          ),
        );
        solved.stocks.forEach(({ chain, meanMm }, index) => {
          const sign = chain.find(({ cut }) => cut === id)?.sign ?? 0;
          expect(shifted.stocks[index]?.meanMm).toBeCloseTo(meanMm + 0.25 * sign, 9);
        });
      }),
      { seed, numRuns: 150 },
    );
  });

  test('rounded working dimensions stand on their grid and keep every stock and limit', () => {
    let triangular = 0;
    fc.assert(
      fc.property(plan, fc.constantFrom(0.01, 0.05, 0.1), (given, roundToMm) => {
        const input: ChartInput = { ...chartOf(given), roundToMm };
        const result = solveChart(input);
        for (const { statedMm } of result.cuts) {
          const steps = statedMm / roundToMm;
          expect(Math.abs(steps - Math.round(steps))).toBeLessThan(1e-6);
        }
        if (!inTurn(input, result.stocks, result.resultants)) return;
        triangular++;
        for (const { marginMm } of result.stocks) expect(marginMm).toBeGreaterThanOrEqual(-1e-9);
        for (const { meanMm, limits } of result.resultants)
          expect(Math.abs(meanMm - (limits.lowerMm + limits.upperMm) / 2)).toBeLessThanOrEqual(
            roundToMm / 2 + 1e-9,
          );
      }),
      { seed, numRuns: 200 },
    );
    expect(triangular).toBeGreaterThan(100);
  });

  test('text never exceeds 100 columns and names every cut and every blueprint dimension', () => {
    fc.assert(
      fc.property(plan, fc.boolean(), (given, named) => {
        const chart = chartOf(given);
        const input = named
          ? { ...chart, cuts: chart.cuts.map((cut) => ({ ...cut, operation: 'finish mill top' })) }
          : chart;
        const lines = chartText(input, solveChart(input));
        for (const line of lines) expect(line.length).toBeLessThanOrEqual(100);
        for (const { id } of [...input.cuts, ...input.blueprint])
          expect(lines.some((line) => line.startsWith(`${id} `))).toBe(true);
      }),
      { seed, numRuns: 100 },
    );
  });
});

describe('least-cost working tolerances', () => {
  const costed = plan.filter(({ surfaces }) => surfaces > 2);

  test('the chart holds, and no sampled tolerances that hold are cheaper', () => {
    fc.assert(
      fc.property(
        costed,
        fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 60, maxLength: 60 }),
        (given, draws) => {
          const input = chartOf(given);
          const costs = input.cuts.map(({ id }, index) => ({
            cut: id,
            cost: { scale: 1 + (index % 4), power: 1 + (index % 2) / 2 },
            lower: 0.02,
            upper: 1.5,
          }));
          const found = assignTolerances(input, costs);
          if (!found.feasible) throw new Error('limits of ±1 hold 0.02 on 16 cuts');
          expect(found.chart.resultants.every(({ holds }) => holds)).toBe(true);
          expect(found.allocation.certificate.gap).toBeLessThan(1e-10);
          for (let round = 0; round < 5; round++) {
            const tolerances = costs.map(({ lower, upper }, index) => {
              const share = draws[(index + 7 * round) % draws.length] ?? 0;
              return lower + share ** 3 * (upper - lower);
            });
            const chart = solveChart({
              ...input,
              cuts: input.cuts.map((cut, index) => ({
                ...cut,
                toleranceMm: tolerances[index] ?? 0,
              })),
            });
            if (!chart.resultants.every(({ holds }) => holds)) continue;
            const cost = costs.reduce(
              (sum, { cost: { scale, power } }, index) =>
                sum + scale / (tolerances[index] ?? 1) ** power,
              0,
            );
            expect(cost).toBeGreaterThanOrEqual(found.allocation.cost * (1 - 1e-9));
          }
        },
      ),
      { seed, numRuns: 100 },
    );
  });

  test('a tighter blueprint limit never lowers the cost', () => {
    fc.assert(
      fc.property(costed, fc.nat(), (given, pick) => {
        const input = chartOf(given);
        const costs = input.cuts.map(({ id }) => ({
          cut: id,
          processes: [0.02, 0.1, 0.4, 1].map((tolerance, grade) => ({
            id: `grade ${grade}`,
            cost: 40 - 10 * grade,
            tolerance,
          })),
        }));
        const narrow: ChartInput = {
          ...input,
          blueprint: input.blueprint.map((one, index) =>
            index === pick % input.blueprint.length
              ? { ...one, lowerMm: one.lowerMm + 0.4, upperMm: one.upperMm - 0.4 }
              : one,
          ),
        };
        const before = assignTolerances(input, costs);
        const after = assignTolerances(narrow, costs);
        if (!before.feasible || !after.feasible) throw new Error('the finest grades hold');
        expect(after.allocation.cost).toBeGreaterThanOrEqual(before.allocation.cost);
        expect(after.allocation.status).toBe('optimal');
        expect(after.chart.resultants.every(({ holds }) => holds)).toBe(true);
      }),
      { seed, numRuns: 60 },
    );
  });
});

describe('chart files', () => {
  const file = {
    schemaVersion: 'chart/1',
    units: 'mm',
    rule: 'statistical',
    coverage: 0.99,
    roundTo: 0.01,
    surfaces: [
      { id: 'A', faces: 'down' },
      { id: 'B', name: 'step', faces: 'up' },
      { id: 'C', faces: 'up' },
    ],
    cuts: [
      { id: '10', datum: 'A', surface: 'C', tolerance: 0.3, given: '41 ±0.3' },
      { id: '20', datum: 'C', surface: 'B', sigma: 0.05, cp: 1.2, given: '14.8-15.1' },
      { id: '30', datum: 'A', surface: 'C', tolerance: 0.1, minStock: 0.3, maxStock: '2 mm' },
      {
        id: '40',
        operation: 'mill',
        datum: 'C',
        surface: 'A',
        tolerance: 0.05,
        minStock: 0.3,
        statedAs: 'maximum',
        cost: { fixed: 1, scale: 2, power: 1, lower: 0.01, upper: 0.2 },
      },
      {
        id: '50',
        datum: 'A',
        surface: 'B',
        tolerance: 0.05,
        minStock: 0.3,
        processes: [
          { id: 'a', tolerance: 0.02, price: 3 },
          { id: 'b', cost: { scale: 0.1, power: 1, lower: 0.01, upper: 0.1 } },
        ],
      },
    ],
    blueprint: [
      { id: 'h', from: 'A', to: 'C', size: '40 ±0.2', aim: 'middle' },
      { id: 's', from: 'B', to: 'C', lower: 14.9, upper: 15.1 },
    ],
  };

  test('a good file with any value in any place gives a chart that works, or problems', () => {
    const value = fc.oneof(
      fc.jsonValue({ maxDepth: 2 }),
      fc.constantFrom('', 'A', 'B', 'Z', '10', 0, -1, 1e-9, 1e300, '3 in', '40 H7', 'maximum'),
    );
    let charts = 0;
    fc.assert(
      fc.property(fc.constantFrom(...pathsOf(file)), value, (path, wrong) => {
        const { chart, costs, workingDimensions, problems } = readChart({
          json: JSON.stringify(replaced(file, path, wrong)),
          file: 'chart.json',
        });
        expect(chart === undefined).toBe(problems.length > 0);
        for (const { place, message } of problems) {
          expect(place.file).toBe('chart.json');
          expect(place.line).toBe(1);
          expect(message).not.toBe('');
        }
        if (chart === undefined) return;
        charts++;
        const result = solveChart(chart);
        expect(JSON.stringify(result)).not.toContain('null');
        for (const line of chartText(chart, result)) expect(line.length).toBeLessThanOrEqual(100);
        if (costs !== undefined) expect(assignTolerances(chart, costs)).toHaveProperty('feasible');
        if (workingDimensions !== undefined) checkChart(chart, workingDimensions);
      }),
      { seed, numRuns: 1500 },
    );
    expect(charts).toBeGreaterThan(50);
  });

  test('any text and any JSON gives problems, never an exception', () => {
    const refused = (json: string): void => {
      const { chart, problems } = readChart({ json });
      expect(chart).toBeUndefined();
      expect(problems.length).toBeGreaterThan(0);
    };
    fc.assert(fc.property(fc.string({ unit: 'binary', maxLength: 100 }), refused), { seed });
    fc.assert(fc.property(fc.json({ maxDepth: 4 }), refused), { seed });
  });
});

type Path = readonly (string | number)[];

/** Paths of all values in a document, the document itself left out. */
function pathsOf(value: unknown, path: Path = []): Path[] {
  const here = path.length === 0 ? [] : [path];
  if (typeof value !== 'object' || value === null) return here;
  const steps = Array.isArray(value) ? [...value.keys()] : Object.keys(value);
  return [
    ...here,
    ...steps.flatMap((step) =>
      pathsOf((value as Record<string | number, unknown>)[step], [...path, step]),
    ),
  ];
}

/** A copy with the value at a path replaced. */
function replaced(value: unknown, [step, ...rest]: Path, by: unknown): unknown {
  if (step === undefined) return by;
  const copy = (Array.isArray(value) ? [...value] : { ...(value as object) }) as Record<
    string | number,
    unknown
  >;
  copy[step] = replaced(copy[step], rest, by);
  return copy;
}

function inside(
  value: number | undefined,
  range: { readonly lowerMm: number; readonly upperMm: number },
): void {
  expect(value).toBeGreaterThanOrEqual(range.lowerMm - 1e-9);
  expect(value).toBeLessThanOrEqual(range.upperMm + 1e-9);
}

/** Whether the chains can be worked off one unknown at a time, so that rounding is made good. */
function inTurn(
  input: ChartInput,
  ...sums: readonly (readonly { readonly chain: readonly { readonly cut: string }[] }[])[]
): boolean {
  const open = new Set(input.cuts.map(({ id }) => id));
  const chains = sums.flat().map(({ chain }) => chain.map(({ cut }) => cut));
  for (let found = true; found; ) {
    found = false;
    for (const chain of chains) {
      const left = chain.filter((cut) => open.has(cut));
      if (left.length !== 1) continue;
      open.delete(left[0] ?? '');
      found = true;
    }
  }
  return open.size === 0;
}
