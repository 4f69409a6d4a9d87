import { readFileSync } from 'node:fs';
import {
  type Block,
  heatRequest,
  inspectionSheet,
  leftOut,
  type Plan,
  quoteSheet,
  type RelaxReport,
  type Sheet,
  stockMapSheet,
  type TableBlock,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { axisFromZero, quantityAxis } from '../../packages/core/src/sheets/axis.js';
import { drawingText } from '../../packages/core/src/sheets/drawing-text.js';
import { conflictPlan, pricedPlan } from '../fixtures/priced-plan.js';

const options = { format: 'A4', issuedOn: '2027-01-04', issuedBy: 'planning' } as const;

function only<T extends Block['type']>(
  sheet: Sheet,
  type: T,
): readonly Extract<Block, { type: T }>[] {
  return sheet.blocks.filter((block): block is Extract<Block, { type: T }> => block.type === type);
}

function tableOf(sheet: Sheet, title: RegExp): TableBlock {
  const found = only(sheet, 'table').find((block) => title.test(block.title));
  if (found === undefined) throw new Error(`no table ${title}`);
  return found;
}

function value(sheet: Sheet, label: string): string | undefined {
  return sheet.header.find((field) => field.label === label)?.value;
}

describe('quote', () => {
  const sheet = quoteSheet(pricedPlan, options);
  const minor = (text: string | undefined): number => Math.round(Number(text) * 100);

  test('names part, price, days and issue', () => {
    expect(sheet.identity).toBe('LBP-0417-C');
    expect(value(sheet, 'The lot of 8')).toBe(
      `${(pricedPlan.cost.perLot / 100).toFixed(2)} ${pricedPlan.cost.currency}`,
    );
    expect(value(sheet, 'From start to ready')).toBe('45 working days');
    expect(value(sheet, 'Valid until')).toBe('');
    expect(sheet.footNote).toBe('Quote · order ORD-2291 · issued 2027-01-04');
  });

  test('the printed lines add up to the printed total, across and down', () => {
    const { rows, columns } = tableOf(sheet, /^Lines of the lot/);
    const lot = columns.findIndex(({ title }) => title === 'The lot');
    const total = rows.at(-1) ?? [];
    expect(minor(total[lot])).toBe(pricedPlan.cost.perLot);
    for (let column = 2; column <= lot; column++) {
      const sum = rows.slice(0, -1).reduce((all, row) => all + minor(row[column]), 0);
      expect(sum).toBe(minor(total[column]));
    }
    for (const row of rows) {
      const across = row.slice(2, lot).reduce((all, cell) => all + minor(cell), 0);
      expect(across).toBe(minor(row[lot]));
    }
    expect(rows).toHaveLength(pricedPlan.operations.length + 1);
  });

  test('a margin stands in a row of its own', () => {
    const margin = {
      id: 'm',
      kind: 'margin',
      label: 'margin',
      amount: 12345,
      formula: '5 %',
      rule: 'margin x sum of the lines above',
      inputs: [],
      source: 'policy of the job',
      from: 'constant',
    } as const;
    const { cost } = pricedPlan;
    const perLot = cost.perLot + margin.amount;
    const withMargin = quoteSheet(
      { ...pricedPlan, cost: { ...cost, perLot, lines: [...cost.lines, margin] } },
      options,
    );
    const { rows } = tableOf(withMargin, /^Lines of the lot/);
    expect(rows.at(-2)?.slice(0, 2)).toEqual(['', 'Margin and other']);
    expect(rows.at(-2)?.at(-2)).toBe('123.45');
    expect(minor(rows.at(-1)?.at(-2))).toBe(perLot);
  });

  test('bars show the same amounts, what is paid once first', () => {
    const [cost] = only(sheet, 'bars');
    if (cost === undefined) throw new Error('no bars');
    expect(cost.bars).toHaveLength(pricedPlan.operations.length);
    const [first] = cost.bars;
    const operation = pricedPlan.operations[0];
    expect(first?.segments).toEqual([
      { from: 0, to: (operation?.setupMinutes ?? 0) * 120, tone: 'dark' },
      {
        from: (operation?.setupMinutes ?? 0) * 120,
        to: operation?.costPerLot,
        tone: 'light',
      },
    ]);
  });

  test('days are bars one after the other, queue before work', () => {
    const inHouse = (startsAfterDays: number) => ({ turnaroundDays: 0, startsAfterDays });
    const steps = [
      { operation: 10, queueDays: 0, workDays: 1.25, endsAfterDays: 1.25, ...inHouse(0) },
      { operation: 20, queueDays: 3, workDays: 0.5, endsAfterDays: 4.75, ...inHouse(4.25) },
    ];
    const { schedule } = pricedPlan;
    const [, days] = only(
      quoteSheet({ ...pricedPlan, schedule: { ...schedule, steps } }, options),
      'bars',
    );
    expect(days?.bars.map((bar) => bar.value)).toEqual(['day 1.3', 'day 4.8']);
    expect(days?.bars[1]?.segments).toEqual([
      { from: 1.25, to: 4.25, tone: 'light' },
      { from: 4.25, to: 4.75, tone: 'dark' },
    ]);
  });

  test('quantities that cannot be made stay out of the curve, not out of the table', () => {
    const [curve] = only(sheet, 'curve');
    expect(curve?.points).toEqual([
      [0, 987.65],
      [Math.log2(100), 312.34],
    ]);
    expect(curve?.y.to).toBe(1000);
    expect(curve?.inWords).toBe(
      `Price of a part: 987.65 ${pricedPlan.cost.currency} at 1; 312.34 ${pricedPlan.cost.currency} at 100`,
    );
    const { rows } = tableOf(sheet, /^Planned anew/);
    expect(rows.map((row) => row[0])).toEqual(['1', '100', '5000']);
    expect(rows[2]?.[4]).toBe('cannot be made at this quantity');
  });

  test('questions come from the report, best class of each, worthless ones left out', () => {
    const entry = (requirement: string, to: string, savesPerPart: number, savesDays = 0) => ({
      changes: [{ feature: 'F9', requirement, from: '12 H6', to }],
      savesPerPart,
      savesPerLot: savesPerPart * 8,
      savesDays,
      routeChanges: [],
      question: '',
    });
    const relax: RelaxReport = {
      schema: 'relax/1',
      currency: 'EUR',
      minorDigits: 2,
      base: { perPart: 100000, perLot: 800000, days: 45 },
      single: [
        entry('F9.size', '12 H8', 4200, 1.5),
        entry('F9.size', '12 H7', 4100),
        entry('F9.ra', 'Ra 3.2', 100),
        entry('F9.flatness', 'flatness 0.1', 0, 0.5),
      ],
      together: [entry('all', 'general', 9000)],
      freeToTighten: [],
      tighter: [],
      atTheLimit: [],
    };
    const asked = tableOf(quoteSheet(pricedPlan, options, relax), /planned anew/);
    expect(asked.rows).toEqual([
      ['May we change F9 from 12 H6 to general?', '90.00 EUR', ''],
      ['May we change F9 from 12 H6 to 12 H8?', '42.00 EUR', '1.5'],
      ['May we change F9 from 12 H6 to ⏥ 0.1?', '0.00 EUR', '0.5'],
    ]);
    expect(tableOf(sheet, /planned anew/).rows).toEqual([
      ['F9: ⌀12 H7 in place of ⌀12 H6', `42.10 ${pricedPlan.cost.currency}`, '1.5'],
    ]);
  });

  test('what is left out is what the README says', () => {
    const readme = readFileSync(new URL('../../README.md', import.meta.url), 'utf8');
    const line = readme.split('\n').find((each) => each.startsWith('- What is left out: '));
    expect(line).toBe(`- What is left out: ${leftOut.join(', ')}.`);
    expect(only(sheet, 'list').map(({ items }) => items)).toEqual([leftOut]);
  });

  test('assumptions carry source and confidence, doubtful ones first', () => {
    const { rows } = tableOf(sheet, /rest on memory/);
    expect(rows).toHaveLength(pricedPlan.assumptions.length);
    const marks = rows.map((row) => row[0]);
    expect(marks).toEqual([...marks].sort((a, b) => Number(b === '◆') - Number(a === '◆')));
    for (const assumption of pricedPlan.assumptions)
      expect(rows.some((row) => row[4] === assumption.source && row[1] === assumption.what)).toBe(
        true,
      );
  });

  test('invented rates, lateness and a job that cannot be made are told first', () => {
    const titles = (plan: Plan): readonly string[] =>
      only(quoteSheet(plan, options), 'box').map((box) => box.title);
    expect(titles(pricedPlan)).toEqual(['Made with invented rates', 'Late by 1 working day']);
    expect(titles(conflictPlan)[0]).toBe('No route meets every requirement');
    expect(value(quoteSheet(conflictPlan, options), 'A part')).toBe('');
    const { cost, schedule } = pricedPlan;
    const calm = {
      ...pricedPlan,
      cost: { ...cost, lines: cost.lines.map((line) => ({ ...line, source: 'our rates' })) },
      schedule: { ...schedule, late: false },
    };
    expect(titles(calm)).toEqual([]);
  });
});

describe('inspection sheet', () => {
  const [first, second] = pricedPlan.inspection;
  if (first === undefined || second === undefined) throw new Error('no characteristics');
  const plan: Plan = {
    ...pricedPlan,
    inspection: [
      {
        ...first,
        uncertaintyUm: 5,
        lower: 38,
        upper: 38.039,
        acceptLower: 38.004112,
        acceptUpper: 38.034888,
        unit: 'mm',
        sample: 8,
      },
      { ...second, method: 'other', methodName: 'Another gauge', sample: 2 },
    ],
  };
  const sheet = inspectionSheet(plan, options);

  test('one table a method, with the limits of the drawing before those to accept by', () => {
    const [one, other] = only(sheet, 'table').filter(({ form }) => !form);
    expect(one?.columns.map(({ title }) => title)).toEqual([
      'No.',
      'Feature',
      'Drawing asks',
      'Drawing from',
      'Drawing to',
      'Accept from',
      'Accept to',
      'Parts',
      'Ac / Re',
      'Bad',
      'OK',
    ]);
    expect(one?.rows[0]?.slice(3)).toEqual([
      '38.000',
      '38.039',
      '38.004',
      '38.035',
      'all',
      '0 / 1',
      '',
      '',
    ]);
    expect(one?.title).toBe('1 characteristic, limits in mm, expanded uncertainty 5 µm (k = 2)');
    expect(other?.columns.slice(-3).map(({ title }) => title)).toEqual(['Part 1', 'Part 2', 'OK']);
    expect(only(sheet, 'heading').map(({ text }) => text)).toEqual([
      first.methodName,
      'Another gauge',
      'Samples',
    ]);
  });

  test('every piece of a sample has its box, twelve side by side', () => {
    const lot: Plan = {
      ...plan,
      job: { ...plan.job, quantity: 40 },
      inspection: plan.inspection.map((item, index) => ({ ...item, sample: [26, 5][index] ?? 0 })),
    };
    const forms = only(inspectionSheet(lot, options), 'table').filter(({ form }) => form);
    const boxes = forms.map(({ columns }) => columns.slice(1).map(({ title }) => Number(title)));
    const upTo = (count: number): number[] => Array.from({ length: count }, (_, i) => i + 1);
    expect(boxes).toEqual([upTo(12), upTo(24).slice(12), [25, 26], upTo(5)]);
    expect(forms[0]?.rows.map(([piece]) => piece)).toEqual(['Serial no.', 'No. 1']);
    for (const { columns } of forms)
      for (const { entryWidthMm } of columns.slice(1)) expect(entryWidthMm).toBeGreaterThan(12);
  });

  test('says what a sample finds, and what samples of the standard take', () => {
    const lot: Plan = {
      ...plan,
      job: { ...plan.job, quantity: 150 },
      inspection: [{ ...first, sample: 20 }],
    };
    const made = inspectionSheet(lot, options);
    // P(no bad part in 20 of 150) is 0.1041 with 15 bad parts and 0.0887 with 16 (exact fractions)
    expect(only(made, 'list')[0]?.items).toEqual([
      '20 of 150: finds a lot with 16 or more bad parts (10.7 %) with 90 % probability.',
    ]);
    const others = tableOf(made, /^Other samples/);
    expect(others.rows.map((row) => row.slice(1, 5))).toEqual([
      ['AQL 0.65, letter F', '20', '0', '1'],
      ['AQL 1, letter E', '13', '0', '1'],
      ['AQL 2.5, letter F', '20', '1', '2'],
      ['2.5 % bad found with 90 %', '65', '0', '1'],
      ['5 % bad found with 90 %', '37', '0', '1'],
      ['10 % bad found with 90 %', '21', '0', '1'],
    ]);
    const whole = { ...lot, inspection: [{ ...first, sample: 150 }] };
    expect(only(inspectionSheet(whole, options), 'heading').map(({ text }) => text)).toEqual([
      first.methodName,
    ]);
  });

  test('every characteristic of a plan stands on the sheet once', () => {
    const all = inspectionSheet(pricedPlan, options);
    const tables = only(all, 'table').filter(({ columns }) => columns[0]?.title === 'No.');
    const numbers = tables.flatMap(({ rows }) => rows.map((row) => row[0]));
    expect([...numbers].sort((a, b) => Number(a) - Number(b))).toEqual(
      pricedPlan.inspection.map((item) => String(item.number)),
    );
  });

  test('what no method measures is a notice', () => {
    const warned = inspectionSheet(
      {
        ...plan,
        findings: [
          { id: 'no-method', severity: 'warning', message: 'no method for it', about: 'F3' },
          { id: 'other', severity: 'warning', message: 'something else' },
        ],
      },
      options,
    );
    expect(only(warned, 'box').map(({ items }) => items)).toEqual([['F3: no method for it']]);
  });
});

describe('stock map', () => {
  const sheet = stockMapSheet(pricedPlan, options);

  test('the height off the plate is the sum of its parts, drawn one on the other', () => {
    const [height] = only(sheet, 'bars');
    expect(height?.bars.map((bar) => bar.value)).toEqual(['0.35', '0.10', '1.30', '0.80', '2.55']);
    expect(height?.bars.at(-2)?.segments[0]?.to).toBeCloseTo(2.55, 9);
    expect(height?.bars.at(-1)?.segments).toEqual([{ from: 0, to: 2.55, tone: 'dark' }]);
  });

  test('each face of the plan stands in one of the tables', () => {
    const ids = only(sheet, 'table').flatMap(({ rows }) =>
      rows.map((row) => /^\w+/.exec(row[0] ?? '')?.[0]),
    );
    expect([...ids].sort()).toEqual([...pricedPlan.stock.faces.map((face) => face.feature)].sort());
  });

  test('shares of the stock are added up over the steps by what they are for', () => {
    const [face] = pricedPlan.stock.faces;
    const feature = pricedPlan.features.find((each) => each.id === face?.feature);
    if (face === undefined || feature === undefined) throw new Error('no face');
    const plan: Plan = {
      ...pricedPlan,
      features: [{ ...feature, printedSolid: false }],
      stock: {
        ...pricedPlan.stock,
        faces: [
          {
            ...face,
            finishedMm: 20.0065,
            printedMm: 18.15,
            stockPerSideMm: 0.93,
            build: [
              { what: 'Rough milling: defect layer', mm: 0.34 },
              { what: 'Rough milling: form error', mm: 0.24 },
              { what: 'Finish milling: defect layer', mm: 0.1 },
              { what: 'Finish milling: tolerance', mm: 0.25 },
            ],
            why: 'rough milling, then finish milling; 20.004 mm before anodising',
          },
        ],
      },
    };
    const { columns, rows } = tableOf(stockMapSheet(plan, options), /^Add stock/);
    expect(columns.slice(2, -2).map(({ title }) => title)).toEqual([
      'Finished',
      'In the model',
      'Add per side',
      'Defect layer',
      'Form error',
      'Tolerance',
    ]);
    expect(rows[0]?.slice(3, -2)).toEqual(['18.150', '0.93', '0.44', '0.24', '0.25']);
    expect(rows[0]?.at(-2)).toBe('rough milling, then finish milling');
    expect(only(stockMapSheet(plan, options), 'list')[0]?.items).toEqual([
      `${face.feature}: 20.004 mm before anodising`,
    ]);
  });

  test('a job that cannot be made gives no licence to build', () => {
    expect(only(stockMapSheet(conflictPlan, options), 'box')[0]?.items[0]).toBe(
      'Do not prepare the build from this sheet.',
    );
  });
});

describe('heat cycle', () => {
  test('the tolerance is a band along the holds, none along the ramps', () => {
    const [cycle] = pricedPlan.thermal.cycles;
    if (cycle === undefined) throw new Error('no cycle');
    const plan: Plan = {
      ...pricedPlan,
      thermal: {
        ...pricedPlan.thermal,
        cycles: [
          {
            ...cycle,
            toleranceC: 15,
            totalMinutes: 240,
            curve: [
              [0, 20],
              [60, 800],
              [180, 800],
              [240, 80],
            ],
          },
        ],
      },
    };
    const [curve] = only(heatRequest(plan, options), 'curve');
    expect(curve?.points.at(-1)).toEqual([4, 80]);
    expect(curve?.band).toEqual([
      [0, 20, 20],
      [1, 800, 800],
      [1, 785, 815],
      [3, 785, 815],
      [3, 800, 800],
      [4, 80, 80],
    ]);
  });
});

describe('axes', () => {
  test('steps are 1, 2 or 5 times a power of ten and reach the largest value', () => {
    expect(axisFromZero('EUR', 987.65, 4).ticks.map(({ text }) => text)).toEqual([
      '0',
      '500',
      '1000',
    ]);
    expect(axisFromZero('h', 1.1, 4).ticks.map(({ text }) => text)).toEqual([
      '0',
      '0.5',
      '1',
      '1.5',
    ]);
    expect(axisFromZero('°C', 800, 4).to).toBe(800);
    expect(axisFromZero('x', 0, 4)).toMatchObject({ from: 0, to: 1 });
  });

  test('quantities are set by their logarithm, each once', () => {
    const axis = quantityAxis('parts', [50, 1, 4, 1]);
    expect(axis.ticks.map(({ text }) => text)).toEqual(['1', '4', '50']);
    expect([axis.from, axis.ticks[1]?.at, axis.to]).toEqual([0, 2, Math.log2(50)]);
  });
});

test('plain-keyboard plus-minus is printed as the sign', () => {
  expect(drawingText({ kind: 'size', text: '78 +-0.15' }, 'plane')).toBe('78 ±0.15');
  expect(drawingText({ kind: 'size', text: '12 +/- 0.1' }, 'bore')).toBe('⌀12 ±0.1');
  expect(drawingText({ kind: 'size', text: '9 +0.2/-0' }, 'plane')).toBe('9 +0.2/-0');
});
