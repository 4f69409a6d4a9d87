import type { DrawingBlock, DrawingMark, PointMm } from '@offplate/core';
import { captionPiece } from './boxes.js';
import type { Piece } from './galley.js';
import { type Ink, type Point, Tag } from './ink.js';
import { gaps, type Kit, styles } from './kit.js';
import { mm } from './page.js';

const weights = { hair: 0.35, thin: 0.7, thick: 1.6 } as const;
const dash = 2.4;
const arrowLength = 5;
const arrowHalfWidth = 1.7;

/** A drawing of a fixed size; one wider than the column is scaled down with all but its texts. */
export function drawingPieces(block: DrawingBlock, kit: Kit): readonly Piece[] {
  const section = new Tag('Div', kit.section);
  const scale = Math.min(1, kit.width / mm(block.widthMm));
  const height = mm(block.heightMm) * scale;
  const figure = new Tag('Figure', section, { alt: block.inWords });
  const titled = block.title !== undefined && block.title !== '';
  const piece: Piece = {
    height,
    gap: titled ? 3 : gaps.block,
    keepWithNext: false,
    newPage: false,
    repeat: kit.repeat,
    least: height,
    draw: (ink, y) => {
      const place = ([x, down]: PointMm): Point => [kit.left + mm(x) * scale, y + mm(down) * scale];
      ink.artifact(() => {
        for (const mark of block.marks) drawShape(ink, mark, place, mm(1) * scale);
      });
      for (const mark of block.marks)
        if (mark.kind === 'text') drawText(ink, mark, place, kit, figure);
    },
    split: () => undefined,
  };
  return [...(titled ? [captionPiece(block.title ?? '', section, kit)] : []), piece];
}

type Place = (point: PointMm) => Point;

/** @param unit points a millimetre of the drawing */
function drawShape(ink: Ink, mark: DrawingMark, place: Place, unit: number): void {
  switch (mark.kind) {
    case 'line': {
      const points = mark.points.map(place);
      const weight = weights[mark.weight];
      const ends = mark.arrow === undefined ? [] : arrowHeads(points, mark.arrow);
      ink.path(shortened(points, mark.arrow), weight, 'black', mark.dashed ? dash : undefined);
      for (const head of ends) ink.area(head, 'black');
      break;
    }
    case 'area': {
      const points = mark.points.map(place);
      const [first] = points;
      ink.area(points, mark.shade);
      if (mark.outline !== undefined && first !== undefined)
        ink.path([...points, first], weights[mark.outline], 'black');
      break;
    }
    case 'spans':
      ink.fillAll(
        mark.boxes.map(([x, y, width, height]) => {
          const [left, top] = place([x, y]);
          return { x: left, y: top, width: width * unit, height: height * unit };
        }),
        mark.shade,
      );
      break;
    case 'dot': {
      const [x, y] = place(mark.at);
      ink.disc(x, y, mm(mark.radiusMm), 'black');
      break;
    }
    case 'text':
      break;
  }
}

/** The line ends inside its heads, so that their tips stay sharp. */
function shortened(points: readonly Point[], arrow: 'end' | 'both' | undefined): readonly Point[] {
  if (arrow === undefined || points.length < 2) return points;
  const pull = (from: Point, to: Point): Point => {
    const [ux, uy, length] = direction(from, to);
    const rest = Math.max(0, length - arrowLength * 0.8);
    return [from[0] + ux * rest, from[1] + uy * rest];
  };
  const result = [...points];
  const [first, second] = points;
  const [beforeLast, last] = points.slice(-2);
  if (beforeLast !== undefined && last !== undefined)
    result[result.length - 1] = pull(beforeLast, last);
  if (arrow === 'both' && first !== undefined && second !== undefined)
    result[0] = pull(second, first);
  return result;
}

function arrowHeads(
  points: readonly Point[],
  arrow: 'end' | 'both',
): readonly (readonly Point[])[] {
  const [first, second] = points;
  const [beforeLast, last] = points.slice(-2);
  if (!first || !second || !beforeLast || !last) return [];
  return [head(beforeLast, last), ...(arrow === 'both' ? [head(second, first)] : [])];
}

function head(from: Point, tip: Point): readonly Point[] {
  const [ux, uy] = direction(from, tip);
  const foot: Point = [tip[0] - ux * arrowLength, tip[1] - uy * arrowLength];
  return [
    tip,
    [foot[0] - uy * arrowHalfWidth, foot[1] + ux * arrowHalfWidth],
    [foot[0] + uy * arrowHalfWidth, foot[1] - ux * arrowHalfWidth],
  ];
}

function direction(from: Point, to: Point): readonly [ux: number, uy: number, length: number] {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const length = Math.hypot(dx, dy);
  return length === 0 ? [1, 0, 0] : [dx / length, dy / length, length];
}

const textStyles = { label: styles.label, body: styles.body, strong: styles.strong } as const;

function drawText(
  ink: Ink,
  mark: Extract<DrawingMark, { kind: 'text' }>,
  place: Place,
  kit: Kit,
  figure: Tag,
): void {
  const [x, y] = place(mark.at);
  const lines = kit.type.lines(mark.text, textStyles[mark.style], kit.width);
  const width = Math.max(0, ...lines.map((line) => line.width));
  const left = { left: x, centre: x - width / 2, right: x - width }[mark.align];
  const inside = Math.min(Math.max(left, kit.left), kit.left + kit.width - width);
  ink.tagged(figure, lines, inside, y - (lines[0]?.height ?? 0) / 2);
}
