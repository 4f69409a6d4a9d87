import type { StackReport } from '../stack/stack-report.js';
import { rowLabel } from './drawing-label.js';
import { shortest } from './print-numbers.js';
import type { Block, DrawingMark, PointMm } from './types.js';

const labelMm = 46;
const figureMm = 34;
const widthMm = 178;
const rowMm = 7;
/** A longer chain goes on in a second drawing. */
const mostRows = 28;

/**
 * A linear chain as arrows one below the other on one scale: to the right what adds to the result, to
 * the left what takes from it, and at the foot the result that closes the chain.
 */
export function chainDrawing(report: StackReport): readonly Block[] {
  const links = report.contributors.map((contributor, index) => ({
    ...contributor,
    length: (report.contributions[index]?.sensitivity ?? 1) * contributor.nominal,
  }));
  // what the links do not explain is the constant of the chain
  const total = links.reduce((sum, link) => sum + link.length, 0);
  let at = 0;
  const stations = links.map(({ length }) => {
    const from = at;
    at += length;
    return { from, to: at };
  });
  const ends = [0, total, ...stations.map(({ to }) => to)];
  const [least, most] = [Math.min(...ends), Math.max(...ends)];
  const span = most - least || 1;
  const plotMm = widthMm - labelMm - figureMm;
  const place = (value: number): number => labelMm + ((value - least) / span) * plotMm;

  const blocks: Block[] = [];
  for (let first = 0; first < links.length; first += mostRows) {
    const rows = links.slice(first, first + mostRows);
    const last = first + rows.length === links.length;
    const heightMm = (rows.length + (last ? 1 : 0)) * rowMm + 2;
    const marks: DrawingMark[] = [];
    rows.forEach(({ id, nominal, lower, upper }, row) => {
      const { from, to } = stations[first + row] ?? { from: 0, to: 0 };
      const y = (row + 0.5) * rowMm;
      marks.push(
        guide(place(from), row === 0 ? y : y - rowMm, y),
        ...arrow(place(from), place(to), y),
        rowLabel(id, [0, y], labelMm - 3),
        figure(withLimits(nominal, lower, upper), [widthMm, y]),
      );
    });
    if (last) {
      const y = (rows.length + 0.5) * rowMm;
      marks.push(
        guide(place(0), 0.5 * rowMm, y),
        guide(place(total), y - rowMm, y),
        {
          kind: 'line',
          points: [
            [place(0), y],
            [place(total), y],
          ],
          weight: 'thick',
          arrow: 'end',
        },
        { kind: 'text', at: [0, y], text: 'result', align: 'left', style: 'strong' },
        {
          kind: 'text',
          at: [widthMm, y],
          text: shortest(total, 4),
          align: 'right',
          style: 'strong',
        },
      );
    }
    blocks.push({
      type: 'drawing',
      widthMm,
      heightMm,
      marks,
      inWords: rows
        .map(
          ({ id, length, nominal }) =>
            `${length < 0 ? 'less' : 'plus'} ${id} ${shortest(nominal, 4)}`,
        )
        .join(', '),
    });
  }
  return blocks;
}

function withLimits(nominal: number, lower: number, upper: number): string {
  const [plus, minus] = [upper - nominal, nominal - lower];
  const size = shortest(nominal, 4);
  if (Math.abs(plus - minus) < 1e-9) return `${size} ±${shortest(plus, 4)}`;
  return `${size} ${signed(plus)}/${signed(-minus)}`;
}

function signed(value: number): string {
  return value > 0 ? `+${shortest(value, 4)}` : shortest(value, 4);
}

/** A link too short for an arrow is a dot. */
function arrow(fromMm: number, toMm: number, y: number): readonly DrawingMark[] {
  if (Math.abs(toMm - fromMm) < 1.2)
    return [{ kind: 'dot', at: [(fromMm + toMm) / 2, y], radiusMm: 0.7 }];
  const points: readonly PointMm[] = [
    [fromMm, y],
    [toMm, y],
  ];
  return [{ kind: 'line', points, weight: 'thin', arrow: 'end' }];
}

function guide(x: number, from: number, to: number): DrawingMark {
  return {
    kind: 'line',
    points: [
      [x, from],
      [x, to],
    ],
    weight: 'hair',
    dashed: true,
  };
}

function figure(words: string, at: PointMm): DrawingMark {
  return { kind: 'text', at, text: words, align: 'right', style: 'body' };
}
