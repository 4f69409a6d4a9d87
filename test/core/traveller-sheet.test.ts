import {
  type Block,
  defaultCatalog,
  type OperationBlock,
  type TableBlock,
  travellerSheet,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { drawingText } from '../../packages/core/src/sheets/drawing-text.js';
import {
  dimensionText,
  duration,
  fixed,
  shortest,
  workingDays,
} from '../../packages/core/src/sheets/print-numbers.js';
import { samplePlan } from '../fixtures/sample-plan.js';

const sheet = travellerSheet(samplePlan, {
  format: 'A4',
  issuedOn: '2027-01-04',
  issuedBy: 'planning',
});

function operation(number: number): OperationBlock {
  const found = sheet.blocks.find(
    (block): block is OperationBlock => block.type === 'operation' && block.number === number,
  );
  if (found === undefined) throw new Error(`operation ${number} is not on the sheet`);
  return found;
}

function table(blocks: readonly Block[], title: RegExp): TableBlock {
  const found = blocks.find(
    (block): block is TableBlock => block.type === 'table' && title.test(block.title),
  );
  if (found === undefined) throw new Error(`no table ${title}`);
  return found;
}

function fieldValue(fields: readonly { label: string; value: string }[], label: string): string {
  const found = fields.find((field) => field.label === label);
  if (found === undefined) throw new Error(`no field ${label}`);
  return found.value;
}

describe('first page', () => {
  test('names part, order, material, dates and issue', () => {
    expect(sheet.identity).toBe('LBP-0417-C');
    expect(sheet.footNote).toBe('Traveller · order ORD-2291 · issued 2027-01-04');
    expect(fieldValue(sheet.header, 'Order')).toBe('ORD-2291');
    expect(fieldValue(sheet.header, 'Quantity')).toBe('8');
    expect(fieldValue(sheet.header, 'Material')).toBe('Ti-6Al-4V ELI (R56407)');
    expect(fieldValue(sheet.header, 'Condition at delivery')).toBe('HIP, machined');
    expect(fieldValue(sheet.header, 'Due')).toBe('2027-03-12');
    expect(fieldValue(sheet.header, 'Issued')).toBe('2027-01-04, planning');
    expect(fieldValue(sheet.header, 'Box')).toBe('58 × 58 × 40.2 mm');
  });

  test('an order given at issue goes before the reference of the job; without either it is left open', () => {
    const named = travellerSheet(samplePlan, { format: 'A4', order: 'W-7' });
    expect(fieldValue(named.header, 'Order')).toBe('W-7');
    const { reference: _, ...job } = samplePlan.job;
    const open = travellerSheet({ ...samplePlan, job }, { format: 'A4' });
    expect(fieldValue(open.header, 'Order')).toBe('');
    expect(fieldValue(open.header, 'Issued')).toBe('');
    expect(open.footNote).toBe('Traveller');
  });

  test('regulated and late parts carry a notice, others none', () => {
    const notices = sheet.blocks.flatMap((block) =>
      block.type === 'box' && block.tone === 'notice' ? [block.title] : [],
    );
    expect(notices).toEqual([
      'Regulated part: approved procedure required',
      'Late by 1 working day',
    ]);
    const calm = travellerSheet(
      {
        ...samplePlan,
        job: { ...samplePlan.job, regulated: false },
        schedule: { ...samplePlan.schedule, late: false, lateDays: 0 },
      },
      { format: 'A4' },
    );
    expect(calm.blocks.some((block) => block.type === 'box')).toBe(false);
  });

  test('route strip and route table show every operation, hold point and visit outside', () => {
    const strip = sheet.blocks.find((block) => block.type === 'route-strip');
    if (strip?.type !== 'route-strip') throw new Error('no route strip');
    expect(strip.stops.map((stop) => stop.operation)).toEqual(
      samplePlan.operations.map((each) => each.seq),
    );
    expect(strip.stops.filter((stop) => stop.holdPoint).map((stop) => stop.operation)).toEqual([
      10, 50, 80, 110, 140,
    ]);
    expect(strip.stops.filter((stop) => stop.outside).map((stop) => stop.operation)).toEqual([
      50, 80, 120, 130,
    ]);
    const route = table(sheet.blocks, /from start to ready/);
    expect(route.title).toBe('14 operations, 45 working days from start to ready');
    expect(route.rows).toHaveLength(14);
    expect(route.rows[1]).toEqual([
      '20',
      'Stress relieve on the plate',
      'Vacuum furnace',
      '2',
      '',
      '',
    ]);
    expect(route.rows[7]?.slice(2, 4)).toEqual(['Abrasive flow bench (outside)', '7']);
  });

  test('the height off the plate is shown as a sum and stock is grouped, solid features last', () => {
    const height = sheet.blocks.find((block) => block.type === 'fields');
    if (height?.type !== 'fields') throw new Error('no height');
    expect(height.fields[0]?.value).toBe(
      '2.55 mm = 0.35 kerf of the wire + 0.10 wander of the wire over 58 mm + 1.30 recast layer and gap to the plate + 0.80 finish stock on F1',
    );
    const stock = sheet.blocks.find(
      (block) => block.type === 'fields' && block.title === 'Stock on the printed part',
    );
    if (stock?.type !== 'fields') throw new Error('no stock');
    expect(stock.fields[0]).toEqual({ label: '0.80 mm per side', value: 'F1' });
    expect(stock.fields.at(-2)).toEqual({
      label: 'none, as printed',
      value: 'F19, F20, F27, F29, F30',
    });
    expect(stock.fields.at(-1)).toEqual({
      label: 'printed closed',
      value: 'F8, F13, F14, F16, F17, F22, F24, F26',
    });
  });

  test('cautions name their operations, and the order of precedence is stated', () => {
    const cautions = table(sheet.blocks, /^Cautions/);
    expect(cautions.rows[1]?.[0]).toBe('10, 50');
    const paragraphs = (of: typeof sheet): string =>
      of.blocks.flatMap((block) => (block.type === 'paragraph' ? [block.text] : [])).join(' ');
    expect(paragraphs(sheet)).toMatch(/come first.*overrides/);
    const own = { id: 'local-rules', text: 'Local codes first.', source: 'x', operations: [] };
    const said = travellerSheet(
      { ...samplePlan, cautions: [own, ...samplePlan.cautions] },
      { format: 'A4' },
    );
    expect(paragraphs(said)).toBe('');
    expect(table(said.blocks, /^Cautions/).rows[0]).toEqual(['all', 'Local codes first.']);
  });
});

describe('operation block', () => {
  test('set-up, steps, working dimensions, recorded values and sign-off of a machining visit', () => {
    const block = operation(100);
    expect(block.workCentre).toBe('Turning centre');
    const setup = block.blocks[0];
    if (setup?.type !== 'fields') throw new Error('no set-up');
    expect(fieldValue(setup.fields, 'Set-up')).toBe('lathe/+Z finish');
    expect(fieldValue(setup.fields, 'Located on')).toBe('F1 (A), soft jaws bored in place');
    expect(fieldValue(setup.fields, 'Run time, lot')).toBe('7 h');
    const steps = table(block.blocks, /^Steps/);
    expect(steps.rows[0]).toEqual([
      '1',
      'F2 Main bore, datum B',
      'Bore, finish',
      '⌀25 H7 Ⓔ; ⟂ 0.03 A; Ra ≤ 0.8 µm',
      '11.0',
    ]);
    const dimensions = table(block.blocks, /^Working dimensions/);
    expect(dimensions.rows[0]).toEqual([
      'F2',
      'finish',
      '⌀ diameter',
      '25.002',
      '25.011',
      '25.019',
      'none',
      '',
      '',
    ]);
    expect(dimensions.rows[4]?.[6]).toBe('0.015');
    expect(dimensions.rows.at(-1)).toEqual([
      'F2',
      'finish',
      'Ra, µm',
      '',
      '0.56',
      '0.8',
      '',
      '',
      '',
    ]);
    expect(dimensions.columns.slice(-2).map((column) => column.title)).toEqual([
      'Smallest found',
      'Largest found',
    ]);
    expect(block.blocks.at(-1)?.type).toBe('sign-off');
  });

  test('one box for a single part, one each for two', () => {
    const titles = (quantity: number): readonly string[] => {
      const few = travellerSheet(
        { ...samplePlan, job: { ...samplePlan.job, quantity } },
        { format: 'A4' },
      );
      const block = few.blocks.find((each) => each.type === 'operation' && each.number === 100);
      if (block?.type !== 'operation') throw new Error('no operation');
      return table(block.blocks, /^Working dimensions/).columns.flatMap((column) =>
        column.entryWidthMm === undefined ? [] : [column.title],
      );
    };
    expect(titles(1)).toEqual(['Found']);
    expect(titles(2)).toEqual(['Part 1', 'Part 2']);
  });

  test('a reason names the requirement that asks for it', () => {
    const list = operation(110).blocks.find((block) => block.type === 'list');
    if (list?.type !== 'list') throw new Error('no reasons');
    expect(list.items).toEqual([
      'Turning holds grade 7 at its best; honing holds grade 5 and the roughness (asked by F9: ⌀12 H6)',
    ]);
  });

  test('requirements that are their own reason stand in one line, by feature', () => {
    const list = operation(100).blocks.find((block) => block.type === 'list');
    if (list?.type !== 'list') throw new Error('no reasons');
    expect(list.items).toEqual([
      'Bore and seat in one clamping keep the run-out (asked by F25: ↗ 0.01 B)',
      'Asked by F2 (⌀25 H7 Ⓔ, ⟂ 0.03 A); F5 (⌀58 h8)',
    ]);
  });

  test('doubtful parameters are marked, and the thermal cycle fills what is not given', () => {
    const block = operation(50);
    const parameters = block.blocks.find(
      (each) => each.type === 'fields' && each.title === 'Parameters',
    );
    if (parameters?.type !== 'fields') throw new Error('no parameters');
    expect(fieldValue(parameters.fields, 'Coupons')).toMatch(/^2 tensile/);
    expect(fieldValue(parameters.fields, 'Set point')).toBe('920 ±15 °C [from memory: confirm]');
    expect(fieldValue(parameters.fields, 'Pressure')).toBe('100 MPa');
    expect(fieldValue(parameters.fields, 'Soak')).toBe('2 h 30 min');
    const relief = operation(20).blocks.flatMap((each) =>
      each.type === 'fields' ? each.fields : [],
    );
    const labels = relief.map((field) => field.label);
    expect(new Set(labels).size).toBe(labels.length);
    expect(fieldValue(relief, 'Soak')).toBe('2 h, two load thermocouples');
    expect(fieldValue(relief, 'Parts')).toBe('on the build plate');
  });

  test('cautions are told in words where the work is done', () => {
    const box = operation(120).blocks.find((block) => block.type === 'box');
    if (box?.type !== 'box') throw new Error('no caution');
    expect(box.tone).toBe('caution');
    expect(box.items[0]).toMatch(/^Hydrofluoric acid burns/);
  });

  test('a hold point has its own release before the sign-off', () => {
    const kinds = operation(80).blocks.slice(-3);
    expect(kinds.map((block) => block.type)).toEqual(['box', 'sign-off', 'sign-off']);
    expect(kinds[0]?.type === 'box' && kinds[0].tone).toBe('hold');
    expect(operation(90).blocks.filter((block) => block.type === 'sign-off')).toHaveLength(1);
  });

  test('each characteristic is inspected once: NDT at its own visit, the rest by method at the last', () => {
    const penetrant = table(operation(130).blocks, /^Characteristics/);
    expect(penetrant.rows.map((row) => row[0])).toEqual(['15']);
    const final = table(operation(140).blocks, /^Measure and record/);
    const counts = final.rows.map((row) => Number(row[1]));
    expect(counts.reduce((sum, count) => sum + count, 0)).toBe(14);
    const numbers = final.rows.flatMap((row) =>
      (row[2] ?? '').split(', ').flatMap((text) => {
        const [from = 0, to = from] = text.split(' to ').map(Number);
        return Array.from({ length: to - from + 1 }, (_, index) => from + index);
      }),
    );
    expect(numbers.sort((a, b) => a - b)).toEqual(Array.from({ length: 14 }, (_, i) => i + 1));
  });
});

describe('tools to measure with', () => {
  const { methods } = defaultCatalog();
  const tools = (number: number): readonly (readonly [string, string])[] => {
    // without a final inspection every tool comes from the catalogue
    const plan = { ...samplePlan, inspection: [] };
    const made = travellerSheet(plan, { format: 'A4', methods });
    const block = made.blocks.find((each) => each.type === 'operation' && each.number === number);
    if (block?.type !== 'operation') throw new Error('no operation');
    return table(block.blocks, /^Working dimensions/).rows.map(
      (row) => [`${row[0]} ${row[2]} ${row[3]} to ${row[5]}`, row[7] ?? ''] as const,
    );
  };

  test('certain enough for the width of the limits, and no gauge of another size', () => {
    for (const [dimension, tool] of tools(100)) {
      expect(tool, dimension).not.toBe('');
      const named = methods.filter(({ name }) => name === tool || name.startsWith(`${tool},`));
      expect(named.length, tool).toBeGreaterThan(0);
      if (dimension.includes('Ra')) continue;
      expect(named.map(({ id }) => id)).not.toContain('limit-gauge');
      const [, lower, upper] = /([\d.]+) to ([\d.]+)$/.exec(dimension) ?? [];
      const widthUm = 1000 * (Number(upper) - Number(lower));
      const leastUm = Math.min(...named.map(({ uncertaintyUm }) => uncertaintyUm));
      expect(4 * leastUm, `${dimension}: ${tool}`).toBeLessThanOrEqual(widthUm + 0.1);
    }
  });

  test('at the size of the drawing it is the gauge of the final inspection', () => {
    const dimension = samplePlan.operations
      .find(({ seq }) => seq === 100)
      ?.workingDimensions.find(({ unit }) => unit === 'mm');
    const [item] = samplePlan.inspection;
    if (dimension === undefined || item === undefined) throw new Error('no dimension');
    const { feature, lower, upper } = dimension;
    const gauge = { ...item, feature, lower, upper, unit: 'mm' as const, methodName: 'Plug gauge' };
    const made = travellerSheet({ ...samplePlan, inspection: [gauge] }, { format: 'A4', methods });
    const block = made.blocks.find((each) => each.type === 'operation' && each.number === 100);
    if (block?.type !== 'operation') throw new Error('no operation');
    const rows = table(block.blocks, /^Working dimensions/).rows;
    expect(rows.filter((row) => row[7] === 'Plug gauge').map((row) => row[0])).toEqual([feature]);
  });

  test('roughness by stylus', () => {
    const rough = tools(100).filter(([dimension]) => dimension.includes(' Ra,'));
    expect(rough.length).toBeGreaterThan(0);
    for (const [, tool] of rough) expect(tool).toMatch(/roughness/i);
  });
});

test('a furnace visit has boxes for what its chart shows', () => {
  const record = table(operation(50).blocks, /^Record from the chart/);
  expect(record.rows.map((row) => row.slice(0, 2))).toEqual([
    ['Part temperature in the soak', '920 ±15 °C'],
    ['Soak, coldest sensor in the band', '2 h 30 min'],
    ['Pressure', '≥ 100 MPa'],
  ]);
});

describe('last pages', () => {
  test('assumptions from memory, practice and invention come first and are marked', () => {
    const assumptions = table(sheet.blocks, /values rest on/);
    expect(assumptions.title).toMatch(/^3 of 6 values/);
    expect(assumptions.rows.map((row) => row[0])).toEqual(['◆', '◆', '◆', '', '', '']);
    expect(assumptions.rows[1]?.slice(1, 5)).toEqual([
      'Hot isostatic pressing window',
      '895 – 955 °C, ≥ 100 MPa, 120 – 240 min',
      'from memory',
      'ASTM F2924-14, HIP clause',
    ]);
  });

  test('revisions of the drawing, the present one when nothing else is known', () => {
    expect(table(sheet.blocks, /^Work to the revision/).rows[0]?.[0]).toBe(samplePlan.job.revision);
    const revisions = [
      { revision: 'A', on: '2026-05-04', change: 'first issue', approvedBy: 'design' },
      { revision: 'B', change: 'bore ⌀25 H7' },
    ];
    const told = travellerSheet(samplePlan, { format: 'A4', revisions });
    expect(table(told.blocks, /^Work to the revision/).rows.slice(0, 3)).toEqual([
      ['A', '2026-05-04', 'first issue', 'design', ''],
      ['B', '', 'bore ⌀25 H7', '', ''],
      ['', '', '', '', ''],
    ]);
  });

  test('deviations and rework have a page of their own, with the release at its foot', () => {
    const at = sheet.blocks.findIndex(
      (block) => block.type === 'heading' && block.text === 'Deviations and rework',
    );
    expect(sheet.blocks[at]).toMatchObject({ newPage: true });
    const rework = table(sheet.blocks, /^Rework/);
    expect(rework.columns.every(({ entryWidthMm }) => entryWidthMm !== undefined)).toBe(true);
    expect(sheet.blocks[at + 4]).toMatchObject({ type: 'sign-off' });
  });

  test('open findings are listed, notes are not; deviations have empty rows', () => {
    expect(table(sheet.blocks, /^Clear before release/).rows.map((row) => row[0])).toEqual(['F9']);
    const deviations = table(sheet.blocks, /^Write down every departure/);
    expect(deviations.rows.length).toBeGreaterThanOrEqual(6);
    expect(deviations.rows.flat().join('')).toBe('');
  });
});

test('an infeasible plan says so, lists its conflicts and has no operations', () => {
  const conflicts = [
    { feature: 'F9', requirement: '⌀12 H3', best: 'grade 5', help: ['lapping', 'relax to H5'] },
    { requirement: 'ready by 2027-01-05', best: '45 days', help: [] },
  ];
  const stuck = travellerSheet(
    { ...samplePlan, feasible: false, operations: [], conflicts },
    { format: 'Letter' },
  );
  expect(table(stuck.blocks, /cannot be met/).rows).toEqual([
    ['F9', '⌀12 H3', 'grade 5', 'lapping\nrelax to H5'],
    ['whole part', 'ready by 2027-01-05', '45 days', ''],
  ]);
  expect(stuck.blocks.some((block) => block.type === 'operation')).toBe(false);
  expect(stuck.blocks.some((block) => block.type === 'route-strip')).toBe(false);
});

test('every table row has a cell for every column', () => {
  const tables = sheet.blocks.flatMap((block) =>
    block.type === 'operation' ? block.blocks : [block],
  );
  for (const block of tables) {
    if (block.type !== 'table') continue;
    for (const row of block.rows) expect(row, block.title).toHaveLength(block.columns.length);
  }
});

test('the sheet is plain data: it survives JSON', () => {
  expect(JSON.parse(JSON.stringify(sheet))).toEqual(sheet);
});

describe('requirements as a drawing writes them', () => {
  test.each([
    ['geometric', 'position dia 0.05 (M) A B(M) C', 'bore', '⌖ ⌀0.05 Ⓜ A B Ⓜ C'],
    ['geometric', 'flatness 0.02', 'plane', '⏥ 0.02'],
    ['geometric', '⟂ 0.03 A', 'bore', '⟂ 0.03 A'],
    ['geometric', 'total runout 0.03 B', 'shaft', '⌰ 0.03 B'],
    ['geometric', 'as the sample', 'plane', 'as the sample'],
    ['size', '12 H7', 'bore', '⌀12 H7'],
    ['size', '12 H7', 'slot', '12 H7'],
    ['size', '⌀58 h8', 'shaft', '⌀58 h8'],
    ['roughness', 'Ra 1.6', 'plane', 'Ra ≤ 1.6 µm'],
    ['roughness', 'Ra ≤ 1.6 µm', 'plane', 'Ra ≤ 1.6 µm'],
    ['thread', 'M8-6H', 'thread', 'M8-6H'],
  ] as const)('%s %s', (kind, text, featureKind, printed) => {
    expect(drawingText({ kind, text }, featureKind)).toBe(printed);
  });
});

describe('numbers on paper', () => {
  test('fixed and shortest use a true minus and never print minus zero', () => {
    expect(fixed(-0.05, 2)).toBe('−0.05');
    expect(fixed(-0.0001, 2)).toBe('0.00');
    expect(shortest(2.5, 1)).toBe('2.5');
    expect(shortest(10, 1)).toBe('10');
    expect(shortest(-3.1, 3)).toBe('−3.1');
    expect(shortest(100, 0)).toBe('100');
  });

  test('limits take a fourth decimal only in a band narrower than 0.01 mm', () => {
    expect(dimensionText(12.005, { lower: 12, upper: 12.01, unit: 'mm' })).toBe('12.005');
    expect(dimensionText(12.0055, { lower: 12.0015, upper: 12.0095, unit: 'mm' })).toBe('12.0055');
    expect(dimensionText(0.8, { lower: 0, upper: 0.8, unit: 'um' })).toBe('0.8');
  });

  test('durations and days', () => {
    expect(duration(4.5)).toBe('4.5 min');
    expect(duration(59.6)).toBe('1 h');
    expect(duration(125)).toBe('2 h 05 min');
    expect(workingDays(1)).toBe('1 working day');
    expect(workingDays(0.5)).toBe('0.5 working days');
  });
});
