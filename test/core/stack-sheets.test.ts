import {
  assignTolerances,
  type ChartInput,
  chartSheet,
  checkChart,
  type DrawingBlock,
  type DrawingMark,
  type Plan,
  planStacksSheet,
  type Sheet,
  type StackInput,
  solveChart,
  stackProbabilities,
  stackReport,
  stackSheet,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { pricedPlan } from '../fixtures/priced-plan.js';

const options = { format: 'A4', issuedOn: '2027-01-04' } as const;

const gap: StackInput = {
  name: 'gap',
  requirement: { lower: 0.8, upper: 1.2 },
  contributors: [
    { id: 'long', nominal: 3, plus: 0.1, minus: 0.1, distribution: { kind: 'uniform' } },
    { id: 'short', nominal: 2, plus: 0.1, minus: 0.1, coefficient: -1 },
  ],
  quantiles: stackProbabilities,
};

function only<T extends Sheet['blocks'][number]['type']>(
  sheet: Sheet,
  type: T,
): Extract<Sheet['blocks'][number], { type: T }>[] {
  return sheet.blocks.filter(
    (block): block is Extract<Sheet['blocks'][number], { type: T }> => block.type === type,
  );
}

function lines({ marks }: DrawingBlock): readonly Extract<DrawingMark, { kind: 'line' }>[] {
  return marks.filter((mark) => mark.kind === 'line');
}

function texts({ marks }: DrawingBlock): readonly string[] {
  return marks.flatMap((mark) => (mark.kind === 'text' ? [mark.text] : []));
}

describe('stack report', () => {
  const report = stackReport(gap, { sampling: { samples: 20_000 } });
  const sheet = stackSheet(report, options);

  test('arrows of the chain run on one scale and the result closes it', () => {
    const [drawing] = only(sheet, 'drawing');
    if (drawing === undefined) throw new Error('no chain');
    const arrows = lines(drawing).filter(({ arrow }) => arrow === 'end');
    const runs = arrows.map(({ points: [from, to] }) => (to?.[0] ?? 0) - (from?.[0] ?? 0));
    expect(runs).toHaveLength(3);
    const [long = 0, short = 0, result = 0] = runs;
    expect(short / long).toBeCloseTo(-2 / 3, 9);
    expect(result / long).toBeCloseTo(1 / 3, 9);
    expect(texts(drawing)).toEqual(['long', '3 ±0.1', 'short', '2 ±0.1', 'result', '1']);
  });

  test('the density is that of the sum: it integrates to one and peaks where it should', () => {
    const [curve] = only(sheet, 'curve');
    const points = curve?.points ?? [];
    let area = 0;
    for (const [index, [x, y]] of points.entries()) {
      const [before, height] = points[index - 1] ?? [x, y];
      area += ((x - before) * (y + height)) / 2;
    }
    expect(area).toBeGreaterThan(0.985);
    expect(area).toBeLessThan(1.005);
    // uniform of half width 0.1 with a normal of sigma 1/30: the middle has (2 Phi(3) - 1) / 0.2
    const middle = points.find(([x]) => Math.abs(x - 1) < 0.004)?.[1];
    expect(middle).toBeCloseTo(0.9973 / 0.2, 1);
    expect(curve?.rules?.map(({ x }) => x)).toEqual([0.8, 1.2]);
    expect(curve?.title).toContain('exact');
  });

  test('methods, shares and verdict are those of the report', () => {
    const [shares] = only(sheet, 'bars');
    // variances 0.2^2 / 12 and (0.1 / 3)^2
    expect(shares?.bars.map(({ label, value }) => [label, value])).toEqual([
      ['long', '75.0'],
      ['short', '25.0'],
    ]);
    const methods = only(sheet, 'table').find(({ title }) => title.startsWith('Range'));
    expect(methods?.rows[0]?.slice(0, 4)).toEqual(['worst case', '0.800', '1.000', '1.200']);
    expect(methods?.rows).toHaveLength(8);
    expect(only(sheet, 'box')[0]?.title).toBe('The requirement holds');
    const tight = stackReport({ ...gap, requirement: { lower: 0.95 } });
    expect(only(stackSheet(tight, options), 'box')[0]?.title).toBe('The requirement does not hold');
  });

  test('a name too long for the drawing is cut there and whole in the table', () => {
    const id = 'distance of the probe seat from the foot, measured over the collar';
    const named = stackSheet(
      stackReport(
        { contributors: [{ id, nominal: 5, plus: 0.1, minus: 0.1 }] },
        { sampling: { samples: 2000 } },
      ),
      options,
    );
    const [label = ''] = only(named, 'drawing').flatMap(texts);
    expect(label.endsWith('…')).toBe(true);
    expect(id.startsWith(label.slice(0, -1))).toBe(true);
    expect(label.length).toBeGreaterThan(20);
    expect(only(named, 'table').flatMap(({ rows }) => rows.flat())).toContain(id);
  });

  test('a long chain goes on in further drawings, without curve when quantiles are few', () => {
    const links = Array.from({ length: 60 }, (_, index) => ({
      id: `c${index}`,
      nominal: 1 + index,
      plus: 0.01,
      minus: 0.01,
    }));
    const long = stackSheet(
      stackReport({ contributors: links }, { sampling: { samples: 5000 } }),
      options,
    );
    expect(only(long, 'drawing')).toHaveLength(3);
    for (const { heightMm } of only(long, 'drawing')) expect(heightMm).toBeLessThan(210);
    expect(only(long, 'curve')).toEqual([]);
    expect(only(long, 'box')).toEqual([]);
  });
});

const chart: ChartInput = {
  title: 'three faces',
  surfaces: [
    { id: 'A', faces: 'down' },
    { id: 'B', faces: 'up' },
    { id: 'C', faces: 'up' },
  ],
  cuts: [
    { id: '10', operation: 'print', datum: 'A', surface: 'C', toleranceMm: 0.3 },
    { id: '20', operation: 'print', datum: 'A', surface: 'B', toleranceMm: 0.3 },
    { id: '50', datum: 'A', surface: 'C', toleranceMm: 0.1, minStockMm: 0.3 },
    { id: '60', datum: 'C', surface: 'A', toleranceMm: 0.05, minStockMm: 0.3 },
  ],
  blueprint: [
    { id: 'H', from: 'A', to: 'C', lowerMm: 39.9, upperMm: 40.1 },
    { id: 'S', from: 'A', to: 'B', lowerMm: 18, upperMm: 22 },
  ],
};

describe('operation chart', () => {
  const result = solveChart(chart);
  const sheet = chartSheet(chart, result, options);
  const [cuts, drawn] = only(sheet, 'drawing');
  if (cuts === undefined || drawn === undefined) throw new Error('no drawing');

  test('an arrow a cut, from datum to surface, heavy where it forms the surface', () => {
    const arrows = lines(cuts).filter(({ arrow }) => arrow === 'end');
    const place = (letter: string): number => {
      const mark = cuts.marks.find((each) => each.kind === 'text' && each.text === letter);
      return mark?.kind === 'text' ? mark.at[0] : Number.NaN;
    };
    const [a, b, c] = ['A', 'B', 'C'].map(place);
    expect(arrows.map(({ points, weight }) => [...points.map(([x]) => x), weight])).toEqual([
      [a, c, 'thick'],
      [a, b, 'thick'],
      [a, c, 'thin'],
      [c, a, 'thin'],
    ]);
  });

  test('stock stands beside its surface, on the side of the air, until it is cut off', () => {
    const strips = cuts.marks.flatMap((mark) => (mark.kind === 'area' ? [mark.points] : []));
    const [ofA, ofC] = [strips[0] ?? [], strips[1] ?? []];
    expect(strips).toHaveLength(2);
    expect((ofA[1]?.[0] ?? 0) - (ofA[0]?.[0] ?? 0)).toBeLessThan(0);
    expect((ofC[1]?.[0] ?? 0) - (ofC[0]?.[0] ?? 0)).toBeGreaterThan(0);
    // A is a datum from the first row on and cut in the fourth, C formed in the first, cut in the third
    const rows = (points: typeof ofA): number =>
      ((points[2]?.[1] ?? 0) - (points[0]?.[1] ?? 0)) / 7;
    expect([rows(ofA), rows(ofC)]).toEqual([3, 2]);
  });

  test('dimensions of the drawing, chains and verdict', () => {
    expect(texts(drawn)).toContain('39.900 to 40.100');
    const chains = only(sheet, 'table').find(({ title }) => title.startsWith('Dimensions'));
    expect(chains?.rows.map((row) => row.slice(0, 2))).toEqual([
      ['H', '60'],
      ['S', '20 - 50 + 60'],
      ['stock of 50', '10 - 50'],
      ['stock of 60', '50 - 60'],
    ]);
    expect(only(sheet, 'box')[0]?.title).toMatch(/^Every dimension/);
  });

  test('a faulty chart names its faults, an impossible assignment its chains', () => {
    const faulty = checkChart(chart, [
      { cut: '10', lowerMm: 40, upperMm: 40.6 },
      { cut: '20', lowerMm: 20, upperMm: 20.6 },
      { cut: '50', lowerMm: 40.3, upperMm: 40.5 },
      { cut: '60', lowerMm: 40.2, upperMm: 40.3 },
    ]);
    const box = only(chartSheet(chart, faulty, options), 'box')[0];
    expect(box?.title).toBe('Does not hold (marked !)');
    expect(box?.items.length).toBe(faulty.faults.length);
    const costs = [
      {
        cut: '60',
        cost: { scale: 1, power: 1 },
        lower: 0.4,
        upper: 0.5,
      } as const,
    ];
    const assigned = assignTolerances(chart, costs);
    expect(assigned.feasible).toBe(false);
    expect(only(chartSheet(chart, assigned, options), 'box')[0]?.title).toMatch(/^No tolerances/);
  });
});

test('tolerances on the route: mean ± 3 sigma on the scale of the limits, least room first', () => {
  const [item] = pricedPlan.inspection;
  const stackOf = (requirement: string, sigma: number, inLimits: number, mean = 10) =>
    ({
      requirement,
      feature: item?.feature ?? '',
      unit: 'mm',
      lower: mean - 0.1,
      upper: mean + 0.1,
      mean,
      sigma,
      worstLower: mean - 0.15,
      worstUpper: mean + 0.15,
      inLimits,
      contributors: ['Turning', 'place'].map((name, index) => ({
        name,
        operation: 40,
        mean: 0,
        sigma,
        sharePercent: index === 0 ? 99.8 : 0.2,
        source: 'test',
        confidence: 'given' as const,
      })),
    }) as unknown as Plan['stacks'][number];
  const stacks = [
    stackOf('easy', 0.01, 1),
    stackOf('tight', 0.03, 0.9991),
    stackOf('zone', 0.02, 1, 0),
  ];
  const sheet = planStacksSheet({ ...pricedPlan, stacks }, options);
  const areas = only(sheet, 'drawing').flatMap(({ marks }) =>
    marks.flatMap((mark) => (mark.kind === 'area' ? [mark] : [])),
  );
  const widthOf = (index: number): number => {
    const [from, to] = areas[index]?.points ?? [];
    return (to?.[0] ?? 0) - (from?.[0] ?? 0);
  };
  // frame and bar of each row; 6 sigma over the width of the limits
  expect(areas).toHaveLength(6);
  const shares = [0, 2, 4].map((frame) => widthOf(frame + 1) / widthOf(frame));
  expect(shares.map((share) => Number(share.toFixed(9)))).toEqual([0.3, 0.9, 0.6]);
  const [who, figures] = only(sheet, 'table');
  expect(who?.rows[0]?.slice(1)).toEqual(['tight', '99.91', '100 Turning (op 40)']);
  expect(figures?.rows).toHaveLength(3);
});
