import { parse } from 'csv-parse/sync';
import { describe, expect, test } from 'vitest';
import { csvText } from '../../packages/cli/src/write/csv/csv.js';
import { operationsCsv, quoteCsv, stockCsv } from '../../packages/cli/src/write/csv/plan-csv.js';
import { limitsText } from '../../packages/cli/src/write/text/limits-text.js';
import { amountText, moneyText, percentText } from '../../packages/cli/src/write/text/numbers.js';
import { quoteText } from '../../packages/cli/src/write/text/plan-cost.js';
import { planText, stockText } from '../../packages/cli/src/write/text/plan-text.js';
import { plainStyle, styleFor } from '../../packages/cli/src/write/text/style.js';
import { textTable } from '../../packages/cli/src/write/text/table.js';
import { displayWidth, pad, printable, wrapText } from '../../packages/cli/src/write/text/width.js';
import { conflictPlan, pricedPlan } from '../fixtures/priced-plan.js';
import { expectGolden } from '../golden.js';

const short = { why: false, dimensions: false };
const long = { why: true, dimensions: true };

describe('the texts of the sample plan', () => {
  const texts: readonly (readonly [file: string, text: string])[] = [
    ['plan.txt', planText(pricedPlan, short, plainStyle)],
    ['plan-long.txt', planText(pricedPlan, long, plainStyle)],
    ['plan-conflict.txt', planText(conflictPlan, short, plainStyle)],
    ['stock.txt', stockText(pricedPlan, plainStyle)],
    ['quote.txt', quoteText(pricedPlan, plainStyle)],
    ['operations.csv', operationsCsv(pricedPlan)],
    ['stock.csv', stockCsv(pricedPlan)],
    ['quote.csv', quoteCsv(pricedPlan)],
  ];

  test.each(texts)('%s is as it was', (file, text) => {
    expectGolden(`cli/${file}`, text);
  });

  test.each(texts.filter(([file]) => file.endsWith('.txt')))(
    '%s fits into 100 columns, without blanks at line ends',
    (_file, text) => {
      for (const line of text.split('\n')) {
        expect(displayWidth(line)).toBeLessThanOrEqual(100);
        expect(line).toBe(line.trimEnd());
      }
    },
  );

  test('also into 80 columns', () => {
    const style = { ...plainStyle, width: 80 };
    for (const line of planText(pricedPlan, long, style).split('\n'))
      expect(displayWidth(line)).toBeLessThanOrEqual(80);
  });

  test('no conflict, no word of one; with one, all that helps', () => {
    expect(planText(pricedPlan, short, plainStyle)).not.toContain('Conflicts');
    const text = planText(conflictPlan, short, plainStyle);
    expect(text).toContain('not feasible: 1 conflict, listed below');
    expect(text).toContain('F11: Ra ≤ 0.2 µm\n    best reachable: Ra 1.6 µm by abrasive flow');
    expect(text).toContain('    would help: open the channel to a tool');
  });

  test('values from memory or practice are to be confirmed and come first', () => {
    const text = planText(pricedPlan, short, plainStyle);
    const at = (mark: string): number => text.indexOf(mark);
    expect(at('memory: confirm')).toBeGreaterThan(0);
    expect(at('practice: confirm')).toBeGreaterThan(0);
    const list = text.slice(text.indexOf('Assumptions'));
    expect(list.indexOf('memory: confirm')).toBeLessThan(list.indexOf('read'));
  });

  test('the lines of the quote add up to its sum', () => {
    const rows = parse(quoteCsv(pricedPlan), { columns: true }) as Record<string, string>[];
    const lines = rows.filter(({ kind }) => kind !== 'sum' && kind !== 'quantity-break');
    const cents = lines.reduce((sum, { amount }) => sum + Math.round(Number(amount) * 100), 0);
    const lot = rows.find(({ label }) => label === 'the lot');
    expect(cents).toBe(Math.round(Number(lot?.amount) * 100));
    expect(lines.length).toBe(28);
  });
});

describe('width of texts', () => {
  test.each([
    ['abc', 3],
    ['⌀25 ±0.05 µm ⌖ ⏥ Ⓜ', 18],
    ['e\u0301te\u0301', 3],
    ['板金 検査', 9],
    ['ﾊﾝｶｸ', 4],
    ['👩\u200d🔧', 2],
    ['✔\ufe0f', 2],
    ['👍🏽', 2],
    ['\u200b\u00ad', 0],
    ['각', 2],
  ])('%j takes %d cells', (text, cells) => {
    expect(displayWidth(text)).toBe(cells);
  });

  test('padding counts cells, not characters', () => {
    expect(pad('検査', 6)).toBe('検査  ');
    expect(pad('e\u0301', 3, 'left')).toBe('  e\u0301');
  });

  test('wrapping keeps words, cuts what is longer than a line, keeps marks with their letter', () => {
    expect(wrapText('one two three', 7)).toEqual(['one two', 'three']);
    expect(wrapText('abcdefgh', 3)).toEqual(['abc', 'def', 'gh']);
    expect(wrapText('検査検査', 5)).toEqual(['検査', '検査']);
    expect(wrapText('ae\u0301a', 2)).toEqual(['ae\u0301', 'a']);
    expect(wrapText('', 5)).toEqual(['']);
  });

  test('no text can steer the terminal', () => {
    expect(printable('a\u001b[2Jb\u0007\u202ec\u009b')).toBe('a\ufffd[2Jb\ufffd\ufffdc\ufffd');
    expect(printable('two\r\nlines\tand a tab')).toBe('two lines and a tab');
    const hostile = { ...pricedPlan, job: { ...pricedPlan.job, part: 'x\u001b]0;owned\u0007' } };
    expect(planText(hostile, long, plainStyle)).not.toMatch(/[^\P{Cc}\n]/u);
  });
});

describe('tables', () => {
  test('numbers stand mark under mark', () => {
    const table = textTable(
      [
        { title: ['what'], align: 'left' },
        { title: ['mm'], align: 'decimal' },
      ],
      [
        { cells: ['a', '0.125'] },
        { cells: ['b', '12'] },
        { cells: ['c', 'solid'] },
        { cells: ['d', '-3.5'] },
      ],
      plainStyle,
    );
    expect(table).toEqual([
      'what      mm',
      'a      0.125',
      'b     12',
      'c      solid',
      'd     -3.5',
    ]);
  });

  test('the column that costs the fewest lines gives way', () => {
    const table = textTable(
      [
        { title: ['x'], align: 'left', wraps: true },
        { title: ['y'], align: 'left', wraps: true },
      ],
      [
        { cells: ['many words that could be wrapped', 'short one'] },
        { cells: ['tiny', 'short two'] },
      ],
      { ...plainStyle, width: 30 },
    );
    expect(table).toEqual([
      'x                    y',
      'many words that      short one',
      'could be wrapped',
      'tiny                 short two',
    ]);
  });

  test('notes stand under their row', () => {
    const table = textTable(
      [{ title: ['x'], align: 'left' }],
      [{ cells: ['a'], notes: ['why: because of this'] }, { cells: ['b'] }],
      { ...plainStyle, width: 20 },
    );
    expect(table).toEqual(['x', 'a', '      why: because', '      of this', 'b']);
  });
});

describe('numbers', () => {
  test('money is minor units with the currency before it', () => {
    expect(moneyText(123456, { currency: 'EUR', minorDigits: 2 })).toBe('EUR 1234.56');
    expect(moneyText(123456, { currency: 'JPY', minorDigits: 0 })).toBe('JPY 123456');
    expect(amountText(1, { currency: 'KWD', minorDigits: 3 })).toBe('0.001');
    expect(amountText(-5, { currency: 'EUR', minorDigits: 2 })).toBe('-0.05');
  });

  test('a probability is cut, so that only certainty is 100', () => {
    expect(percentText(1)).toBe('100');
    expect(percentText(0.999999)).toBe('99.99');
    expect(percentText(0.9973)).toBe('99.73');
    expect(percentText(0.5)).toBe('50.00');
  });

  test('limits of a size', () => {
    const base = { origin: 'fit', fit: 'H7', text: '25 H7', diametral: true } as const;
    const size = {
      ...base,
      nominalMm: 25,
      lowerMm: 25,
      upperMm: 25.021,
      upperDeviationUm: 21,
      lowerDeviationUm: 0,
    };
    const text = limitsText({ form: 'size', size, count: 1 }, plainStyle);
    expect(text).toMatch(/^⌀25 H7\n/);
    expect(text).toMatch(/^upper limit {2}25\.021 {3}0\.98508 {11}\+21$/m);
    expect(text).toMatch(/^tolerance {5}0\.021 {3}0\.00083 {18}IT7$/m);
    const shown = (change: object): string =>
      limitsText({ form: 'size', size: { ...size, ...change }, count: 1 }, plainStyle);
    expect(shown({ open: 'below' })).not.toContain('lower limit');
    expect(shown({ origin: 'reference' })).toContain('not to be checked');
  });
});

describe('CSV', () => {
  test('a text that looks like a formula gets an apostrophe, a number none', () => {
    const rows = [
      ['=1+1', '+2', '-3', '@x', '\ta', '\rb'],
      [-1, 2.5, 'x-1', 'a=b', undefined, 'q"uo,te'],
    ];
    expect(csvText(['a', 'b', 'c', 'd', 'e', 'f'], rows)).toBe(
      `a,b,c,d,e,f\n'=1+1,'+2,'-3,'@x,'\ta,"'\rb"\n-1,2.5,x-1,a=b,,"q""uo,te"\n`,
    );
  });

  test('the stock map holds such a text', () => {
    expect(stockCsv(pricedPlan)).toContain("'=drilled from the solid");
  });
});

describe('colour', () => {
  const io = (env: Readonly<Record<string, string>>, isTerminal = true) => ({
    stdout: { isTerminal, columns: 200, write: async () => undefined },
    stderr: { isTerminal, write: async () => undefined },
    readStdin: async () => new Uint8Array(),
    stdinChunks: async function* () {},
    stdinIsTerminal: false,
    env,
    writeFiles: async () => undefined,
  });

  test('only on a terminal that wants it', () => {
    expect(styleFor(io({}), false).bold('x')).toBe('\u001b[1mx\u001b[22m');
    expect(styleFor(io({}), false).width).toBe(100);
    expect(styleFor(io({}, false), false).bold('x')).toBe('x');
    expect(styleFor(io({ NO_COLOR: '1' }), false).bold('x')).toBe('x');
    expect(styleFor(io({ NO_COLOR: '' }), false).bold('x')).toBe('\u001b[1mx\u001b[22m');
    expect(styleFor(io({ TERM: 'dumb' }), false).bold('x')).toBe('x');
    expect(styleFor(io({}), true).bold('x')).toBe('x');
  });
});
