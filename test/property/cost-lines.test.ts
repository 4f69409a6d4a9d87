import { type CostInput, type CostLine, defaultCatalog, type Plan, planJob } from '@offplate/core';
import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { quoteCsv } from '../../packages/cli/src/write/csv/plan-csv.js';
import { quoteText } from '../../packages/cli/src/write/text/plan-cost.js';
import { plainStyle } from '../../packages/cli/src/write/text/style.js';
import { arbitraryRecipe, jobOf } from './arbitrary-job.js';

// Every money line priced again from nothing but its inputs.

const catalog = defaultCatalog();

const currencies = [
  ['JPY', 0],
  ['EUR', 2],
  ['BHD', 3],
] as const;

/** What a unit is in minutes, mm and major units of money. */
function inBaseUnits(unit: string): number {
  if (/^[A-Z]{3}$/.test(unit)) return 1;
  if (/^[A-Z]{3}\/h$/.test(unit)) return 1 / 60;
  if (/^[A-Z]{3}\/(kWh|m3)$/.test(unit)) return 1;
  const factor = {
    '1': 1,
    '%': 0.01,
    parts: 1,
    kWh: 1,
    m3: 1,
    min: 1,
    mm: 1,
    um: 1e-3,
    mm2: 1,
    cm2: 100,
    cm3: 1000,
    'mm2/min': 1,
    'cm2/min': 100,
    'cm3/min': 1000,
    'um/min': 1e-3,
  }[unit];
  if (factor === undefined) throw new Error(`unit ${unit}`);
  return factor;
}

const baseValue = ({ value, unit }: CostInput): number => value * inBaseUnits(unit);

/** Reckons a formula in words: names for numbers, x / + and brackets, from left to right. */
function reckon(formula: string, inputs: readonly CostInput[]): number {
  const learning = /^parts \^ log2\(learning rate\)/.test(formula);
  const named = [...inputs].sort((a, b) => b.name.length - a.name.length);
  const [first, second] = inputs;
  if (learning && first !== undefined && second !== undefined)
    return first.value ** Math.log2(baseValue(second));
  const up = formula.endsWith(', rounded up');
  let text = formula.replace(', rounded up', '');
  named.forEach(({ name }, at) => {
    text = text.replaceAll(name, `#${at}#`);
  });
  const tokens = text.replaceAll(' x ', ' * ').match(/#\d+#|[*/+()]/g) ?? [];
  if (text.replaceAll(/#\d+#|[*/+() x]/g, '') !== '') throw new Error(`cannot reckon ${formula}`);
  let at = 0;
  const atom = (): number => {
    const token = tokens[at++] ?? '';
    if (token !== '(') return baseValue(named[Number(token.slice(1, -1))] as CostInput);
    const inner = sum();
    at += 1;
    return inner;
  };
  const product = (): number => {
    let value = atom();
    while (tokens[at] === '*' || tokens[at] === '/')
      value = tokens[at++] === '*' ? value * atom() : value / atom();
    return value;
  };
  const sum = (): number => {
    let value = product();
    while (tokens[at] === '+') {
      at += 1;
      value += product();
    }
    return value;
  };
  const value = sum();
  return up ? Math.ceil(value - 1e-9) : value;
}

/** The amount in a row of the quote's table: the first number of its form after two blanks. */
function printedMinor(row: string, digits: number): number {
  const form = digits === 0 ? /\s{2,}(\d+)(?:\s{2}|$)/ : /\s{2,}(\d+\.\d+)(?:\s{2}|$)/;
  const amount = form.exec(row)?.[1] ?? '';
  expect(amount.split('.')[1]?.length ?? 0, row).toBe(digits);
  return Number(amount.replace('.', ''));
}

let traced = 0;

/** The numbers under a number, all the way down. Plans print six decimals at most. */
function checkTrace(input: CostInput): void {
  expect(input.source).not.toBe('');
  if (input.from === undefined || input.from.inputs.length === 0) return;
  const wanted = reckon(input.from.formula, input.from.inputs);
  const off = Math.abs(baseValue(input) - wanted);
  expect(off, `${input.name} = ${input.from.formula}`).toBeLessThan(
    1e-4 * Math.abs(wanted) + 1e-6 * inBaseUnits(input.unit),
  );
  traced += 1;
  for (const under of input.from.inputs) checkTrace(under);
}

function checkLine(line: CostLine, { cost }: Plan): void {
  expect(line.rule).toBe(line.inputs.map(({ name }) => name).join(' x '));
  const exact = line.inputs.reduce(
    (value, input) => value * baseValue(input),
    10 ** cost.minorDigits,
  );
  expect(Math.abs(exact - line.amount), line.id).toBeLessThan(0.5 + 1e-6 * Math.abs(exact) + 1e-3);
  for (const input of line.inputs) checkTrace(input);
}

describe('money lines of arbitrary jobs', () => {
  const plans: Plan[] = [];
  const recipe = fc.tuple(
    arbitraryRecipe(),
    fc.constantFrom(...currencies),
    fc.constantFrom(0, 0, 7.5),
    fc.constantFrom(undefined, undefined, 85),
  );
  fc.assert(
    fc.property(recipe, ([base, [currency], contingencyPercent, percent]) => {
      const job = jobOf(base);
      const plan = planJob(
        {
          ...job,
          order: { ...job.order, currency, quantityBreaks: [] },
          policy: {
            ...job.policy,
            contingencyPercent,
            ...(percent === undefined ? {} : { learning: { percent } }),
          },
        },
        catalog,
      );
      if (plan.cost.lines.length > 0) plans.push(plan);
    }),
    { seed: 20270519, numRuns: 40 },
  );

  test('cover enough of what can happen', () => {
    expect(plans.length).toBeGreaterThan(25);
    const kinds = new Set(plans.flatMap(({ cost }) => cost.lines.map(({ kind }) => kind)));
    expect([...kinds].sort()).toEqual([
      'contingency',
      'furnace',
      'inspection',
      'load',
      'lot-charge',
      'margin',
      'programming',
      'run',
      'set-up',
      'unit-charge',
    ]);
    for (const [code, digits] of currencies)
      expect(plans.some(({ cost }) => cost.currency === code && cost.minorDigits === digits)).toBe(
        true,
      );
  });

  test('are whole minor units that add up to the lot', () => {
    for (const { cost, operations } of plans) {
      for (const { amount } of cost.lines) expect(Number.isSafeInteger(amount)).toBe(true);
      expect(cost.lines.reduce((sum, { amount }) => sum + amount, 0)).toBe(cost.perLot);
      for (const { seq, costPerLot } of operations)
        expect(
          cost.lines
            .filter(({ operation }) => operation === seq)
            .reduce((sum, { amount }) => sum + amount, 0),
        ).toBe(costPerLot);
    }
  });

  test('add up to the printed total as they are printed, to the last digit of the currency', () => {
    for (const plan of plans) {
      const rows = parse(quoteCsv(plan), { columns: true }) as Record<string, string>[];
      const minor = (row: Record<string, string> | undefined): number => {
        const [whole = '', digits = ''] = (row?.amount ?? '').split('.');
        expect(digits.length).toBeLessThanOrEqual(plan.cost.minorDigits);
        return Number(`${whole}${digits.padEnd(plan.cost.minorDigits, '0')}`);
      };
      const lines = rows.filter((row) => row.line !== '');
      expect(lines).toHaveLength(plan.cost.lines.length);
      const total = lines.reduce((sum, row) => sum + minor(row), 0);
      expect(total).toBe(minor(rows.find((row) => row.label === 'the lot')));
      const text = quoteText(plan, { ...plainStyle, width: 400 }).split('\n');
      const from = text.findIndex((row) => row.startsWith('line'));
      const table = text.slice(from + 1, from + 2 + lines.length);
      const amounts = table.map((row) => printedMinor(row, plan.cost.minorDigits));
      expect(amounts.slice(0, -1).reduce((sum, amount) => sum + amount, 0)).toBe(amounts.at(-1));
    }
  });

  test('follow from their inputs, all the way down', () => {
    for (const plan of plans) for (const line of plan.cost.lines) checkLine(line, plan);
    expect(traced).toBeGreaterThan(500);
  });

  test('have ids of their own, which name the operation', () => {
    for (const { cost } of plans) {
      expect(new Set(cost.lines.map(({ id }) => id)).size).toBe(cost.lines.length);
      for (const { id, operation } of cost.lines)
        if (operation !== undefined) expect(id.startsWith(`${operation}.`)).toBe(true);
    }
  });

  test('contingency on all lines before it, margin on these and the contingency', () => {
    let both = 0;
    for (const { cost } of plans) {
      const amount = (kind: CostLine['kind']): number =>
        cost.lines.find((line) => line.kind === kind)?.amount ?? 0;
      const [contingency, margin] = [amount('contingency'), amount('margin')];
      const base = cost.perLot - contingency - margin;
      if (contingency !== 0) expect(contingency).toBe(Math.round(base * 0.075));
      if (margin !== 0) expect(margin).toBe(Math.round((base + contingency) * 0.125));
      if (contingency !== 0 && margin !== 0) both += 1;
    }
    expect(both).toBeGreaterThan(2);
  });
});
