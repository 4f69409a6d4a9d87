import {
  assignTolerances,
  type ChartInput,
  chartText,
  checkChart,
  checkChartInput,
  InputError,
  type Problem,
  solveChart,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { blankChart, printedShaft, shaftChart } from '../fixtures/charts.js';

const problemsOf = (act: () => unknown): readonly Problem[] => {
  try {
    act();
  } catch (error) {
    if (error instanceof InputError) return error.problems;
    throw error;
  }
  throw new Error('no problem found');
};
const short = (problems: readonly Problem[]): readonly string[] =>
  problems.map(({ code, place }) => `${code} ${place.path}`);

/** The blank chart with one of its parts replaced. */
const changed = (change: Partial<ChartInput>): ChartInput => ({ ...blankChart(), ...change });

describe('inconsistent charts are refused with the place of the fault', () => {
  const { surfaces, cuts, blueprint } = blankChart();

  test.each<[string, Partial<ChartInput>, readonly string[]]>([
    [
      'a surface that is never cut',
      { surfaces: [...surfaces, { id: 'lug', faces: 'up' }] },
      ['inconsistent surfaces[3]', 'inconsistent surfaces[3]'],
    ],
    [
      'a datum that is formed later',
      {
        cuts: [
          { id: '1', datum: 'bottom', surface: 'step', toleranceMm: 0.1 },
          { id: '2', datum: 'top', surface: 'bottom', toleranceMm: 0.1, minStockMm: 0.2 },
          { id: '3', datum: 'bottom', surface: 'top', toleranceMm: 0.1 },
        ],
      },
      // the datum counts as there from then on, so that it is named only once
      ['inconsistent cuts[1].datum', 'missing-field cuts[2].minStockMm'],
    ],
    [
      'a datum that nothing forms',
      {
        surfaces: [...surfaces, { id: 'boss' }],
        cuts: [...cuts, { id: 'W6', datum: 'boss', surface: 'top', toleranceMm: 1, minStockMm: 0 }],
        blueprint: [...blueprint, { id: 'B3', from: 'top', to: 'boss', lowerMm: 1, upperMm: 2 }],
      },
      ['inconsistent cuts[5].datum'],
    ],
    [
      'a cut located from the surface that it forms',
      {
        cuts: [
          { id: '1', datum: 'bottom', surface: 'top', toleranceMm: 0.1 },
          { id: '2', datum: 'step', surface: 'step', toleranceMm: 0.1 },
        ],
      },
      ['inconsistent cuts[1].datum', 'missing-field cuts[1].minStockMm'],
    ],
    [
      'surfaces that no dimension ties together',
      { blueprint: blueprint.slice(0, 1) },
      ['inconsistent surfaces[1]'],
    ],
    [
      'ids used twice',
      { cuts: cuts.map((cut) => ({ ...cut, id: 'W' })).slice(0, 2) },
      ['duplicate-id cuts[1].id'],
    ],
    [
      'two dimensions for the same pair',
      {
        blueprint: [...blueprint, { id: 'B9', from: 'top', to: 'step', lowerMm: 14, upperMm: 16 }],
      },
      ['inconsistent blueprint[2]'],
    ],
    [
      'unknown surfaces',
      {
        cuts: [...cuts, { id: 'W6', datum: 'bottom', surface: 'topp', toleranceMm: 0.1 }],
        blueprint: [...blueprint, { id: 'B3', from: 'stp', to: 'top', lowerMm: 1, upperMm: 2 }],
      },
      ['unknown-id cuts[5].surface', 'unknown-id blueprint[2].from'],
    ],
    [
      'stock where there is none, no stock where there is some',
      {
        cuts: cuts.map(({ minStockMm, ...cut }, index) =>
          index === 0
            ? { ...cut, minStockMm: 1 }
            : index === 4
              ? cut
              : { ...cut, ...(minStockMm === undefined ? {} : { minStockMm }) },
        ),
      },
      ['inconsistent cuts[0].minStockMm', 'missing-field cuts[4].minStockMm'],
    ],
    [
      'a side that is needed and not given',
      { surfaces: surfaces.map(({ id }) => ({ id })) },
      ['missing-field cuts[2]', 'missing-field cuts[3]', 'missing-field cuts[4]'],
    ],
    [
      'numbers out of range',
      {
        coverage: 1,
        roundToMm: 0,
        cuts: cuts.map((cut, index) =>
          index === 2 ? { ...cut, toleranceMm: -1, maxStockMm: 0.1, cp: Number.NaN } : cut,
        ),
        blueprint: blueprint.map((one) => ({ ...one, lowerMm: one.upperMm })),
      },
      [
        'out-of-range coverage',
        'out-of-range roundToMm',
        'out-of-range cuts[2].toleranceMm',
        'out-of-range cuts[2].cp',
        'out-of-range cuts[2].maxStockMm',
        'inconsistent blueprint[0]',
        'inconsistent blueprint[1]',
      ],
    ],
    [
      'a cut without tolerance',
      {
        cuts: cuts.map(({ toleranceMm, ...cut }, index) =>
          index === 1 ? cut : { ...cut, toleranceMm: toleranceMm ?? 1 },
        ),
      },
      ['missing-field cuts[1].toleranceMm'],
    ],
    [
      'nothing at all',
      { surfaces: [], cuts: [], blueprint: [] },
      ['missing-field cuts', 'missing-field blueprint'],
    ],
  ])('%s', (_name, change, expected) => {
    const problems = problemsOf(() => solveChart(changed(change)));
    expect(short(problems)).toEqual(expected);
    expect(problems).toEqual(checkChartInput(changed(change)));
  });

  test('surfaces that the drawing puts in another order than the list', () => {
    const swapped = changed({
      surfaces: [surfaces[0], surfaces[2], surfaces[1]].flatMap((s) => s ?? []),
    });
    // top is listed before step, so B2 puts step 15 above it
    expect(solveChart(swapped).surfaces.map(({ states }) => states.at(-1)?.meanMm)).toEqual([
      0, 40, 55,
    ]);
    const crossed = changed({
      blueprint: [
        { id: 'B1', from: 'bottom', to: 'top', lowerMm: 39.9, upperMm: 40.1 },
        { id: 'B2', from: 'bottom', to: 'step', lowerMm: 54.9, upperMm: 55.1 },
      ],
    });
    const [problem] = problemsOf(() => solveChart(crossed));
    expect(problem?.place.path).toBe('surfaces[2]');
    expect(problem?.message).toBe(
      'the drawing puts the surface 15.000 mm before step, which is listed before it',
    );
  });

  test('the message says which later cut forms the datum', () => {
    const [problem] = problemsOf(() =>
      solveChart(
        changed({
          cuts: [
            { id: '10', datum: 'bottom', surface: 'step', toleranceMm: 0.1 },
            { id: '20', datum: 'top', surface: 'step', toleranceMm: 0.1, minStockMm: 0.2 },
            { id: '30', datum: 'bottom', surface: 'top', toleranceMm: 0.1 },
          ],
        }),
      ),
    );
    expect(problem?.message).toBe('the datum is not there yet: it is formed by cut 30, later');
    expect(problem?.value).toBe('top');
  });

  test('given working dimensions must be complete, known and in order', () => {
    const given = [
      { cut: 'W1', lowerMm: 41, upperMm: 40 },
      { cut: 'W1', lowerMm: 40, upperMm: 41 },
      { cut: 'W7', lowerMm: 1, upperMm: 2 },
    ];
    expect(short(problemsOf(() => checkChart(blankChart(), given)))).toEqual([
      'inconsistent workingDimensions[0]',
      'duplicate-id workingDimensions[1].cut',
      'unknown-id workingDimensions[2].cut',
      ...Array(4).fill('missing-field workingDimensions'),
    ]);
  });
});

describe('an over-dimensioned drawing', () => {
  const loop = (lowerMm: number, upperMm: number): ChartInput =>
    changed({
      blueprint: [
        ...blankChart().blueprint,
        { id: 'B3', from: 'bottom', to: 'step', lowerMm, upperMm },
      ],
    });

  test('agreeing middles change nothing', () => {
    const result = solveChart(loop(24.8, 25.2));
    expect(result.cuts.map(({ meanMm }) => meanMm)).toEqual(
      solveChart(blankChart()).cuts.map(({ meanMm }) => meanMm),
    );
    expect(result.feasible).toBe(true);
  });

  test('middles that do not close are moved by equal shares of the room that is left', () => {
    // B1 = 40 ± 0.05 has no room, B2 = 15 ± 0.1 none either, B3 = 25.05 ± 0.2 has 0.15
    const result = solveChart(loop(24.85, 25.25));
    expect(result.feasible).toBe(true);
    expect(result.resultants.find(({ blueprint }) => blueprint === 'B3')?.meanMm).toBeCloseTo(
      25,
      6,
    );
  });

  test('too little room names the loop', () => {
    const result = solveChart(loop(25.02, 25.32));
    expect(result.feasible).toBe(false);
    expect(result.loops).toEqual([
      { blueprint: expect.arrayContaining(['B1', 'B2', 'B3']), excessMm: expect.closeTo(0.07, 9) },
    ]);
  });

  test('limits that no part can meet are a contradiction of the drawing', () => {
    const [problem] = problemsOf(() => solveChart(loop(26, 26.2)));
    expect(problem?.code).toBe('inconsistent');
    expect(problem?.place.path).toBe('blueprint');
    expect(problem?.message).toContain('by 0.850 mm');
  });
});

describe('what does not hold', () => {
  const tight = changed({
    cuts: blankChart().cuts.map((cut) => (cut.id === 'W4' ? { ...cut, toleranceMm: 0.09 } : cut)),
  });

  test('the binding chain is named with the share of each link', () => {
    const result = solveChart(tight);
    expect(result.feasible).toBe(false);
    expect(result.faults).toHaveLength(2);
    expect(result.faults[0]).toMatchObject({
      kind: 'blueprint',
      id: 'B2',
      side: 'below',
      limitMm: 14.9,
      links: [
        { cut: 'W4', toleranceMm: 0.09, sharePercent: expect.closeTo(64.2857, 4) },
        { cut: 'W3', toleranceMm: 0.05, sharePercent: expect.closeTo(35.7143, 4) },
      ],
    });
    expect(result.faults[0]?.byMm).toBeCloseTo(0.04, 9);
    expect(result.faults[0]?.message).toBe(
      'blueprint dimension B2 comes to 14.860, 0.040 below its least of 14.900; chain W3 - W4',
    );
  });

  test('the same chart holds statistically, with its share of parts in limits', () => {
    const result = solveChart({ ...tight, rule: 'statistical' });
    expect(result.feasible).toBe(false);
    const wider = solveChart({ ...tight, rule: 'statistical', coverage: 0.99 });
    expect(wider.sigmas).toBeCloseTo(2.5758293, 6);
    expect(wider.feasible).toBe(true);
    // sqrt(0.05^2 + 0.09^2) / 3 = 0.03432; 0.1 is 2.914 sigma
    const step = wider.resultants.find(({ blueprint }) => blueprint === 'B2');
    expect(step?.sigmaMm).toBeCloseTo(0.0343188, 6);
    expect(step?.inLimits).toBeCloseTo(0.99643, 4);
    expect(step?.statisticalMm).toBeCloseTo(2.5758293 * 0.0343188, 6);
  });

  test('stock is laid out by the rule: least plus three sigma', () => {
    const result = solveChart({ ...blankChart(), rule: 'statistical' });
    const step = result.stocks.find(({ cut }) => cut === 'W4');
    expect(step?.meanMm).toBeCloseTo(0.3 + 0.351994, 6);
    expect(step?.inLimits).toBeCloseTo(0.99865, 5);
    expect(result.surfaces.find(({ surface }) => surface === 'step')?.stockMm).toBeCloseTo(
      0.651994,
      6,
    );
  });

  test('more stock than a cut can take is a fault', () => {
    const result = solveChart(
      changed({
        cuts: blankChart().cuts.map((cut) => (cut.id === 'W2' ? { ...cut, maxStockMm: 1 } : cut)),
      }),
    );
    expect(result.faults.map(({ id, side, byMm }) => ({ id, side, byMm }))).toEqual([
      { id: 'W2', side: 'above', byMm: expect.closeTo(0.06, 9) },
    ]);
  });
});

describe('spreads', () => {
  test('a process sigma gives the tolerance 3 cp sigma, a tolerance the sigma T / (3 cp)', () => {
    const result = solveChart({
      surfaces: [{ id: 'A' }, { id: 'B' }, { id: 'C' }],
      cuts: [
        { id: '1', datum: 'A', surface: 'B', sigmaMm: 0.01, cp: 1.5 },
        { id: '2', datum: 'B', surface: 'C', toleranceMm: 0.06, cp: 2 },
      ],
      blueprint: [
        { id: 'ab', from: 'A', to: 'B', lowerMm: 9.9, upperMm: 10.1 },
        { id: 'ac', from: 'A', to: 'C', lowerMm: 19.9, upperMm: 20.1 },
      ],
    });
    expect(result.cuts[0]?.toleranceMm).toBeCloseTo(0.045, 12);
    expect(result.resultants[1]?.sigmaMm).toBeCloseTo(Math.hypot(0.01, 0.01), 12);
    expect(result.resultants[1]?.worstMm).toBeCloseTo(0.105, 12);
  });

  test('a depth taken off a surface by itself is its own stock', () => {
    const result = solveChart({
      surfaces: [{ id: 'A' }, { id: 'B', faces: 'up' }],
      cuts: [
        { id: 'mill', datum: 'A', surface: 'B', toleranceMm: 0.05 },
        { id: 'etch', datum: 'B', surface: 'B', toleranceMm: 0.01, minStockMm: 0.02 },
      ],
      blueprint: [{ id: 'h', from: 'A', to: 'B', lowerMm: 9.9, upperMm: 10.1 }],
    });
    expect(result.resultants[0]?.chain).toEqual([
      { cut: 'mill', sign: 1 },
      { cut: 'etch', sign: -1 },
    ]);
    expect(result.cuts.map(({ meanMm }) => meanMm)).toEqual([
      expect.closeTo(10.03, 9),
      expect.closeTo(0.03, 9),
    ]);
  });
});

describe('material that is added', () => {
  const coated = (minStockMm: number, datum = 'B'): ChartInput => ({
    surfaces: [{ id: 'A' }, { id: 'B', faces: 'up' }],
    cuts: [
      { id: 'mill', datum: 'A', surface: 'B', toleranceMm: 0.05 },
      { id: 'coat', datum, surface: 'B', toleranceMm: 0.005, minStockMm },
    ],
    blueprint: [{ id: 'h', from: 'A', to: 'B', lowerMm: 9.9, upperMm: 10.1 }],
  });

  test('a coat of 0.02 ± 0.005 is a stock of -0.025 at least; the surface under it lies lower', () => {
    const result = solveChart(coated(-0.025));
    expect(result.cuts[0]?.meanMm).toBeCloseTo(9.98, 9);
    expect(result.cuts[1]?.meanMm).toBeCloseTo(-0.02, 9);
    expect(result.surfaces[1]?.states.map(({ meanMm }) => meanMm)).toEqual([
      expect.closeTo(9.98, 9),
      expect.closeTo(10, 9),
    ]);
  });

  test('a cut from another surface cannot add material', () => {
    expect(short(problemsOf(() => solveChart(coated(-0.025, 'A'))))).toEqual([
      'out-of-range cuts[1].minStockMm',
    ]);
  });
});

describe('least-cost working tolerances', () => {
  const costs = blankChart().cuts.map(({ id }) => ({
    cut: id,
    cost: { scale: 1, power: 1 },
    lower: 0.01,
    upper: 0.3,
  }));

  test('worst case: W3 is limited by B1 and shares B2 with W4; the blank goes to its bounds', () => {
    const found = assignTolerances(blankChart(), costs);
    if (!found.feasible) throw new Error('infeasible');
    const tolerance = Object.fromEntries(
      found.allocation.tolerances.map((one) => [one.id, one.tolerance]),
    );
    expect(tolerance.W3).toBeCloseTo(0.05, 10);
    expect(tolerance.W4).toBeCloseTo(0.05, 10);
    expect([tolerance.W1, tolerance.W2, tolerance.W5]).toEqual([0.3, 0.3, 0.3]);
    expect(found.allocation.cost).toBeCloseTo(20 + 20 + 10, 9);
    expect(found.chart.feasible).toBe(true);
    expect(found.allocation.chains.map(({ id }) => id)).toEqual(['blueprint B1', 'blueprint B2']);
  });

  test('statistical: sqrt(W3^2 + W4^2) fills B2 where W3 stays at its own limit', () => {
    const found = assignTolerances({ ...blankChart(), rule: 'statistical' }, costs);
    if (!found.feasible) throw new Error('infeasible');
    const tolerance = Object.fromEntries(
      found.allocation.tolerances.map((one) => [one.id, one.tolerance]),
    );
    expect(tolerance.W3).toBeCloseTo(0.05, 10);
    expect(tolerance.W4).toBeCloseTo(Math.sqrt(0.1 ** 2 - 0.05 ** 2), 10);
    const twice = assignTolerances(
      {
        ...blankChart(),
        rule: 'statistical',
        cuts: blankChart().cuts.map((cut) => ({ ...cut, cp: 2 })),
      },
      costs,
    );
    if (!twice.feasible) throw new Error('infeasible');
    expect(twice.allocation.tolerances.find(({ id }) => id === 'W3')?.tolerance).toBeCloseTo(
      0.1,
      10,
    );
  });

  test('most stock limits the blank', () => {
    const input = changed({
      cuts: blankChart().cuts.map((cut) => (cut.id === 'W2' ? { ...cut, maxStockMm: 0.5 } : cut)),
    });
    const found = assignTolerances(input, costs);
    if (!found.feasible) throw new Error('infeasible');
    const stock = found.allocation.chains.find(({ id }) => id === 'stock W2');
    expect(stock).toMatchObject({ limit: 0.1, tight: true });
    expect(found.chart.stocks.find(({ cut }) => cut === 'W2')?.range.upperMm).toBeCloseTo(0.5, 9);
  });

  test('grades of processes: exact, and dearer than the continuous optimum', () => {
    const grades = blankChart().cuts.map(({ id }) => ({
      cut: id,
      processes: [0.02, 0.04, 0.05, 0.08, 0.3].map((tolerance) => ({
        id: `± ${tolerance}`,
        tolerance,
        cost: 1 / tolerance,
      })),
    }));
    const found = assignTolerances(blankChart(), grades);
    if (!found.feasible) throw new Error('infeasible');
    expect(found.allocation.status).toBe('optimal');
    expect(found.allocation.tolerances.map(({ process }) => process)).toEqual([
      '± 0.3',
      '± 0.3',
      '± 0.3',
      '± 0.05',
      '± 0.05',
    ]);
    expect(found.allocation.cost).toBeCloseTo(50, 9);
  });

  test('a cut without a cost keeps its tolerance', () => {
    const found = assignTolerances(
      blankChart(),
      costs.filter(({ cut }) => cut !== 'W3'),
    );
    if (!found.feasible) throw new Error('infeasible');
    expect(found.allocation.tolerances.find(({ id }) => id === 'W3')).toEqual({
      id: 'W3',
      tolerance: 0.05,
      cost: 0,
      at: 'fixed',
    });
  });

  test('capability that cannot hold a dimension: the chain is named with what it lacks', () => {
    const coarse = costs.map((one) => ({ ...one, lower: 0.06 }));
    const found = assignTolerances(blankChart(), coarse);
    if (found.feasible) throw new Error('feasible');
    expect(found.impossible.map(({ id, excess }) => ({ id, excess }))).toEqual([
      { id: 'blueprint B1', excess: expect.closeTo(0.01, 12) },
      { id: 'blueprint B2', excess: expect.closeTo(0.02, 12) },
    ]);
    expect(found.impossible[1]?.contributors).toEqual([
      { id: 'W3', tolerance: 0.06, sharePercent: 50 },
      { id: 'W4', tolerance: 0.06, sharePercent: 50 },
    ]);
  });

  test('problems of costs stand at the cost', () => {
    const bad = [
      { cut: 'W4', cost: { scale: -1, power: 1 }, upper: 1 },
      { cut: 'W1', cost: { scale: 1, power: 1 } },
    ];
    expect(short(problemsOf(() => assignTolerances(blankChart(), bad)))).toEqual([
      'out-of-range costs[0].cost.scale',
      'inconsistent costs[1]',
    ]);
    const unknown = [...costs, { cut: 'W9', cost: { scale: 1, power: 1 } }, ...costs.slice(0, 1)];
    expect(short(problemsOf(() => assignTolerances(blankChart(), unknown)))).toEqual([
      'unknown-id costs[5].cut',
      'duplicate-id costs[6].cut',
    ]);
  });
});

describe('the chart as text', () => {
  test('blank: arrows, stocks, chains', () => {
    const input = blankChart();
    expect(chartText(input, solveChart(input))).toEqual([
      'Operation chart printed blank                                      axis Z, lengths in mm, worst case',
      '',
      'Surfaces  A bottom   B step   C top',
      '',
      'Cut        A          B          C                           working dim.     stock         least',
      'W1         o=====================>                          41.110 ±0.300',
      'W5         |          <==========o                          14.750 ±0.150',
      'W2         o----------+---------->                          40.430 ±0.080     0.680 ±0.380   0.300',
      'W3         <----------+----------o                          40.000 ±0.050     0.430 ±0.130   0.300',
      'W4         o---------->          |                          25.000 ±0.050     0.930 ±0.630   0.300',
      '',
      'Blueprint                                                    resultant           limits',
      'B1         [.....................]                          40.000 ±0.050     39.950 to   40.050',
      'B2                    [..........]                          15.000 ±0.100     14.900 to   15.100',
      '',
      'Chain                                                                  ± worst 3.0 sigma % in limits',
      'B1               = W3                                                     0.050     0.050     99.730',
      'B2               = W3 - W4                                                0.100     0.071     99.998',
      'stock W2         = W1 - W2                                                0.380     0.310     99.988',
      'stock W3         = W2 - W3                                                0.130     0.094     99.998',
      'stock W4         = W1 - W5 - W2 + W3 - W4                                 0.630     0.352    100.000',
      '',
      'Every blueprint dimension and every least stock holds.',
    ]);
  });

  test('faults are marked in their rows and told at the end', () => {
    const input = shaftChart();
    const lines = chartText(input, checkChart(input, printedShaft));
    expect(lines.filter((line) => line.endsWith(' !')).map((line) => line.split(' ')[0])).toEqual([
      'A9',
      'K2',
      'K4',
    ]);
    expect(lines.slice(lines.indexOf('Does not hold (!):'))).toEqual([
      'Does not hold (!):',
      '  blueprint dimension K4 comes to 124.000, 1.400 above its most of 122.600; chain A5 + A8',
      '  blueprint dimension K2 comes to 15.563, 0.163 above its most of 15.400; chain A9 - A12 - A11',
      '  stock of cut A9 comes to 1.120, 0.080 below its least of 1.200; chain A8 - A9',
    ]);
    // dimensions stated by their upper limit
    expect(lines.some((line) => line.includes('47.590 -0.160'))).toBe(true);
  });

  test('with more surfaces than columns the cuts are named by letters', () => {
    const surfaces = Array.from({ length: 30 }, (_v, index) => ({ id: `S${index}` }));
    const input: ChartInput = {
      surfaces,
      cuts: surfaces.slice(1).map(({ id }, index) => ({
        id: `${index + 1}`,
        datum: 'S0',
        surface: id,
        toleranceMm: 0.1,
      })),
      blueprint: surfaces.slice(1).map(({ id }, index) => ({
        id: `B${index}`,
        from: 'S0',
        to: id,
        lowerMm: index + 1,
        upperMm: index + 2,
      })),
    };
    const lines = chartText(input, solveChart(input));
    expect(lines.some((line) => /^28 +A => AC +28\.500 ±0\.100$/.test(line))).toBe(true);
    expect(Math.max(...lines.map((line) => line.length))).toBeLessThanOrEqual(100);
  });
});
