import { chainText } from '../chart/evaluate-chart.js';
import type { ChartAssignment, ChartInput, ChartResult, StatedLimit } from '../chart/types.js';
import { chartDrawing, spread, used } from './chart-drawing.js';
import { fixed, shortest } from './print-numbers.js';
import { issuedField } from './sheet-frame.js';
import { surfaceLetter } from './surface-letter.js';
import type { Block, Sheet, SheetOptions } from './types.js';

/**
 * An operation chart on paper: the drawing of the cuts, working dimensions to set, stock, resultants
 * against the drawing, every chain with its variations, what does not hold and, with costs, how the
 * tolerances were chosen. Lengths in mm, printed ready to read. It throws nothing.
 *
 * @param result of `solveChart`, `checkChart` or `assignTolerances` for the same input
 * @example
 * chartSheet({ surfaces: [{ id: 'A' }, { id: 'B' }], cuts: [{ id: '10', datum: 'A', surface: 'B', toleranceMm: 0.1 }], blueprint: [{ id: 'h', from: 'A', to: 'B', lowerMm: 19.9, upperMm: 20.1 }] }, solveChart({ surfaces: [{ id: 'A' }, { id: 'B' }], cuts: [{ id: '10', datum: 'A', surface: 'B', toleranceMm: 0.1 }], blueprint: [{ id: 'h', from: 'A', to: 'B', lowerMm: 19.9, upperMm: 20.1 }] }), { format: 'A4' }).blocks[0].title // -> "Every dimension of the drawing and every least stock holds"
 */
export function chartSheet(
  input: ChartInput,
  result: ChartResult | ChartAssignment,
  options: SheetOptions,
): Sheet {
  const solved = 'schema' in result ? result : result.feasible ? result.chart : undefined;
  const rule = (solved?.rule ?? input.rule) === 'statistical' ? 'statistical' : 'worst case';
  return {
    schema: 'sheet/1',
    kind: 'chart',
    format: options.format,
    title: 'Operation chart',
    subject: input.title ?? `${input.cuts.length} cuts on ${input.surfaces.length} surfaces`,
    identity: options.order ?? '',
    footNote: [
      'Operation chart',
      options.issuedOn === undefined ? '' : `issued ${options.issuedOn}`,
    ]
      .filter((part) => part !== '')
      .join(' · '),
    header: [
      { label: 'Axis', value: input.axis ?? 'not named' },
      { label: 'Rule', value: rule },
      { label: 'Lengths in', value: 'mm' },
      issuedField(options),
    ],
    blocks: [
      ...(solved === undefined ? [] : solvedBlocks(input, solved)),
      ...('schema' in result ? [] : costBlocks(result)),
      { type: 'sign-off', boxes: ['Made by', 'Checked by', 'Date'] },
    ],
  };
}

function solvedBlocks(input: ChartInput, result: ChartResult): readonly Block[] {
  return [
    verdict(result),
    surfaceFields(input),
    { type: 'heading', text: 'Cuts in the order of working' },
    ...chartDrawing(input, result),
    { type: 'heading', text: 'What to set' },
    cutTable(input, result),
    { type: 'heading', text: 'How it adds up' },
    chainTable(result),
  ];
}

function verdict(result: ChartResult): Block {
  const loops = result.loops.map(
    ({ blueprint, excessMm }) =>
      `Dimensions ${blueprint.join(', ')} close a loop and lack ${fixed(excessMm, 3)} mm together.`,
  );
  return {
    type: 'box',
    tone: 'notice',
    title: result.feasible
      ? 'Every dimension of the drawing and every least stock holds'
      : 'Does not hold (marked !)',
    items: result.feasible
      ? [`${result.resultants.length} dimensions, ${result.stocks.length} stocks.`]
      : [...result.faults.map(({ message }) => message), ...loops],
  };
}

function surfaceFields({ surfaces }: ChartInput): Block {
  return {
    type: 'fields',
    title: 'Surfaces along the axis',
    across: 3,
    fields: surfaces.map(({ id, name }, index) => ({
      label: surfaceLetter(index),
      value: name === undefined ? id : `${id}, ${name}`,
    })),
  };
}

function cutTable({ cuts }: ChartInput, result: ChartResult): Block {
  const stocks = new Map(result.stocks.map((stock) => [stock.cut, stock]));
  return {
    type: 'table',
    title: 'Working dimensions, mm',
    columns: [
      { title: 'Cut', align: 'left' },
      { title: 'Operation', align: 'left' },
      { title: 'Datum', align: 'left' },
      { title: 'Surface', align: 'left' },
      { title: 'State on the sheet', align: 'left' },
      { title: 'From', align: 'decimal' },
      { title: 'To', align: 'decimal' },
      { title: 'Stock', align: 'decimal' },
      { title: 'Least stock', align: 'decimal' },
    ],
    rows: result.cuts.map((solved, index) => {
      const cut = cuts[index];
      const stock = stocks.get(solved.cut);
      return [
        solved.cut,
        cut?.operation ?? '',
        solved.datum,
        solved.surface,
        stated(solved.statedMm, solved.toleranceMm, cut?.statedAs),
        fixed(solved.lowerMm, 3),
        fixed(solved.upperMm, 3),
        stock === undefined ? 'forms it' : fixed(stock.meanMm, 3),
        stock === undefined ? '' : fixed(stock.minMm, 3),
      ];
    }),
  };
}

/** `12.200 0/−0.043` for a dimension stated by its upper limit, `40.000 ±0.050` by its middle. */
function stated(statedMm: number, toleranceMm: number, statedAs: StatedLimit | undefined): string {
  if (statedAs === 'maximum') return `${fixed(statedMm, 3)} 0/−${fixed(2 * toleranceMm, 3)}`;
  if (statedAs === 'minimum') return `${fixed(statedMm, 3)} +${fixed(2 * toleranceMm, 3)}/0`;
  return spread(statedMm, toleranceMm);
}

function chainTable(result: ChartResult): Block {
  const sums = [
    ...result.resultants.map((sum) => ({ name: sum.blueprint, sum })),
    ...result.stocks.map((sum) => ({ name: `stock of ${sum.cut}`, sum })),
  ];
  return {
    type: 'table',
    title: 'Dimensions of the drawing and stocks as sums of working dimensions, mm',
    columns: [
      { title: 'Result', align: 'left' },
      { title: 'Working dimensions', align: 'left' },
      { title: 'Mean', align: 'decimal' },
      { title: '± worst case', align: 'decimal' },
      { title: `± ${shortest(result.sigmas, 1)} sigma`, align: 'decimal' },
      { title: 'Taken ±', align: 'decimal' },
      { title: 'Margin', align: 'decimal' },
      { title: 'In limits, %', align: 'decimal' },
    ],
    rows: sums.map(({ name, sum }) => [
      name,
      chainText(sum.chain),
      fixed(sum.meanMm, 3),
      fixed(sum.worstMm, 3),
      fixed(sum.statisticalMm, 3),
      fixed(used(result, sum), 3),
      fixed(sum.marginMm, 3),
      shortest(100 * sum.inLimits, 3),
    ]),
  };
}

function costBlocks(assignment: ChartAssignment): readonly Block[] {
  if (!assignment.feasible)
    return [
      {
        type: 'box',
        tone: 'notice',
        title: 'No tolerances within the bounds of the cuts meet these chains',
        items: assignment.impossible.map(
          ({ id, limit, least, contributors }) =>
            `${id}: allowed ±${fixed(limit, 3)} mm, least ±${fixed(least, 3)} mm with ${contributors
              .map(({ id: cut, tolerance }) => `${cut} ±${shortest(tolerance, 4)}`)
              .join(', ')}`,
        ),
      },
    ];
  const { cost, tolerances, status, certificate } = assignment.allocation;
  return [
    { type: 'heading', text: 'Tolerances at least cost' },
    {
      type: 'table',
      title: `Total ${shortest(cost, 4)}; ${
        status === 'optimal'
          ? 'no choice of tolerances costs less'
          : `the search was cut short, the least is ${shortest(certificate.lowerBound, 4)} or more`
      }`,
      columns: [
        { title: 'Cut', align: 'left' },
        { title: '± mm', align: 'decimal' },
        { title: 'Cost', align: 'decimal' },
        { title: 'Process', align: 'left' },
        { title: 'Stopped by', align: 'left' },
      ],
      rows: tolerances.map(({ id, tolerance, cost: each, at, process = '' }) => [
        id,
        fixed(tolerance, 3),
        shortest(each, 4),
        process,
        stoppedBy[at],
      ]),
    },
  ];
}

const stoppedBy: Readonly<Record<'fixed' | 'lower' | 'upper' | 'between', string>> = {
  fixed: 'given',
  lower: 'its smallest',
  upper: 'its largest',
  between: '',
};
