import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { ChartAssignment, ChartResult, StackReport } from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { printedShaft, shaftChart } from '../fixtures/charts.js';
import { type FakeIoOptions, runFake } from './fake-io.js';

const at = (path: string): string => fileURLToPath(new URL(`../../${path}`, import.meta.url));
const shaftJson = at('test/fixtures/stacks/shaft-and-housing.json');
const shaftCsv = at('test/fixtures/stacks/shaft-and-housing.csv');
const blank = at('test/fixtures/charts/printed-blank.json');

const stack = (argv: readonly string[], options: FakeIoOptions = {}) =>
  runFake(['stack', ...argv], options);
const chart = (argv: readonly string[], options: FakeIoOptions = {}) =>
  runFake(['chart', ...argv], options);
const report = async (
  argv: readonly string[],
  options: FakeIoOptions = {},
): Promise<StackReport> => {
  const { code, stdout, stderr } = await stack([...argv, '--json'], options);
  if (code !== 0) throw new Error(stderr);
  return JSON.parse(stdout) as StackReport;
};

function expectPage(text: string): void {
  for (const line of text.split('\n')) expect(line.length).toBeLessThanOrEqual(100);
  expect(text).not.toMatch(/NaN|undefined|Infinity/);
}

/** Chase, BYU report 99-6, 1999: seven-link shaft and housing (memory, outputs recomputed). */
function expectShaft(result: StackReport): void {
  expect(result.nominal).toBeCloseTo(0.0199, 12);
  expect((result.worst.upper - result.worst.lower) / 2).toBeCloseTo(0.0245, 12);
  expect((result.rss.upper - result.rss.lower) / 2).toBeCloseTo(0.01107926, 8);
  const published = [1.832994, 52.138493, 5.09165, 3.258656, 29.327902, 3.258656, 5.09165];
  result.contributions.forEach(({ sharePercent }, i) => {
    expect(sharePercent).toBeCloseTo(published[i] ?? 0, 5);
  });
  expect(result.requirement?.lower).toBeCloseTo(0.005, 12);
  expect(result.requirement?.upper).toBeCloseTo(0.035, 12);
  expect(result.unit).toBe('in');
  expect(result.verdict).toMatchObject({ by: 'exact', minimum: 0.9973, holds: true });
  // both tails of a normal at 0.0149 and 0.0151 from its mean, by the complementary error function
  expect(1 - (result.verdict?.inLimits ?? 0)).toBeCloseTo(49.0396e-6, 9);
}

describe('stack', () => {
  test('a JSON file in inches, sizes written in four ways', async () => {
    const result = await report([shaftJson]);
    expectShaft(result);
    expect(result.schema).toBe('stack-result/1');
    expect(result.monteCarlo.samples).toBe(200_704);
    expect(result.monteCarlo.sigma.value).toBeCloseTo(0.003693, 4);
  });

  test('a table with decimal commas, the requirement by options', async () => {
    const options = ['--lower', '0.005', '--upper', '0.035', '--units', 'in'];
    const result = await report([shaftCsv, ...options, '--samples', '2000', '--seed', '9']);
    expectShaft(result);
    expect(result.monteCarlo).toMatchObject({ samples: 2048, seed: 9 });
    expect(result.contributors[0]).toMatchObject({ id: 'A', source: 'bought ring' });
  });

  test('JSON and CSV on the standard input', async () => {
    const json = await report(['-'], { stdin: readFileSync(shaftJson) });
    expect(json.nominal).toBeCloseTo(0.0199, 12);
    const csv = await report(['-', '--samples', '1024'], { stdin: 'id,size\na,25 H7\nb,5 ±0.1\n' });
    expect(csv.worst.upper).toBeCloseTo(30.121, 12);
    expect(csv.unit).toBe('mm');
    expect(csv.verdict).toBeUndefined();
  });

  test('the text names every method with what it assumes', async () => {
    const { code, stdout, stderr } = await stack([shaftJson]);
    expect([code, stderr]).toEqual([0, '']);
    expectPage(stdout);
    expect(stdout).toContain('result (in) = -A + B - C + D - E + F - G');
    expect(stdout).toContain('requirement 0.005 to 0.035 in');
    const names = 'worst case|RSS|inflated RSS|mean shift|Cp and k|moments|exact|Monte Carlo';
    for (const name of names.split('|'))
      expect(stdout).toMatch(new RegExp(`^${name} .*\\d\n {6}\\S`, 'm'));
    expect(stdout).toMatch(/^worst case +-0\.0046 +0\.0199 +0\.0444$/m);
    expect(stdout).toMatch(/^B +8 +7\.992 +8\.008 +normal +0\.00267 +1 +52\.1 +32\.7$/m);
    const first = /Tighten this first[\s\S]*?falls in.*\n(\w)/.exec(stdout);
    expect(first?.[1]).toBe('B');
  });

  test('a function takes the place of the sum; a narrow terminal is respected', async () => {
    const stdin = 'id,size\na,30 ±0.1\nb,40 ±0.1\nunused,1 ±0.1\n';
    const argv = ['-', '--function', 'sqrt(a^2 + b^2)', '--upper', '50.2', '--samples', '20000'];
    const result = await report(argv, { stdin });
    expect(result.nominal).toBe(50);
    expect(result.function).toBe('sqrt(a^2 + b^2)');
    expect(result.worst.upper).toBeCloseTo(Math.hypot(30.1, 40.1), 10);
    expect(result.verdict?.by).toBe('monte-carlo');
    expect(result.notes).toContain('unused does not occur in the function');
    const { stdout } = await stack([...argv, '--no-color'], { stdin, columns: 80 });
    expect(stdout).toContain('a function that is not linear: use Monte Carlo');
    expect(Math.max(...stdout.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80);
  });

  test('a closed vector loop', async () => {
    const file = {
      schemaVersion: 'stack/1',
      requirement: { lower: 4.9, upper: 5.1 },
      contributors: [
        { id: 'a', size: '3 ±0.05' },
        { id: 'b', size: '4 ±0.05' },
      ],
      loop: {
        loops: [
          [
            { length: 'a', direction: 0 },
            { length: 'b', direction: '90 * deg' },
            { length: 'c', direction: 'turn' },
          ],
        ],
        unknowns: [
          { name: 'c', start: 4 },
          { name: 'turn', start: 4 },
        ],
        result: 'c',
      },
      sampling: { samples: 10_000, scheme: 'sobol' },
    };
    const result = await report(['-'], { stdin: JSON.stringify(file) });
    expect(result.nominal).toBeCloseTo(5, 10);
    expect(result.worst.upper).toBeCloseTo(Math.hypot(3.05, 4.05), 8);
    expect(result.monteCarlo.scheme).toBe('sobol');
  });

  test('--strict compares with --minimum', async () => {
    expect((await stack([shaftJson, '--strict'])).code).toBe(0);
    const far = await stack([shaftJson, '--strict', '--minimum', '0.99999']);
    expect(far.code).toBe(1);
    expect(far.stdout).toContain('wanted 99.999 %: does not hold');
    expect((await stack([shaftJson, '--minimum', '0.99999'])).code).toBe(0);
    const none = await stack(['-', '--strict'], { stdin: 'id,size\na,5 ±0.1\n' });
    expect(none.code).toBe(2);
    expect(none.stderr).toContain('--strict needs a requirement');
  });

  test.each([
    [['--lower', 'low'], '--lower cannot be "low"'],
    [['--minimum', '2'], '--minimum cannot be "2"; accepted: a number from 0 to 1'],
    [['--lower', '2', '--upper', '1'], '--lower 2 is above --upper 1'],
    [['--samples', '0'], '--samples cannot be "0"'],
  ])('%j is wrong usage', async (options, message) => {
    const { code, stderr } = await stack([shaftJson, ...options]);
    expect(code).toBe(2);
    expect(stderr).toContain(message);
  });

  const damaged: readonly (readonly [string, string, string])[] = [
    ['{ "schemaVersion": ', '<stdin>:1:20', 'a value is missing'],
    [
      '{ "schemaVersion": "stack/1",\n "contributors": [{ "id": "a", "size": "25 H99" }] }',
      '<stdin>:2:40 contributors[0].size',
      '25 H99',
    ],
    [
      '{ "schemaVersion": "stack/1", "contributors": [{ "id": "a", "size": "5 ±0.1" }],\n "function": "a + bb" }',
      '<stdin>:2:14 function',
      'no contributor (found "bb")',
    ],
    [
      '{ "schemaVersion": "stack/1", "contributors": [{ "id": "a", "size": "5 ±0.1" }],\n "function": "a + 2a" }',
      '<stdin>:2:14 function',
      '(character 6)',
    ],
    ['id,size\na,five\n', '<stdin>:2:size', '(found "five")'],
    ['id,nominal,tolerance\na,5,0.1\nb,5,O.1\n', '<stdin>:3:tolerance', '(found "O.1")'],
    ['id,size\na,5 ±0.1\na,6 ±0.1\n', '<stdin>:3:id', 'used twice'],
    ['name,size\na,5 ±0.1\n', '<stdin>:1', 'no column id'],
    ['id,nominal,tolerence\na,5,0.1\n', '<stdin>:1:tolerence', 'did you mean tolerance?'],
    ['id,nominal\na,5\n', '<stdin>:2', 'no limits, and no spread either'],
    ['id,size,distribution\na,5 ±0.1,gauss\n', '<stdin>:2:distribution', '(found "gauss")'],
    ['id,size,distribution,sigma\na,5 ±0.1,uniform,0.1\n', '<stdin>:2:sigma', 'does not belong'],
    ['id,size\n', '<stdin>', 'no contributor'],
    ['', '<stdin>:1', 'the table is empty'],
  ];
  test.each(damaged)('damaged: %s', async (stdin, place, message) => {
    const { code, stdout, stderr } = await stack(['-'], { stdin });
    expect([code, stdout]).toEqual([3, '']);
    expect(stderr).toContain(place);
    expect(stderr).toContain(message);
    expect(stderr).toContain('offplate: 1 problem in the input');
  });

  test('a function on the command line is placed there', async () => {
    const { code, stderr } = await stack([shaftJson, '--function', 'constructor(A)']);
    expect(code).toBe(3);
    expect(stderr).toMatch(/^--function: .*\(character 1\)/m);
  });

  test('a function without a value within its limits', async () => {
    const stdin = 'id,nominal,tolerance\na,0.05,0.1\n';
    const { code, stderr } = await stack(['-', '--function', 'sqrt(a)'], { stdin });
    expect(code).toBe(3);
    expect(stderr).toContain('--function: the function has no value somewhere within the limits');
  });

  test('more rows than a stack may have', async () => {
    const stdin = `id,size\n${Array.from({ length: 1001 }, (_, row) => `c${row},5 ±0.1\n`).join('')}`;
    const { code, stderr } = await stack(['-'], { stdin });
    expect(code).toBe(3);
    expect(stderr).toContain('<stdin>: too many rows (found "1001")');
    expect(stderr).toContain('offplate: 1 problem in the input');
  });

  test('a spare column is warned of', async () => {
    const { code, stderr } = await stack(['-'], { stdin: 'id,size,drawer\na,5 ±0.1,left\n' });
    expect(code).toBe(0);
    expect(stderr).toContain('warning: <stdin>:1: column "drawer" is not used');
  });

  test('a file that is not there', async () => {
    const { code, stderr } = await stack([at('no-such.json')]);
    expect(code).toBe(4);
    expect(stderr).toContain('cannot be read: there is no such file');
  });
});

describe('chart', () => {
  test('the printed blank, derived by the rules of Wade 1967', async () => {
    const { code, stdout } = await chart([blank, '--json']);
    expect(code).toBe(0);
    const { schema, cuts, stocks, feasible } = JSON.parse(stdout) as ChartResult;
    expect([schema, feasible]).toEqual(['chart-result/1', true]);
    const means = Object.fromEntries(cuts.map(({ cut, meanMm }) => [cut, meanMm.toFixed(3)]));
    expect(means).toEqual({
      W1: '41.110',
      W5: '14.750',
      W2: '40.430',
      W3: '40.000',
      W4: '25.000',
    });
    expect(stocks.map(({ worstMm }) => worstMm.toFixed(2))).toEqual(['0.38', '0.13', '0.63']);
  });

  test('as text on the standard input', async () => {
    const { code, stdout, stderr } = await chart(['-'], { stdin: readFileSync(blank) });
    expect([code, stderr]).toEqual([0, '']);
    expectPage(stdout);
    expect(stdout).toContain('Operation chart printed blank');
    expect(stdout).toContain('41.110 ±0.300');
    expect(stdout).toContain('Every blueprint dimension and every least stock holds.');
  });

  /** The published chart of the turned shaft as a file, with its printed working dimensions. */
  function publishedShaft(change: (given: { lowerMm: number; upperMm: number }) => string) {
    const { surfaces, cuts, blueprint } = shaftChart();
    return JSON.stringify({
      schemaVersion: 'chart/1',
      surfaces,
      cuts: cuts.map(({ id, datum, surface, minStockMm }) => {
        const given = printedShaft.find(({ cut }) => cut === id);
        return {
          id,
          datum,
          surface,
          ...(minStockMm === undefined ? {} : { minStock: minStockMm }),
          ...(given === undefined ? {} : { given: change(given) }),
        };
      }),
      blueprint: blueprint.map(({ id, from, to, lowerMm, upperMm }) => ({
        id,
        from,
        to,
        lower: lowerMm,
        upper: upperMm,
      })),
    });
  }

  test('--check finds the faults that the published turned shaft contains', async () => {
    const stdin = publishedShaft(({ lowerMm, upperMm }) => `${lowerMm}-${upperMm}`);
    const { code, stdout } = await chart(['-', '--check', '--json'], { stdin });
    expect(code).toBe(1);
    const { faults } = JSON.parse(stdout) as ChartResult;
    expect(faults.map(({ id }) => id)).toEqual(expect.arrayContaining(['K2', 'K4']));
    const text = await chart(['-', '--check'], { stdin });
    expect(text.code).toBe(1);
    expectPage(text.stdout);
    expect(text.stdout).toMatch(/K4 .*!/);
  });

  test('--check needs every working dimension, and says where one is missing', async () => {
    const { code, stderr } = await chart([blank, '--check']);
    expect(code).toBe(3);
    const lines = stderr.split('\n').filter((line) => line.includes('no working dimension'));
    expect(lines).toHaveLength(5);
    expect(lines[0]).toMatch(/printed-blank\.json:11:5 cuts\[0\]: no working dimension to check/);
    expect(lines[4]).toMatch(/printed-blank\.json:15:5 cuts\[4\]: .*W4/);
  });

  const withCosts = (lower: number): string => {
    const file = JSON.parse(readFileSync(blank, 'utf8')) as {
      cuts: { id: string; cost?: unknown }[];
    };
    for (const cut of file.cuts)
      if (cut.id === 'W3' || cut.id === 'W4') cut.cost = { scale: 1, power: 1, lower, upper: 0.2 };
    return JSON.stringify(file);
  };

  test('with costs the tolerances are assigned', async () => {
    const stdin = withCosts(0.001);
    const { code, stdout } = await chart(['-', '--json'], { stdin });
    expect(code).toBe(0);
    const document = JSON.parse(stdout) as ChartAssignment & { schema: string };
    expect(document.schema).toBe('chart-assignment/1');
    if (!document.feasible) throw new Error('infeasible');
    // W3 within 0.05 and W3 + W4 within 0.1: equal costs share the sum evenly
    expect(document.allocation.cost).toBeCloseTo(40, 6);
    const text = await chart(['-'], { stdin });
    expectPage(text.stdout);
    expect(text.stdout).toContain('Tolerances at least cost');
    expect(text.stdout).toContain('total 40; no choice of tolerances costs less');
  });

  test('costs that no tolerance can meet name the chains', async () => {
    const { code, stdout } = await chart(['-'], { stdin: withCosts(0.06) });
    expect(code).toBe(1);
    expectPage(stdout);
    expect(stdout).toMatch(/^blueprint B1 +0\.050 +0\.060 +W3 ±0\.06$/m);
    expect(stdout).toMatch(/^blueprint B2 +0\.100 +0\.120 +W3 ±0\.06, W4 ±0\.06$/m);
  });

  test('a chart whose tolerances are too wide ends with 1', async () => {
    const stdin = readFileSync(blank, 'utf8').replace('"40 ±0.05"', '"40 ±0.04"');
    const { code, stdout } = await chart(['-'], { stdin });
    expect(code).toBe(1);
    expect(stdout).toMatch(/^B1 .*!$/m);
  });

  test.each([
    ['{ "schemaVersion": "chart/1", }', '<stdin>:1:31', 'a comma before the closing mark'],
    [
      readFileSync(blank, 'utf8').replace('"tolerance": 0.15', '"tolerance": "0.15 furlong"'),
      '<stdin>:12:67 cuts[1].tolerance',
      'furlong',
    ],
    [
      readFileSync(blank, 'utf8').replace(
        '"datum": "top", "surface": "bottom"',
        '"datum": "lid", "surface": "bottom"',
      ),
      '<stdin>:14:28 cuts[3].datum',
      'lid',
    ],
  ])('damaged: %#', async (stdin, place, message) => {
    const { code, stdout, stderr } = await chart(['-'], { stdin });
    expect([code, stdout]).toEqual([3, '']);
    expect(stderr).toContain(place);
    expect(stderr).toContain(message);
  });

  test('problems as JSON', async () => {
    const { code, stderr } = await chart(['-', '--json'], { stdin: '[]' });
    expect(code).toBe(3);
    expect(JSON.parse(stderr)).toMatchObject({ schema: 'problems/1' });
  });
});

describe('demo files', () => {
  test('gap of the flap valve', async () => {
    const result = await report([at('data/demo/stacks/flap-gap.json')]);
    // 12.05 - 6 - 3.8 - 2 in the middle of the limits, ± 0.19 in the worst case
    expect(result.worst.lower).toBeCloseTo(0.06, 12);
    expect(result.worst.upper).toBeCloseTo(0.44, 12);
    expect(result.worst.holds).toBe(true);
    expect(result.contributions[2]?.sharePercent).toBeCloseTo(51.2, 1);
    const { code, stdout } = await stack([at('data/demo/stacks/flap-gap.json')]);
    expect(code).toBe(0);
    expectPage(stdout);
  });

  test('length of the strut', async () => {
    const argv = ['--function', 'hypot(base, height) - strut', '--lower', '-0.6', '--upper', '0.4'];
    const result = await report([at('data/demo/stacks/strut-length.csv'), ...argv]);
    expect(result.nominal).toBeCloseTo(-0.3, 10);
    expect(result.verdict?.holds).toBe(true);
  });

  test('sampler head: its chart, and the one that it was made by', async () => {
    const file = at('data/demo/charts/sampler-head.json');
    const solved = await chart([file]);
    expect(solved.code).toBe(0);
    expectPage(solved.stdout);
    expect(solved.stdout).toContain('Tolerances at least cost');
    const checked = await chart([file, '--check']);
    expect(checked.code).toBe(0);
    expect(checked.stdout).toContain('42.600 ±0.300');
  });
});
