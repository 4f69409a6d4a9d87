import { formatFixed, formatMm } from '../quantity/format.js';
import { chainText } from './evaluate-chart.js';
import type { Accumulated, ChartInput, ChartResult, SolvedCut, StatedLimit } from './types.js';

const width = 100;
const rightWidth = 42;
/** Surfaces that find room as columns. */
const maxColumns = 20;

interface Layout {
  readonly input: ChartInput;
  readonly result: ChartResult;
  readonly leftWidth: number;
  readonly graphWidth: number;
  /** Column of each surface in the drawing; empty when there are too many for one. */
  readonly columns: readonly number[];
  readonly letters: readonly string[];
}

/**
 * Draws an operation chart as text, at most 100 characters a line: surfaces as columns, one row a
 * cut with an arrow from the datum (`o`) to the surface (`>` or `<`; `=` where the cut forms the
 * surface, `-` where it takes stock off, `*` for a depth taken off a surface by itself), working
 * dimension and stock; below, the blueprint dimensions, the chains with their variations in the worst
 * case and statistically, and what does not hold. Lengths in mm.
 *
 * @param result of `solveChart`, `checkChart` or `assignTolerances` for the same input
 * @example
 * chartText({ surfaces: [{ id: 'A' }, { id: 'B' }], cuts: [{ id: '10', datum: 'A', surface: 'B', toleranceMm: 0.1 }], blueprint: [{ id: 'h', from: 'A', to: 'B', lowerMm: 19.9, upperMm: 20.1 }] }, solveChart({ surfaces: [{ id: 'A' }, { id: 'B' }], cuts: [{ id: '10', datum: 'A', surface: 'B', toleranceMm: 0.1 }], blueprint: [{ id: 'h', from: 'A', to: 'B', lowerMm: 19.9, upperMm: 20.1 }] })).length // -> 14
 */
export function chartText(input: ChartInput, result: ChartResult): string[] {
  const layout = layOut(input, result);
  return [
    ...heading(layout),
    '',
    ...cutRows(layout),
    '',
    ...blueprintRows(layout),
    '',
    ...chainRows(layout),
    '',
    ...verdict(layout),
  ].map((line) => line.trimEnd());
}

function layOut(input: ChartInput, result: ChartResult): Layout {
  const longest = Math.max(0, ...input.cuts.map(({ operation }) => operation?.length ?? 0));
  const leftWidth = longest === 0 ? 11 : 11 + Math.min(20, longest);
  const graphWidth = width - leftWidth - rightWidth;
  const count = input.surfaces.length;
  const pitch = Math.min(11, Math.floor((graphWidth - 2) / Math.max(1, count - 1)));
  const drawn = count <= maxColumns && pitch >= 2;
  return {
    input,
    result,
    leftWidth,
    graphWidth,
    columns: drawn ? input.surfaces.map((_surface, index) => index * pitch) : [],
    letters: input.surfaces.map((_surface, index) => letterOf(index)),
  };
}

/** A, B ... Z, AA, AB ... */
function letterOf(index: number): string {
  const letter = String.fromCharCode(65 + (index % 26));
  return index < 26 ? letter : letterOf(Math.floor(index / 26) - 1) + letter;
}

function heading({ input, result, letters }: Layout): string[] {
  const rule =
    result.rule === 'worst-case'
      ? 'worst case'
      : `statistical, ${formatFixed(result.sigmas, 2)} sigma`;
  const axis = input.axis === undefined ? '' : `axis ${input.axis}, `;
  const about = `${axis}lengths in mm, ${rule}`;
  const title = cut(`Operation chart ${input.title ?? ''}`, width - about.length - 2);
  const names = input.surfaces.map(
    ({ id, name }, index) => `${letters[index]} ${name === undefined ? id : `${id} (${name})`}`,
  );
  return [
    title + about.padStart(width - title.length),
    '',
    ...wrap(
      'Surfaces  ',
      names.map((name) => `${cut(name, 60)}   `),
    ),
  ];
}

function cutRows(layout: Layout): string[] {
  const { input, result, letters, leftWidth, columns } = layout;
  const header = blankGraph(layout);
  columns.forEach((column, index) => {
    header[column] = letters[index] ?? '';
  });
  const stocks = new Map(result.stocks.map((stock) => [stock.cut, stock]));
  const present = new Set([input.surfaces.findIndex(({ id }) => id === input.cuts[0]?.datum)]);
  const rows = input.cuts.map((one, index) => {
    const datum = input.surfaces.findIndex(({ id }) => id === one.datum);
    const surface = input.surfaces.findIndex(({ id }) => id === one.surface);
    const stock = stocks.get(one.id);
    const graph = blankGraph(layout, present);
    if (columns.length === 0) {
      write(graph, 0, `${letters[datum]} ${stock === undefined ? '=>' : '->'} ${letters[surface]}`);
    } else if (datum === surface) graph[columns[surface] ?? 0] = '*';
    else {
      span(layout, graph, datum, surface, stock === undefined ? '=' : '-');
      graph[columns[datum] ?? 0] = 'o';
      graph[columns[surface] ?? 0] = surface > datum ? '>' : '<';
    }
    present.add(surface);
    const solved = result.cuts[index];
    const taken =
      stock === undefined
        ? ''
        : `${plusMinus(stock.meanMm, usedOf(result, stock)).padEnd(16)}${figure(stock.minMm, 7)}${stock.holds ? '' : ' !'}`;
    return join(
      layout,
      left(leftWidth, one.id, one.operation),
      graph.join(''),
      (solved === undefined ? '' : stated(solved, one.statedAs)).padEnd(17) + taken,
    );
  });
  const right = `${'working dim.'.padStart(15)}${'stock'.padStart(10)}${'least'.padStart(14)}`;
  return [join(layout, 'Cut', header.join(''), right), ...rows];
}

function blueprintRows(layout: Layout): string[] {
  const { input, result, letters, columns, leftWidth } = layout;
  const rows = result.resultants.map((resultant, index) => {
    const dimension = input.blueprint[index];
    const from = input.surfaces.findIndex(({ id }) => id === dimension?.from);
    const to = input.surfaces.findIndex(({ id }) => id === dimension?.to);
    const [low, high] = from < to ? [from, to] : [to, from];
    const graph = blankGraph(layout);
    if (columns.length === 0) write(graph, 0, `${letters[low]} to ${letters[high]}`);
    else {
      span(layout, graph, low, high, '.');
      graph[columns[low] ?? 0] = '[';
      graph[columns[high] ?? 0] = ']';
    }
    const { meanMm, limits, holds } = resultant;
    return join(
      layout,
      left(leftWidth, resultant.blueprint),
      graph.join(''),
      `${plusMinus(meanMm, usedOf(result, resultant)).padEnd(17)}${figure(limits.lowerMm, 9)} to ${figure(limits.upperMm, 8)}${holds ? '' : ' !'}`,
    );
  });
  const right = `${'resultant'.padStart(12)}${'limits'.padStart(17)}`;
  return [join(layout, 'Blueprint', '', right), ...rows];
}

function chainRows({ result }: Layout): string[] {
  const lines = [
    ...result.resultants.map((one) => ({ name: one.blueprint, sum: one })),
    ...result.stocks.map((one) => ({ name: `stock ${one.cut}`, sum: one })),
  ].flatMap(({ name, sum }) => {
    const figures = `${figure(sum.worstMm, 9)}${figure(sum.statisticalMm, 10)}${formatFixed(100 * sum.inLimits, 3).padStart(11)}`;
    const links = chainText(sum.chain).split(/ (?=[+-])/);
    const [first = '', ...rest] = wrap(
      `${cut(name, 16).padEnd(17)}= `,
      links.map((link) => `${link} `),
      width - figures.length,
    );
    return [first.padEnd(width - figures.length) + figures, ...rest];
  });
  const sigma = `${formatFixed(result.sigmas, 1)} sigma`;
  const figures = `${'± worst'.padStart(9)}${sigma.padStart(10)}${'% in limits'.padStart(12)}`;
  return ['Chain'.padEnd(width - figures.length) + figures, ...lines];
}

function verdict({ result }: Layout): string[] {
  if (result.feasible) return ['Every blueprint dimension and every least stock holds.'];
  const loops = result.loops.map(
    ({ blueprint, excessMm }) =>
      `dimensions ${blueprint.join(', ')} close a loop and lack ${formatMm(excessMm)} together`,
  );
  return [
    'Does not hold (!):',
    ...[...result.faults.map(({ message }) => message), ...loops],
  ].flatMap((text, index) => (index === 0 ? [text] : wrap('  ', text.split(/(?<= )/))));
}

/** `12.200 -0.043` for a dimension stated by its upper limit, `40.000 ±0.050` by its middle. */
function stated({ statedMm, toleranceMm }: SolvedCut, statedAs: StatedLimit | undefined): string {
  if (statedAs === 'maximum')
    return `${figure(statedMm, 8)} -${figure(2 * toleranceMm, 6).trimStart()}`;
  if (statedAs === 'minimum')
    return `${figure(statedMm, 8)} +${figure(2 * toleranceMm, 6).trimStart()}`;
  return plusMinus(statedMm, toleranceMm);
}

/** ± under the chart's rule. */
function usedOf({ rule }: ChartResult, { worstMm, statisticalMm }: Accumulated): number {
  return rule === 'worst-case' ? worstMm : statisticalMm;
}

function plusMinus(meanMm: number, variationMm: number): string {
  return `${figure(meanMm, 8)} ±${figure(variationMm, 6).trimStart()}`;
}

/** Three decimals, fewer where the column has no room for them. */
function figure(valueMm: number, room: number): string {
  let text = formatMm(valueMm);
  for (let decimals = 2; decimals >= 0 && text.length > room; decimals--)
    text = formatFixed(valueMm, decimals);
  return text.padStart(room);
}

function left(leftWidth: number, id: string, operation?: string): string {
  return operation === undefined
    ? cut(id, leftWidth - 1)
    : `${cut(id, 8).padEnd(9)}${cut(operation, leftWidth - 11)}`;
}

function join(
  { leftWidth, graphWidth }: Layout,
  start: string,
  graph: string,
  end: string,
): string {
  return start.padEnd(leftWidth) + graph.padEnd(graphWidth) + end;
}

function blankGraph({ graphWidth, columns }: Layout, present?: ReadonlySet<number>): string[] {
  const graph = new Array<string>(graphWidth).fill(' ');
  for (const surface of present ?? []) {
    const column = columns[surface];
    if (column !== undefined) graph[column] = '|';
  }
  return graph;
}

/** A line between two columns; it crosses the surfaces that are there with `+`. */
function span({ columns }: Layout, graph: string[], a: number, b: number, mark: string): void {
  const from = Math.min(columns[a] ?? 0, columns[b] ?? 0);
  const to = Math.max(columns[a] ?? 0, columns[b] ?? 0);
  for (let column = from + 1; column < to; column++)
    graph[column] = graph[column] === '|' ? '+' : mark;
}

function write(graph: string[], column: number, text: string): void {
  [...text].forEach((letter, index) => {
    graph[column + index] = letter;
  });
}

function cut(text: string, length: number): string {
  return text.length <= length ? text : `${text.slice(0, Math.max(0, length - 2))}..`;
}

/** Words in lines that start with the head, later ones with as many spaces. */
function wrap(head: string, words: readonly string[], most: number = width): string[] {
  const lines: string[] = [];
  let line = head;
  for (const word of words) {
    if (line.length + word.trimEnd().length > most && line.length > head.length) {
      lines.push(line);
      line = ' '.repeat(head.length);
    }
    line += word;
  }
  lines.push(line);
  return lines;
}
