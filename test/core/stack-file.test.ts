import { readFileSync } from 'node:fs';
import { maxStackTextLength, readStack, stackReport, stackSchemaId, stackUp } from '@offplate/core';
import { compileStackFunction } from '@offplate/core/expression';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';

const read = (path: string): string =>
  readFileSync(new URL(`../../${path}`, import.meta.url), 'utf8');
const schema = JSON.parse(read('schema/stack.schema.json')) as { $id: string };
const resultSchema = JSON.parse(read('schema/stack-result.schema.json')) as { $id: string };
const ajv = new Ajv2020({ allErrors: true });

const minimal = (...contributors: readonly unknown[]) => ({
  schemaVersion: 'stack/1',
  contributors,
});
const reading = (file: unknown) => readStack({ json: JSON.stringify(file) });
const problems = (file: unknown): readonly string[] =>
  reading(file).problems.map(({ code, place }) => `${code} ${place.path ?? ''}`);

describe('published schemas', () => {
  test('accept the files here and refuse what the reader refuses', () => {
    expect(schema.$id).toBe(stackSchemaId);
    const accepts = ajv.compile(schema);
    for (const path of [
      'test/fixtures/stacks/shaft-and-housing.json',
      'data/demo/stacks/flap-gap.json',
    ])
      expect([accepts(JSON.parse(read(path))), accepts.errors]).toEqual([true, null]);
    for (const bad of [
      { contributors: [] },
      { ...minimal(), units: 'ft' },
      minimal({ id: 'a b' }),
      minimal({ id: 'a', minus: -0.1 }),
      minimal({ id: 'a', distribution: { kind: 'gauss' } }),
      { ...minimal(), sampling: { seed: -1 } },
      { ...minimal(), extra: 1 },
    ]) {
      expect(accepts(bad)).toBe(false);
      expect(problems(bad).length).toBeGreaterThan(0);
    }
  });

  test('a report is in the published form', () => {
    const { stack, sampling } = readStack({ json: read('data/demo/stacks/flap-gap.json') });
    if (stack === undefined) throw new Error('unreadable');
    const accepts = ajv.compile(resultSchema);
    const document: unknown = JSON.parse(JSON.stringify(stackReport(stack, { sampling })));
    expect([accepts(document), accepts.errors]).toEqual([true, null]);
    expect(accepts({ schema: 'stack-result/1' })).toBe(false);
  });

  test('moments that do not exist are left out, so that a report stays in the published form', () => {
    const report = stackReport({
      contributors: [
        {
          id: 'a',
          nominal: 1,
          distribution: { kind: 'student-t', sigma: 0.1, degreesOfFreedom: 3 },
        },
      ],
    });
    const document: unknown = JSON.parse(JSON.stringify(report));
    const accepts = ajv.compile(resultSchema);
    expect([accepts(document), accepts.errors]).toEqual([true, null]);
    expect(report.moments).not.toHaveProperty('excessKurtosis');
    expect(report.exact).not.toHaveProperty('excessKurtosis');
    expect(report.moments.sigma).toBeCloseTo(0.1, 12);
  });
});

describe('a stack file', () => {
  test('takes sizes in its own units', () => {
    const { stack } = reading({
      ...minimal({ id: 'a', size: '25.4 mm ±0.0254 mm' }, { id: 'b', size: '1.000 ±0.002' }),
      units: 'in',
      requirement: { size: 'max 2.01' },
    });
    expect(stack?.unit).toBe('in');
    expect(stack?.contributors[0]?.nominal).toBeCloseTo(1, 12);
    expect(stack?.contributors[0]?.plus).toBeCloseTo(0.001, 12);
    expect(stack?.contributors[1]?.minus).toBeCloseTo(0.002, 12);
    expect(Object.keys(stack?.requirement ?? {})).toEqual(['upper']);
    expect(stack?.requirement?.upper).toBeCloseTo(2.01, 12);
  });

  test('keeps both deviations of a fit on one side, and a theoretical size exact', () => {
    const { stack } = reading(minimal({ id: 'f', size: '25 f7' }, { id: 't', size: '[25]' }));
    expect(stack?.contributors[0]).toEqual({ id: 'f', nominal: 25, plus: -0.02, minus: 0.041 });
    expect(stack?.contributors[1]).toEqual({ id: 't', nominal: 25, plus: 0, minus: 0 });
  });

  test('a size without limits wants a spread', () => {
    expect(problems(minimal({ id: 'a', size: '25' }))).toEqual([
      'missing-field contributors[0].lower',
    ]);
    const distribution = { kind: 'normal', sigma: 0.01 };
    const { stack } = reading(minimal({ id: 'a', size: '25', distribution }));
    if (stack === undefined) throw new Error('unreadable');
    expect(stackUp(stack).worst.upper).toBeCloseTo(25.03, 12);
  });

  test('correlations by pairs give the matrix', () => {
    const one = (id: string) => ({ id, size: '5 ±0.3' });
    const { stack } = reading({
      ...minimal(one('a'), one('b'), one('c')),
      correlations: [{ a: 'c', b: 'a', value: 0.5 }],
    });
    expect(stack?.correlation).toEqual([
      [1, 0, 0.5],
      [0, 1, 0],
      [0.5, 0, 1],
    ]);
    if (stack === undefined) throw new Error('unreadable');
    // 0.1^2 (3 + 2 * 0.5)
    expect(stackUp(stack).inflatedRss.sigma).toBeCloseTo(0.2, 12);
  });

  test('settings take the place of what the file says', () => {
    const json = JSON.stringify({
      ...minimal({ id: 'a', size: '5 ±0.3' }),
      requirement: { lower: 1 },
      sampling: { samples: 5, seed: 3 },
    });
    const settings = { requirement: { upper: 6 }, samples: 7, function: '2 * a' };
    const { stack, sampling, formula } = readStack({ json, settings });
    expect(stack?.requirement).toEqual({ upper: 6 });
    expect(sampling).toEqual({ samples: 7, seed: 3 });
    expect(formula).toEqual({ kind: 'expression', text: '2 * a' });
  });

  test('coefficients beside a function are warned of', () => {
    const { findings, problems: none } = reading({
      ...minimal({ id: 'a', size: '5 ±0.3', coefficient: 2 }),
      function: 'a',
    });
    expect(none).toEqual([]);
    expect(findings.map(({ id }) => id)).toEqual(['coefficients-unused']);
  });

  const a = { id: 'a', size: '5 ±0.3' };
  test.each<readonly [unknown, readonly string[]]>([
    [minimal({ id: 'a' }), ['missing-field contributors[0]']],
    [minimal({ ...a, nominal: 5 }), ['inconsistent contributors[0]']],
    [minimal({ id: 'a', nominal: 5, tolerance: 1, plus: 1 }), ['inconsistent contributors[0]']],
    [minimal({ id: 'a', nominal: 5, plus: 1 }), ['missing-field contributors[0].minus']],
    [minimal({ id: 'a', lower: 6, upper: 5 }), ['inconsistent contributors[0].upper']],
    [minimal({ id: 'a', size: 'M8' }), ['bad-size contributors[0].size']],
    [minimal({ id: 'a', size: '(25)' }), ['bad-size contributors[0].size']],
    [minimal({ id: 'a', size: 'max 5' }), ['bad-size contributors[0].size']],
    [minimal(a, a), ['duplicate-id contributors[1].id']],
    [minimal(), ['missing-field contributors']],
    [{ ...minimal(a), requirement: { size: '5' } }, ['bad-size requirement.size']],
    [{ ...minimal(a), requirement: { lower: 2, upper: 1 } }, ['inconsistent requirement']],
    [
      { ...minimal(a), correlations: [{ a: 'a', b: 'z', value: 0.5 }] },
      ['unknown-id correlations[0].b'],
    ],
    [
      { ...minimal(a), correlations: [{ a: 'a', b: 'a', value: 0.5 }] },
      ['inconsistent correlations[0]'],
    ],
    [
      minimal({ ...a, distribution: { kind: 'uniform', sigma: 1 } }),
      ['unknown-field contributors[0].distribution.sigma'],
    ],
    [
      minimal({ ...a, distribution: { kind: 'trapezoidal' } }),
      ['out-of-range contributors[0].distribution.topFraction'],
    ],
    [minimal({ ...a, coeficient: 1 }), ['unknown-field contributors[0].coeficient']],
    [[], ['wrong-type ']],
  ])('%j', (file, wanted) => {
    expect(problems(file)).toEqual(wanted);
  });

  test('impossible correlations stand at their list', () => {
    const one = (id: string) => ({ id, size: '5 ±0.3' });
    const pair = (x: string, y: string, value: number) => ({ a: x, b: y, value });
    const { problems: found } = reading({
      ...minimal(one('a'), one('b'), one('c')),
      correlations: [pair('a', 'b', 0.9), pair('b', 'c', 0.9), pair('a', 'c', -0.9)],
    });
    expect(found.map(({ code, place }) => `${code} ${place.path}`)).toEqual([
      'inconsistent correlations',
    ]);
  });

  test('an enormous text is not read', () => {
    const json = ' '.repeat(maxStackTextLength + 1);
    expect(readStack({ json }).problems.map(({ code }) => code)).toEqual(['too-large']);
  });
});

describe('compileStackFunction', () => {
  test('a loop with too few unknowns is refused at the loop', () => {
    const compiled = compileStackFunction({
      kind: 'loop',
      loop: {
        loops: [[{ length: 'a', direction: 0 }]],
        unknowns: [{ name: 'a', start: 1 }],
        result: 'a',
      },
    });
    expect(compiled.ok ? [] : compiled.problems.map(({ place }) => place.path)).toEqual(['loop']);
  });

  test('places inside a loop', () => {
    const compiled = compileStackFunction({
      kind: 'loop',
      loop: { loops: [[{ length: 'a +', direction: 0 }]], unknowns: [], result: 'a' },
    });
    expect(compiled.ok ? [] : compiled.problems.map(({ place }) => place.path)).toEqual([
      'loop.loops[0][0].length',
    ]);
  });
});
