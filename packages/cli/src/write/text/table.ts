import type { Style } from './style.js';
import { displayWidth, pad, printable, wrapText } from './width.js';

export interface TextColumn {
  /** Lines of the title, the last one right above the rows. */
  readonly title: readonly string[];
  /** `decimal` sets numbers right, decimal mark under decimal mark. */
  readonly align: 'left' | 'decimal';
  /** The column that may be made narrower by wrapping its cells. */
  readonly wraps?: boolean;
}

export interface TextRow {
  readonly cells: readonly string[];
  /** Texts under the row, each on its own lines, wrapped. */
  readonly notes?: readonly string[];
}

const gap = '  ';
const narrowest = 8;
/** Words up to this long are kept whole as long as there is room. */
const longestWord = 24;
/** Where the notes under a row begin. */
const noteIndent = 6;

/** A table without lines: titles, then rows; columns that wrap give way until it fits. */
export function textTable(
  columns: readonly TextColumn[],
  rows: readonly TextRow[],
  style: Style,
): readonly string[] {
  const cells = columns.map((column, index) => {
    const texts = rows.map((row) => printable(row.cells[index] ?? ''));
    return column.align === 'decimal' ? alignDecimals(texts) : texts;
  });
  const widths = fit(columns, cells, style.width);
  const depth = Math.max(...columns.map(({ title }) => title.length));
  const titles = Array.from({ length: depth }, (_, line) =>
    joined(
      columns.map(({ title, align }, index) =>
        pad(title[line - depth + title.length] ?? '', widths[index] ?? 0, side(align)),
      ),
    ),
  );
  const body = rows.flatMap((row, at) => [
    ...rowLines(
      columns,
      cells.map((column) => column[at] ?? ''),
      widths,
    ),
    ...(row.notes ?? []).flatMap((note) => indented(note, noteIndent, style.width)),
  ]);
  return [...titles.map((line) => style.faint(line)), ...body];
}

/** A text in lines that all begin at the same column. */
export function indented(text: string, indent: number, width: number): readonly string[] {
  return wrapText(text, width - indent).map((line) => `${' '.repeat(indent)}${line}`);
}

function rowLines(
  columns: readonly TextColumn[],
  cells: readonly string[],
  widths: readonly number[],
): readonly string[] {
  const wrapped = cells.map((cell, index) =>
    columns[index]?.wraps === true ? wrapText(cell, widths[index] ?? 0) : [cell],
  );
  const height = Math.max(...wrapped.map((lines) => lines.length));
  return Array.from({ length: height }, (_, line) =>
    joined(
      columns.map(({ align }, index) =>
        pad(wrapped[index]?.[line] ?? '', widths[index] ?? 0, side(align)),
      ),
    ),
  );
}

function side(align: TextColumn['align']): 'left' | 'right' {
  return align === 'decimal' ? 'left' : 'right';
}

function joined(cells: readonly string[]): string {
  return cells.join(gap).trimEnd();
}

/** Blanks after each number, so that right-aligned cells have their marks in one column. */
function alignDecimals(texts: readonly string[]): readonly string[] {
  const tail = (text: string): number => {
    const mark = text.lastIndexOf('.');
    return mark < 0 ? 0 : text.length - mark;
  };
  const longest = Math.max(0, ...texts.map(tail));
  return texts.map((text) => (/\d/.test(text) ? text + ' '.repeat(longest - tail(text)) : text));
}

/** Widths of the columns: as wide as their cells, or narrower where they wrap until the table fits. */
function fit(
  columns: readonly TextColumn[],
  cells: readonly (readonly string[])[],
  total: number,
): readonly number[] {
  const widths = columns.map(({ title }, index) =>
    Math.max(0, ...[...title, ...(cells[index] ?? [])].map(displayWidth)),
  );
  const least = columns.map(({ title, wraps }, index) =>
    wraps === true ? Math.max(narrowest, ...title.map(displayWidth)) : (widths[index] ?? 0),
  );
  const wordWidths = least.map((width, index) =>
    Math.max(width, ...(cells[index] ?? []).map(wordWidth)),
  );
  shrink(widths, wordWidths, cells, total);
  shrink(widths, least, cells, total);
  return widths;
}

function wordWidth(text: string): number {
  return Math.min(longestWord, Math.max(...text.split(' ').map(displayWidth)));
}

/**
 * Narrows columns in small steps until the table fits, each time the one that costs the fewest
 * lines; of equals the widest, then the leftmost.
 */
function shrink(
  widths: number[],
  least: readonly number[],
  cells: readonly (readonly string[])[],
  total: number,
): void {
  const counted = cells.map(() => new Map<number, readonly number[]>());
  const countsAt = (index: number, width: number): readonly number[] => {
    const known = counted[index]?.get(width) ?? lineCounts(cells[index] ?? [], width);
    counted[index]?.set(width, known);
    return known;
  };
  const heights = cells.map((_, index) => countsAt(index, widths[index] ?? 0));
  let excess = widths.reduce((sum, width) => sum + width, gap.length * (widths.length - 1)) - total;
  while (excess > 0) {
    const [best] = widths
      .map((width, index) => ({
        index,
        width,
        next: Math.max(least[index] ?? 0, width - Math.min(2, excess)),
      }))
      .filter(({ width, next }) => next < width)
      .map((option) => {
        const narrowed = countsAt(option.index, option.next);
        return { ...option, narrowed, lines: tableHeight(heights, option.index, narrowed) };
      })
      .sort((a, b) => a.lines - b.lines || b.width - a.width);
    if (best === undefined) return;
    excess -= best.width - best.next;
    widths[best.index] = best.next;
    heights[best.index] = best.narrowed;
  }
}

function lineCounts(texts: readonly string[], width: number): readonly number[] {
  return texts.map((text) => (displayWidth(text) <= width ? 1 : wrapText(text, width).length));
}

/** Lines of all rows if one column had other line counts. */
function tableHeight(
  heights: readonly (readonly number[])[],
  changed: number,
  narrowed: readonly number[],
): number {
  return narrowed.reduce((sum, own, row) => {
    const others = heights.map((column, index) => (index === changed ? own : (column[row] ?? 1)));
    return sum + Math.max(...others);
  }, 0);
}
