import type { ChartInput, ChartResult } from '../chart/types.js';
import { rowLabel } from './drawing-label.js';
import { fixed } from './print-numbers.js';
import { surfaceLetter } from './surface-letter.js';
import type { Block, DrawingMark, PointMm } from './types.js';

const widthMm = 178;
const labelMm = 44;
const plotMm = 70;
const dimensionMm = 147;
const headMm = 7;
const rowMm = 7;
const stockMm = 1.8;
/** A longer chart goes on in a second drawing. */
const mostRows = 28;
/** Surfaces closer than this cannot be told apart. */
const leastPitchMm = 3.4;

/**
 * The chart as it is drawn by hand: surfaces as lines along the axis, below each other the cuts as
 * arrows from their datum (dot) to the surface, heavy where the cut forms it. The pale strip beside a
 * surface is the stock that still stands there. At the end the dimensions of the drawing. Empty for
 * more surfaces than find room.
 */
export function chartDrawing(input: ChartInput, result: ChartResult): readonly Block[] {
  const { surfaces, cuts } = input;
  const pitch = plotMm / Math.max(1, surfaces.length - 1);
  if (pitch < leastPitchMm) return [];
  const place = new Map(surfaces.map(({ id }, index) => [id, labelMm + 6 + index * pitch]));
  const x = (surface: string): number => place.get(surface) ?? labelMm;
  const blocks: Block[] = [];
  for (let first = 0; first < cuts.length; first += mostRows)
    blocks.push(cutDrawing(input, result, x, first));
  for (let first = 0; first < result.resultants.length; first += mostRows)
    blocks.push(blueprintDrawing(input, result, x, first));
  return blocks;
}

type PlaceOf = (surface: string) => number;

function cutDrawing(input: ChartInput, result: ChartResult, x: PlaceOf, first: number): Block {
  const rows = input.cuts.slice(first, first + mostRows);
  const heightMm = headMm + rows.length * rowMm + 2;
  const y = (cut: number): number => headMm + (cut - first + 0.5) * rowMm;
  const stocks = new Map(result.stocks.map((stock) => [stock.cut, stock]));
  const marks: DrawingMark[] = [
    ...head(input, x),
    words('working dimension', [dimensionMm, headMm / 2], 'right', 'label'),
    words('stock', [widthMm, headMm / 2], 'right', 'label'),
    ...input.surfaces.flatMap(({ id, faces }) => {
      const own = input.cuts.flatMap(({ surface }, index) => (surface === id ? [index] : []));
      const isFirstDatum = input.cuts[0]?.datum === id;
      const begins = isFirstDatum ? 0 : (own[0] ?? 0);
      return surfaceMarks(x(id), begins, own, faces === 'up' ? 1 : -1, y, heightMm);
    }),
  ];
  rows.forEach((cut, row) => {
    const at = y(first + row);
    const solved = result.cuts[first + row];
    const stock = stocks.get(cut.id);
    const [from, to] = [x(cut.datum), x(cut.surface)];
    marks.push(
      rowLabel(
        cut.operation === undefined ? cut.id : `${cut.id} ${cut.operation}`,
        [0, at],
        labelMm,
      ),
      { kind: 'dot', at: [from, at], radiusMm: 0.9 },
    );
    if (from !== to)
      marks.push({
        kind: 'line',
        points: [
          [from, at],
          [to, at],
        ],
        weight: stock === undefined ? 'thick' : 'thin',
        arrow: 'end',
      });
    if (solved !== undefined)
      marks.push(
        words(spread(solved.meanMm, solved.toleranceMm), [dimensionMm, at], 'right', 'body'),
      );
    if (stock !== undefined)
      marks.push(
        words(
          `${spread(stock.meanMm, used(result, stock))}${stock.holds ? '' : ' !'}`,
          [widthMm, at],
          'right',
          stock.holds ? 'body' : 'strong',
        ),
      );
  });
  return {
    type: 'drawing',
    widthMm,
    heightMm,
    marks,
    inWords: rows
      .map(({ id, datum, surface }) => `cut ${id} from ${datum} to ${surface}`)
      .join('; '),
  };
}

/** A surface from the row where it is formed, with its stock until the last cut on it. */
function surfaceMarks(
  x: number,
  begins: number,
  cuts: readonly number[],
  side: 1 | -1,
  y: (cut: number) => number,
  heightMm: number,
): readonly DrawingMark[] {
  const marks: DrawingMark[] = [];
  // one strip for each cut to come, from the row in which the surface was last cut
  const later = cuts.filter((cut) => cut > begins || cuts[0] !== begins);
  const changes = [begins, ...later.filter((cut) => cut > begins)];
  changes.slice(0, -1).forEach((cut, index) => {
    const left = changes.length - 1 - index;
    const [top, bottom] = [clamp(y(cut), heightMm), clamp(y(changes[index + 1] ?? cut), heightMm)];
    if (bottom <= top) return;
    const far = x + side * left * stockMm;
    marks.push({
      kind: 'area',
      points: [
        [x, top],
        [far, top],
        [far, bottom],
        [x, bottom],
      ],
      shade: 'pale',
      outline: 'hair',
    });
  });
  const top = clamp(y(begins), heightMm);
  if (top < heightMm)
    marks.push({
      kind: 'line',
      points: [
        [x, top],
        [x, heightMm],
      ],
      weight: 'hair',
    });
  return marks;
}

function clamp(y: number, heightMm: number): number {
  return Math.min(Math.max(y, headMm), heightMm);
}

function blueprintDrawing(
  input: ChartInput,
  result: ChartResult,
  x: PlaceOf,
  first: number,
): Block {
  const rows = result.resultants.slice(first, first + mostRows);
  const heightMm = headMm + rows.length * rowMm + 2;
  const marks: DrawingMark[] = [
    ...head(input, x),
    words('resultant', [dimensionMm, headMm / 2], 'right', 'label'),
    words('limits', [widthMm, headMm / 2], 'right', 'label'),
    ...input.surfaces.map(
      ({ id }): DrawingMark => ({
        kind: 'line',
        points: [
          [x(id), headMm],
          [x(id), heightMm],
        ],
        weight: 'hair',
      }),
    ),
  ];
  rows.forEach((resultant, row) => {
    const at = headMm + (row + 0.5) * rowMm;
    const dimension = input.blueprint[first + row];
    if (dimension === undefined) return;
    const { lowerMm, upperMm } = resultant.limits;
    marks.push(
      rowLabel(`drawing ${resultant.blueprint}`, [0, at], labelMm),
      {
        kind: 'line',
        points: [
          [x(dimension.from), at],
          [x(dimension.to), at],
        ],
        weight: 'thin',
        arrow: 'both',
      },
      words(spread(resultant.meanMm, used(result, resultant)), [dimensionMm, at], 'right', 'body'),
      words(
        `${fixed(lowerMm, 3)} to ${fixed(upperMm, 3)}${resultant.holds ? '' : ' !'}`,
        [widthMm, at],
        'right',
        resultant.holds ? 'body' : 'strong',
      ),
    );
  });
  return {
    type: 'drawing',
    title: first === 0 ? 'Dimensions of the drawing' : '',
    widthMm,
    heightMm,
    marks,
    inWords: rows.map(({ blueprint, meanMm }) => `${blueprint} ${fixed(meanMm, 3)}`).join('; '),
  };
}

function head({ surfaces }: ChartInput, x: PlaceOf): readonly DrawingMark[] {
  return surfaces.map(({ id }, index) =>
    words(surfaceLetter(index), [x(id), headMm / 2], 'centre', 'strong'),
  );
}

function words(
  text: string,
  at: PointMm,
  align: 'left' | 'centre' | 'right',
  style: 'label' | 'body' | 'strong',
): DrawingMark {
  return { kind: 'text', text, at, align, style };
}

/** Variation under the rule of the chart, mm. */
export function used(
  { rule }: ChartResult,
  { worstMm, statisticalMm }: { readonly worstMm: number; readonly statisticalMm: number },
): number {
  return rule === 'worst-case' ? worstMm : statisticalMm;
}

export function spread(meanMm: number, variationMm: number): string {
  return `${fixed(meanMm, 3)} ±${fixed(variationMm, 3)}`;
}
