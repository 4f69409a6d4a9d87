import { readFileSync } from 'node:fs';
import { assignTolerances, chartSchemaId, checkChart, readChart, solveChart } from '@offplate/core';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';
import { blankChart, printedShaft, shaftChart } from '../fixtures/charts.js';

interface FilePart {
  [field: string]: unknown;
}
interface File extends FilePart {
  surfaces: FilePart[];
  cuts: FilePart[];
  blueprint: FilePart[];
}

const blankFile = (): File => ({
  schemaVersion: 'chart/1',
  title: 'printed blank',
  axis: 'Z',
  surfaces: [
    { id: 'bottom', faces: 'down' },
    { id: 'step', faces: 'up' },
    { id: 'top', faces: 'up' },
  ],
  cuts: [
    { id: 'W1', datum: 'bottom', surface: 'top', tolerance: 0.3 },
    { id: 'W5', datum: 'top', surface: 'step', tolerance: '150 um' },
    { id: 'W2', datum: 'bottom', surface: 'top', tolerance: 0.08, minStock: 0.3 },
    { id: 'W3', datum: 'top', surface: 'bottom', tolerance: 0.05, minStock: '0.3 mm' },
    { id: 'W4', datum: 'bottom', surface: 'step', tolerance: 0.05, minStock: 0.3 },
  ],
  blueprint: [
    { id: 'B1', from: 'bottom', to: 'top', size: '40 ±0.05' },
    { id: 'B2', from: 'step', to: 'top', lower: 14.9, upper: 15.1 },
  ],
});

const places = (file: unknown, name?: string) =>
  readChart({
    json: typeof file === 'string' ? file : JSON.stringify(file, null, 2),
    ...(name === undefined ? {} : { file: name }),
  }).problems.map(({ code, place }) => `${code} ${place.path ?? ''}`);

describe('a chart file', () => {
  test('gives the same chart as the one built by a program', () => {
    const reading = readChart({ json: JSON.stringify(blankFile()) });
    expect(reading.problems).toEqual([]);
    expect(reading.chart).toEqual(blankChart());
    expect(reading.costs).toBeUndefined();
    expect(reading.workingDimensions).toBeUndefined();
  });

  test('in inches gives the same working dimensions and costs', () => {
    const inch = (mm: number): number => mm / 25.4;
    const cost = { scale: 1, power: 2, lower: 0.01, upper: 0.3 };
    const metric = { ...blankFile(), cuts: blankFile().cuts.map((cut) => ({ ...cut, cost })) };
    const imperial = {
      ...blankFile(),
      units: 'in',
      cuts: blankFile().cuts.map((cut) => ({
        ...cut,
        ...(typeof cut.tolerance === 'number' ? { tolerance: inch(cut.tolerance) } : {}),
        ...(typeof cut.minStock === 'number' ? { minStock: inch(cut.minStock) } : {}),
        cost: {
          scale: cost.scale / 25.4 ** 2,
          power: 2,
          lower: inch(cost.lower),
          upper: inch(cost.upper),
        },
      })),
      blueprint: [
        { id: 'B1', from: 'bottom', to: 'top', size: '40 mm ±0.05 mm' },
        { id: 'B2', from: 'step', to: 'top', lower: inch(14.9), upper: inch(15.1) },
      ],
    };
    const [one, two] = [metric, imperial].map((file) => {
      const { chart, costs, problems } = readChart({ json: JSON.stringify(file) });
      if (chart === undefined || costs === undefined) throw new Error(JSON.stringify(problems));
      const found = assignTolerances(chart, costs);
      if (!found.feasible) throw new Error('infeasible');
      return { means: solveChart(chart).cuts.map(({ meanMm }) => meanMm), found };
    });
    two?.means.forEach((mean, index) => {
      expect(mean).toBeCloseTo(one?.means[index] ?? 0, 9);
    });
    expect(two?.found.allocation.cost).toBeCloseTo(one?.found.allocation.cost ?? 0, 6);
  });

  test('carries a chart to be checked; a given size stands for the tolerance too', () => {
    const given = new Map(printedShaft.map((one) => [one.cut, one]));
    const { surfaces, cuts, blueprint } = shaftChart();
    const file = {
      schemaVersion: 'chart/1',
      surfaces,
      cuts: cuts.map(({ id, datum, surface, minStockMm, statedAs }) => ({
        id,
        datum,
        surface,
        statedAs,
        given: `${given.get(id)?.lowerMm}-${given.get(id)?.upperMm}`,
        ...(minStockMm === undefined ? {} : { minStock: minStockMm }),
      })),
      blueprint: blueprint.map(({ id, from, to, lowerMm, upperMm }) => ({
        id,
        from,
        to,
        size: `${lowerMm}-${upperMm}`,
      })),
    };
    const { chart, workingDimensions = [], problems } = readChart({ json: JSON.stringify(file) });
    expect(problems).toEqual([]);
    if (chart === undefined) throw new Error('no chart');
    expect(chart.cuts[7]?.toleranceMm).toBeCloseTo(0.08, 12);
    expect(checkChart(chart, workingDimensions).faults.map(({ id }) => id)).toEqual([
      'K4',
      'K2',
      'A9',
    ]);
  });

  test('carries processes to choose from', () => {
    const file = blankFile();
    file.cuts = file.cuts.map((cut) => ({
      ...cut,
      processes: [
        { id: 'fine', tolerance: 0.02, price: 9 },
        { id: 'any', cost: { fixed: 1, scale: 0.1, power: 1, lower: 0.03, upper: 0.5 } },
      ],
    }));
    const { chart, costs } = readChart({ json: JSON.stringify(file) });
    expect(costs).toHaveLength(5);
    expect(costs?.[0]).toEqual({
      cut: 'W1',
      processes: [
        { id: 'fine', tolerance: 0.02, cost: 9 },
        { id: 'any', cost: { fixed: 1, scale: 0.1, power: 1 }, lower: 0.03, upper: 0.5 },
      ],
    });
    if (chart === undefined || costs === undefined) throw new Error('not read');
    const found = assignTolerances(chart, costs);
    if (!found.feasible) throw new Error('infeasible');
    // 1 + 0.1/0.05 beats 9 on both cuts of B2
    expect(found.allocation.tolerances[3]).toMatchObject({ process: 'any' });
    expect(found.allocation.cost).toBeCloseTo(2 * 3 + 3 * (1 + 0.1 / 0.5), 9);
  });
});

describe('the published schemas', () => {
  const validator = (name: string) => {
    const path = new URL(`../../schema/${name}.schema.json`, import.meta.url);
    const schema = JSON.parse(readFileSync(path, 'utf8')) as Record<string, unknown>;
    return { id: schema.$id, accepts: new Ajv2020({ strictTypes: false }).compile(schema) };
  };

  test('chart/1 accepts the file and refuses what the reader refuses', () => {
    const { id, accepts } = validator('chart');
    expect(id).toBe(chartSchemaId);
    expect(accepts(blankFile())).toBe(true);
    expect(accepts({ ...blankFile(), rule: 'best-case' })).toBe(false);
    expect(accepts({ ...blankFile(), cutz: [] })).toBe(false);
    expect(accepts({ ...blankFile(), blueprint: [{ id: 'B1', from: 'bottom' }] })).toBe(false);
  });

  test('chart-result/1 accepts every result', () => {
    const { accepts } = validator('chart-result');
    const results = [
      solveChart(blankChart()),
      solveChart(shaftChart()),
      checkChart(shaftChart(), printedShaft),
    ];
    for (const result of results)
      expect(accepts(JSON.parse(JSON.stringify(result))), JSON.stringify(accepts.errors)).toBe(
        true,
      );
  });
});

describe('a damaged chart file', () => {
  test.each<[string, unknown, readonly string[]]>([
    ['no JSON', '{ "schemaVersion": ', ['json-syntax schemaVersion']],
    ['another version', { ...blankFile(), schemaVersion: 'chart/2' }, ['not-one-of schemaVersion']],
    ['a list', [], ['wrong-type ']],
    [
      'unknown and missing fields',
      { ...blankFile(), cutz: [], surfaces: undefined },
      ['missing-field surfaces', 'unknown-field cutz'],
    ],
    [
      'wrong values',
      {
        ...blankFile(),
        cuts: [
          ...blankFile().cuts.slice(0, 4),
          { id: 'W4', datum: 'bottom', surface: 'step', tolerance: '5 kg', minStock: -1 },
        ],
        blueprint: [
          { id: 'B1', from: 'bottom', to: 'top', size: '40' },
          { id: 'B2', from: 'step', to: 'top', size: 'M8-6H' },
          { id: 'B3', from: 'step', to: 'top', size: '15 ±' },
          { id: 'B4', from: 'step', to: 'top', lower: 3 },
          { id: 'B5', from: 'step', to: 'top', size: '15 ±1', lower: 3, upper: 4 },
        ],
      },
      [
        'bad-quantity cuts[4].tolerance',
        'out-of-range cuts[4].minStock',
        'bad-size blueprint[0].size',
        'bad-size blueprint[1].size',
        'bad-size blueprint[2].size',
        'missing-field blueprint[3]',
        'inconsistent blueprint[4]',
      ],
    ],
    [
      'half a grade, both kinds of cost',
      {
        ...blankFile(),
        cuts: blankFile().cuts.map((cut, index) =>
          index === 0
            ? { ...cut, processes: [{ id: 'a', price: 3 }, { id: 'b' }] }
            : index === 1
              ? { ...cut, cost: { scale: 1, power: 1 }, processes: [] }
              : cut,
        ),
      },
      [
        'missing-field cuts[0].processes[0]',
        'inconsistent cuts[0].processes[1]',
        'inconsistent cuts[1]',
      ],
    ],
    [
      'costs that cannot be',
      {
        ...blankFile(),
        cuts: blankFile().cuts.map((cut, index) =>
          index === 0
            ? { ...cut, cost: { scale: 1, power: 1 } }
            : index === 1
              ? { ...cut, cost: { scale: 1, power: 1, lower: 1, upper: 0.5 } }
              : index === 2
                ? { ...cut, processes: [] }
                : cut,
        ),
      },
      ['inconsistent cuts[0]', 'inconsistent cuts[1]', 'missing-field cuts[2].processes'],
    ],
    [
      'an inconsistent chart, at the fields of the file',
      {
        ...blankFile(),
        cuts: blankFile().cuts.map((cut, index) =>
          index === 4 ? { ...cut, minStock: undefined, datum: 'lug' } : cut,
        ),
      },
      ['missing-field cuts[4].minStock', 'unknown-id cuts[4].datum'],
    ],
  ])('%s', (_name, file, expected) => {
    expect(places(file)).toEqual(expected);
  });

  test('problems carry file, line and column', () => {
    const file = blankFile();
    const [, second] = file.blueprint;
    if (second !== undefined) second.upper = 14;
    const json = JSON.stringify(file, null, 2);
    const [problem] = readChart({ json, file: 'blank.json' }).problems;
    const lines = json.split('\n');
    expect(problem?.place.file).toBe('blank.json');
    expect(lines[(problem?.place.line ?? 0) - 1]?.trim()).toBe('{');
    expect(lines[problem?.place.line ?? 0]).toContain('"B2"');
    expect(problem?.value).toBe('14.9 to 14');
  });

  test('a text that is too long is refused', () => {
    expect(places(' '.repeat(3_000_000))).toEqual(['too-large ']);
  });
});
