import { type CostLine, explainCost } from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { displayWidth } from '../../packages/cli/src/write/text/width.js';
import { pricedPlan } from '../fixtures/priced-plan.js';
import { runFake } from './fake-io.js';

const job = 'data/demo/probe-bracket';

interface Explanation {
  readonly schema: string;
  readonly currency: string;
  readonly minorDigits: number;
  readonly lines: readonly CostLine[];
}

describe('offplate quote --explain', () => {
  test('prints a line down to its sources, within 100 columns', async () => {
    const { code, stdout, stderr } = await runFake(['quote', job, '--explain', '10.load']);
    expect({ code, stderr }).toEqual({ code: 0, stderr: '' });
    const lines = stdout.split('\n');
    expect(Math.max(...lines.map((line) => displayWidth(line)))).toBeLessThanOrEqual(100);
    expect(lines).toContain('10.load');
    expect(lines).toContain('  EUR 11.00 the lot, 0.46 a part');
    expect(lines).toContain('  = load time x pieces loaded x hourly rate, 60 min to the hour');
    expect(stdout).toMatch(/load time +3 +min +work centre depowder: /);
    expect(stdout).toMatch(/pieces loaded +4 +the plan +computed/);
    expect(stdout).toMatch(/hourly rate +55 +EUR\/h +work centre depowder: .* invented/);
  });

  test('as JSON holds the line of the plan', async () => {
    const quote = JSON.parse((await runFake(['quote', job, '--json'])).stdout) as {
      readonly cost: { readonly lines: readonly CostLine[] };
    };
    for (const line of quote.cost.lines.slice(1, 2)) {
      const { code, stdout } = await runFake(['quote', job, '--explain', line.id, '--json']);
      expect(code).toBe(0);
      const { schema, currency, minorDigits, lines } = JSON.parse(stdout) as Explanation;
      expect({ schema, currency, minorDigits }).toEqual({
        schema: 'cost-explanation/1',
        currency: 'EUR',
        minorDigits: 2,
      });
      expect(lines).toEqual([line]);
    }
  });

  test('with an operation number explains all of its lines and adds them up', async () => {
    const { stdout } = await runFake(['quote', job, '--explain', '10']);
    for (const id of ['10.set-up', '10.load', '10.run']) expect(stdout.split('\n')).toContain(id);
    expect(stdout).toContain('3 lines together: EUR ');
  });

  test('proposes and lists ids in place of a wrong one', async () => {
    const { code, stdout, stderr } = await runFake(['quote', job, '--explain', '10.laod']);
    expect({ code, stdout }).toEqual({ code: 2, stdout: '' });
    expect(stderr).toContain('there is no money line "10.laod"; did you mean 10.load?');
    expect(stderr).toContain('lines of this quote: 10.set-up, 10.load, 10.run, ');
    expect(stderr).toContain('offplate quote --help');
  });

  test('prints no CSV', async () => {
    const { code, stderr } = await runFake(['quote', job, '--explain', '10.load', '--csv']);
    expect(code).toBe(2);
    expect(stderr).toContain('--explain prints text or JSON, no CSV');
  });
});

describe('explainCost', () => {
  const { cost } = pricedPlan;
  const [first] = cost.lines;

  test('finds by id in any case, and by operation', () => {
    expect(first).toBeDefined();
    expect(explainCost(cost, ` ${first?.id.toUpperCase()} `)).toEqual({ lines: [first], near: [] });
    const { lines } = explainCost(cost, '10');
    expect(lines.map(({ id }) => id)).toEqual(['10.set-up', '10.run']);
  });

  test('proposes what is near or holds the text', () => {
    expect(explainCost(cost, '10.setup')).toEqual({ lines: [], near: ['10.set-up'] });
    expect(explainCost(cost, '.run').near.slice(0, 2)).toEqual(['10.run', '20.run']);
    expect(explainCost(cost, 'nothing like it')).toEqual({ lines: [], near: [] });
  });
});
