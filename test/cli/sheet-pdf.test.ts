import {
  type ChartInput,
  chartSheet,
  heatRequest,
  inspectionSheet,
  type Plan,
  quoteSheet,
  type Sheet,
  solveChart,
  stackProbabilities,
  stackReport,
  stackSheet,
  stockMapSheet,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { pageFrame } from '../../packages/cli/src/write/pdf/page.js';
import { writeSheetPdf } from '../../packages/cli/src/write/pdf/sheet-pdf.js';
import { contentStreams, pagesOf, pathsOf, squeezed, textOf } from '../fixtures/pdf-pages.js';
import { conflictPlan, pricedPlan } from '../fixtures/priced-plan.js';

const createdOn = new Date('2027-01-04T00:00:00Z');

const plan: Plan = {
  ...pricedPlan,
  schedule: {
    ...pricedPlan.schedule,
    steps: pricedPlan.operations.map(({ seq }, index) => ({
      operation: seq,
      queueDays: 1,
      turnaroundDays: 0,
      workDays: 0.5,
      startsAfterDays: 1.5 * index + 1,
      endsAfterDays: 1.5 * (index + 1),
    })),
  },
};

const stack = stackReport(
  {
    name: 'gap behind the seat',
    requirement: { lower: 0.05, upper: 0.45 },
    contributors: [
      { id: 'seat', nominal: 12, plus: 0.1, minus: 0, source: 'milled' },
      { id: 'flap', nominal: 6, plus: 0.04, minus: 0.04, coefficient: -1 },
      { id: 'spacer', nominal: 5.8, plus: 0.05, minus: 0.05, coefficient: -1 },
    ],
    quantiles: stackProbabilities,
  },
  { sampling: { samples: 10_000 } },
);

const chart: ChartInput = {
  title: 'crown over the flange',
  axis: 'Z',
  surfaces: [
    { id: 'flange', name: 'face against the tube', faces: 'down' },
    { id: 'crown', faces: 'up' },
  ],
  cuts: [
    { id: '10', operation: 'print', datum: 'flange', surface: 'crown', toleranceMm: 0.3 },
    {
      id: '50',
      operation: 'mill crown',
      datum: 'flange',
      surface: 'crown',
      toleranceMm: 0.05,
      minStockMm: 0.3,
    },
  ],
  blueprint: [{ id: 'H', from: 'flange', to: 'crown', lowerMm: 39.9, upperMm: 40.1 }],
};

const sheets: readonly (readonly [string, (format: 'A4' | 'Letter') => Sheet])[] = [
  ['quote', (format) => quoteSheet(plan, { format })],
  ['quote of a job that cannot be made', (format) => quoteSheet(conflictPlan, { format })],
  ['inspection sheet', (format) => inspectionSheet(plan, { format })],
  ['stock map', (format) => stockMapSheet(plan, { format })],
  ['heat treatment request', (format) => heatRequest(plan, { format })],
  ['stack report', (format) => stackSheet(stack, { format })],
  ['operation chart', (format) => chartSheet(chart, solveChart(chart), { format })],
];

/** Every text of a sheet that is to be on paper, ticks of the axes apart. */
function wordsOf(sheet: Sheet): readonly string[] {
  const texts = sheet.blocks
    .flatMap((block) => (block.type === 'operation' ? block.blocks : [block]))
    .flatMap((block): readonly string[] => {
      switch (block.type) {
        case 'table':
          return [block.title, ...block.columns.map(({ title }) => title), ...block.rows.flat()];
        case 'list':
        case 'box':
          return [block.title, ...block.items];
        case 'fields':
          return block.fields.flatMap(({ label, value }) => [label, value]);
        case 'bars':
          return [block.title, ...block.bars.flatMap(({ label, value }) => [label, value])];
        case 'curve':
          return [block.title, block.x.label, block.y.label];
        case 'drawing':
          return block.marks.flatMap((mark) => (mark.kind === 'text' ? [mark.text] : []));
        case 'heading':
        case 'paragraph':
          return [block.text];
        case 'sign-off':
          return block.boxes;
        default:
          return [];
      }
    });
  const head = sheet.header.flatMap(({ label, value }) => [label, value]);
  return [sheet.title, sheet.subject, ...head, ...texts]
    .flatMap((text) => text.split(/\s+/))
    .filter((word) => word !== '');
}

describe.each(sheets)('%s', (_, make) => {
  test.each(['A4', 'Letter'] as const)(
    '%s: all words on paper, inside the margins',
    async (format) => {
      const sheet = make(format);
      const { bytes, pages: count, findings } = await writeSheetPdf(sheet, { createdOn });
      expect(findings).toEqual([]);
      const pages = await pagesOf(bytes);
      expect(pages).toHaveLength(count);
      const text = squeezed(pages.map(textOf).join(' '));
      expect(wordsOf(sheet).filter((word) => !text.includes(word))).toEqual([]);

      const frame = pageFrame(format);
      for (const page of pages) {
        // a page holds more than its foot
        expect(page.length).toBeGreaterThan(4);
        for (const item of page) {
          expect(item.left, item.text).toBeGreaterThanOrEqual(frame.left - 0.1);
          expect(item.right, item.text).toBeLessThanOrEqual(frame.right + 0.1);
          expect(item.baseline).toBeGreaterThan(frame.top);
          expect(item.baseline).toBeLessThan(frame.bottom);
        }
        for (const [index, item] of page.entries())
          for (const other of page.slice(index + 1)) {
            if (Math.abs(item.baseline - other.baseline) > 4) continue;
            const overlap = Math.min(item.right, other.right) - Math.max(item.left, other.left);
            expect(overlap, `${item.text} / ${other.text}`).toBeLessThan(0.5);
          }
      }
      const streams = contentStreams(bytes);
      expect(streams).toHaveLength(count);
      for (const { left, right, top, bottom } of streams.flatMap(pathsOf)) {
        expect(left).toBeGreaterThan(frame.left - 3);
        expect(right).toBeLessThan(frame.right + 3);
        expect(top).toBeGreaterThan(frame.top - 3);
        expect(bottom).toBeLessThan(frame.bottom);
      }
    },
  );

  test('the same sheet gives the same bytes', async () => {
    const one = await writeSheetPdf(make('A4'), { createdOn });
    const two = await writeSheetPdf(make('A4'), { createdOn });
    expect(Buffer.compare(Buffer.from(one.bytes), Buffer.from(two.bytes))).toBe(0);
  });

  test('all text is tagged or an artifact', async () => {
    const { bytes } = await writeSheetPdf(make('A4'), { createdOn });
    for (const stream of contentStreams(bytes)) {
      let depth = 0;
      for (const line of stream.split('\n')) {
        if (/ (BDC|BMC)$/.test(line)) depth++;
        if (line === 'EMC') depth--;
        if (line === 'BT') expect(depth).toBe(1);
      }
      expect(depth).toBe(0);
    }
  });
});

test('bars are as long as what they stand for', async () => {
  const sheet: Sheet = {
    ...stockMapSheet(plan, { format: 'A4' }),
    blocks: [
      {
        type: 'bars',
        title: 'Two bars',
        legend: { dark: 'a', light: 'b' },
        bars: [
          { label: 'one', value: '1', segments: [{ from: 0, to: 1, tone: 'dark' }] },
          { label: 'four', value: '4', segments: [{ from: 1, to: 4, tone: 'light' }] },
        ],
      },
    ],
  };
  const { bytes } = await writeSheetPdf(sheet, { createdOn });
  const boxes = contentStreams(bytes)
    .flatMap(pathsOf)
    .filter(({ top, bottom }) => Math.abs(bottom - top - 8) < 0.01);
  const widths = [...new Set(boxes.map(({ left, right }) => Math.round(right - left)))];
  expect(widths).toHaveLength(2);
  expect((widths[1] ?? 0) / (widths[0] ?? 1)).toBeCloseTo(3, 1);
});

test('a curve runs through its points on the scales of its axes', async () => {
  const tick = (at: number): { at: number; text: string } => ({ at, text: `t${at}` });
  const sheet: Sheet = {
    ...stockMapSheet(plan, { format: 'A4' }),
    header: [],
    blocks: [
      {
        type: 'curve',
        title: 'A curve',
        x: { label: 'hours', from: 0, to: 10, ticks: [0, 5, 10].map(tick) },
        y: { label: 'degrees', from: 0, to: 100, ticks: [0, 100].map(tick) },
        points: [
          [0, 0],
          [5, 50],
          [10, 100],
        ],
        band: [
          [0, 0, 10],
          [10, 90, 100],
        ],
        marks: [{ x: 5, y: 50, text: 'half way' }],
        inWords: 'from 0 to 100',
      },
    ],
  };
  const { bytes } = await writeSheetPdf(sheet, { createdOn });
  const [stream = ''] = contentStreams(bytes);
  const line = /^([\d.]+) ([\d.]+) m\n([\d.]+) ([\d.]+) l\n([\d.]+) ([\d.]+) l\nS$/m.exec(
    stream.slice(stream.indexOf('1.2 w')),
  );
  const [x1 = 0, y1 = 0, x2 = 0, y2 = 0, x3 = 0, y3 = 0] = (line ?? []).slice(1).map(Number);
  expect(x2 - x1).toBeGreaterThan(200);
  expect(x2 - x1).toBeCloseTo(x3 - x2, 2);
  expect(y1 - y2).toBeCloseTo(y2 - y3, 2);
  const text = textOf((await pagesOf(bytes))[0] ?? []);
  for (const word of ['hours', 'degrees', 't0', 't5', 't10', 't100', 'half way'])
    expect(text).toContain(word);
});
