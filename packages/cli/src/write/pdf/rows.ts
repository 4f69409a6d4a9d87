import type { Piece } from './galley.js';
import type { Ink, Rectangle, Tag } from './ink.js';
import type { SetLine } from './typeset.js';

/** Lines in a column of a row; the lines are already set to the cell's inner width. */
export interface Cell {
  /** Left edge of the text. */
  readonly x: number;
  readonly lines: readonly SetLine[];
  readonly tag: Tag;
}

export interface Row {
  readonly cells: readonly Cell[];
  readonly padTop: number;
  readonly padBottom: number;
  readonly minHeight?: number;
  /** Rules, frames and fills, drawn below the text. A row that is parted has several parts. */
  readonly decorate?: (ink: Ink, part: RowPart) => void;
}

export interface RowPart extends Pick<Rectangle, 'y' | 'height'> {
  readonly first: boolean;
  readonly last: boolean;
}

export interface Setting {
  readonly gap?: number;
  readonly keepWithNext?: boolean;
  readonly newPage?: boolean;
  readonly repeat?: readonly Piece[];
}

/** A row with at most so many lines is not parted but moved to the next page. */
const mostLinesKept = 8;
/** Lines of a parted cell that stay together at the foot and at the head of a page. */
const leastLines = 2;

export function rowPiece(row: Row, setting: Setting = {}): Piece {
  return part(row, setting, { first: true, last: true });
}

function part(row: Row, setting: Setting, ends: { first: boolean; last: boolean }): Piece {
  const height = Math.max(textHeight(row.cells) + row.padTop + row.padBottom, row.minHeight ?? 0);
  const lineCount = Math.max(0, ...row.cells.map((cell) => cell.lines.length));
  return {
    height,
    gap: setting.gap ?? 0,
    keepWithNext: setting.keepWithNext ?? false,
    newPage: setting.newPage ?? false,
    repeat: setting.repeat ?? [],
    least: lineCount <= mostLinesKept ? height : leastHeight(row),
    draw: (ink, y, again) => drawRow(ink, row, { y, height, ...ends }, again),
    split: (room) => {
      const parted = partCells(row.cells, room - row.padTop - row.padBottom);
      if (parted === undefined) return undefined;
      const { minHeight: _, ...unbound } = row;
      return [
        part({ ...unbound, cells: parted[0] }, setting, { ...ends, last: false }),
        part({ ...unbound, cells: parted[1] }, { ...setting, gap: 0 }, { ...ends, first: false }),
      ];
    },
  };
}

function textHeight(cells: readonly Cell[]): number {
  return Math.max(0, ...cells.map((cell) => heightOf(cell.lines)));
}

function heightOf(lines: readonly SetLine[]): number {
  return lines.reduce((sum, line) => sum + line.height, 0);
}

function leastHeight(row: Row): number {
  const first = row.cells.map((cell) => ({ ...cell, lines: cell.lines.slice(0, leastLines) }));
  return textHeight(first) + row.padTop + row.padBottom;
}

/** Parts every cell at the same height; undefined when no line fits. */
function partCells(
  cells: readonly Cell[],
  room: number,
): readonly [readonly Cell[], readonly Cell[]] | undefined {
  const counts = cells.map(({ lines }) => {
    let used = 0;
    let count = 0;
    for (const line of lines) {
      used += line.height;
      if (used > room) break;
      count++;
    }
    // one line alone does not go over to the next page
    const left = lines.length - count;
    return left > 0 && left < leastLines && count > leastLines ? count - 1 : count;
  });
  if (counts.every((count) => count === 0)) return undefined;
  return [
    cells.map((cell, index) => ({ ...cell, lines: cell.lines.slice(0, counts[index]) })),
    cells.map((cell, index) => ({ ...cell, lines: cell.lines.slice(counts[index]) })),
  ];
}

function drawRow(ink: Ink, row: Row, at: RowPart, again: boolean): void {
  const top = at.y + row.padTop;
  if (again) {
    ink.artifact(() => {
      row.decorate?.(ink, at);
      for (const cell of row.cells) ink.lines(cell.lines, cell.x, top);
    });
    return;
  }
  if (row.decorate !== undefined) ink.artifact(() => row.decorate?.(ink, at));
  for (const cell of row.cells) ink.tagged(cell.tag, cell.lines, cell.x, top);
}
