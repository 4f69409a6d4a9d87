import type { Column, TableBlock } from '@offplate/core';
import { type ColumnNeed, columnWidths } from './column-widths.js';
import type { Piece } from './galley.js';
import { type Ink, type Rectangle, Tag } from './ink.js';
import { gaps, type Kit, styles } from './kit.js';
import { mm } from './page.js';
import { type Cell, type Row, type RowPart, rowPiece } from './rows.js';
import type { SetLine } from './typeset.js';

const padX = 3.5;
const padY = 2.6;
/** Room to write in by hand. */
const entryHeight = mm(7);
/** A longer word is broken rather than given a column of its own width. */
const longestWord = mm(34);
/** A note longer than this many table widths counts as one of this length. */
const longestCounted = 4;
/** A caption that takes more lines is not repeated in full on every page. */
const mostCaptionLines = 2;

/** Caption, head and rows; the head is repeated on every page with the mark "continued". */
export function tablePieces(block: TableBlock, kit: Kit): readonly Piece[] {
  const table = new Tag('Table', kit.section);
  const columns = layOutColumns(block, kit);
  const caption = captionPiece(block.title, table, kit, false);
  const head = headPiece(block, columns, table, kit);
  const repeat = [
    ...kit.repeat,
    captionPiece(continuedTitle(block.title, kit), table, kit, true),
    head,
  ];
  return [
    caption,
    head,
    ...block.rows.map((cells, index) =>
      rowPiece(bodyRow(cells, columns, table, kit), {
        repeat,
        // two rows stand below a head, and a last row is not alone on a page
        keepWithNext: block.rows.length > 1 && (index === 0 || index === block.rows.length - 2),
      }),
    ),
  ];
}

function continuedTitle(title: string, kit: Kit): string {
  const text = `${title} (continued)`;
  return kit.type.lines(text, styles.caption, kit.width).length <= mostCaptionLines
    ? text
    : '(continued)';
}

function captionPiece(title: string, table: Tag, kit: Kit, again: boolean): Piece {
  return rowPiece(
    {
      cells: [
        {
          x: kit.left,
          lines: kit.type.lines(title, styles.caption, kit.width),
          tag: new Tag('Caption', table),
        },
      ],
      padTop: again ? 2 : 0,
      padBottom: 2.5,
    },
    { gap: gaps.block, keepWithNext: true, repeat: kit.repeat },
  );
}

interface SetColumn {
  readonly column: Column;
  readonly x: number;
  readonly width: number;
  /** For decimal columns: widest part before the mark, and widest part from the mark on. */
  readonly before: number;
  readonly after: number;
}

const decimalText = /^([−-]?\d+)([.,]\d+)?$/;

function layOutColumns(block: TableBlock, kit: Kit): readonly SetColumn[] {
  const { type } = kit;
  const measured = block.columns.map((column, index) => {
    const texts = block.rows.map((row) => row[index] ?? '');
    const numbers = column.align === 'decimal' ? texts.map(splitDecimal) : [];
    const width = (text: string): number => type.naturalWidth(text, styles.body);
    const before = Math.max(0, ...numbers.map((parts) => (parts ? width(parts[0]) : 0)));
    const after = Math.max(0, ...numbers.map((parts) => (parts ? width(parts[1]) : 0)));
    const words = numbers.length === 0 ? texts : texts.filter((text) => !splitDecimal(text));
    const titleWord = type.widestWord(column.title, styles.columnTitle);
    const natural = Math.max(before + after, twoLineWidth(column.title, kit), ...words.map(width));
    const title = type.naturalWidth(column.title, styles.columnTitle);
    const most = longestCounted * kit.width;
    const amount = rootMeanSquare([title, ...texts.map((text) => Math.min(most, width(text)))]);
    const least = Math.max(
      before + after,
      titleWord,
      ...words.map((text) => Math.min(longestWord, type.widestWord(text, styles.body))),
    );
    return { column, before, after, natural, amount, least };
  });
  const everyEntry = block.columns.every((column) => column.entryWidthMm !== undefined);
  const needs = measured.map(
    ({ column, natural, amount, least }): ColumnNeed => ({
      natural: (everyEntry ? mm(column.entryWidthMm ?? 0) : natural) + 2 * padX,
      amount: amount + 2 * padX,
      least: least + 2 * padX,
      grows: column.align === 'left',
      ...(column.entryWidthMm === undefined || everyEntry ? {} : { set: mm(column.entryWidthMm) }),
    }),
  );
  let x = kit.left;
  return columnWidths(needs, kit.width).map((width, index) => {
    const at = x;
    x += width;
    const { column, before, after } = measured[index] ?? emptyColumn;
    return { column, x: at, width, before, after };
  });
}

function rootMeanSquare(values: readonly number[]): number {
  return Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);
}

/** Narrowest width at which a title takes no more than two lines. */
function twoLineWidth(title: string, kit: Kit): number {
  const words = title.split(' ');
  const width = (part: readonly string[]): number =>
    kit.type.naturalWidth(part.join(' '), styles.columnTitle);
  return Math.min(
    ...words.map((_, index) => Math.max(width(words.slice(0, index)), width(words.slice(index)))),
  );
}

const emptyColumn = { column: { title: '', align: 'left' }, before: 0, after: 0 } as const;

function splitDecimal(text: string): readonly [string, string] | undefined {
  const match = decimalText.exec(text);
  return match === null ? undefined : [match[1] ?? '', match[2] ?? ''];
}

function headPiece(block: TableBlock, columns: readonly SetColumn[], table: Tag, kit: Kit): Piece {
  const tr = new Tag('TR', table);
  const cells = columns.map(
    ({ column, x, width }): Cell => ({
      x: x + padX,
      lines: kit.type.lines(
        column.title,
        styles.columnTitle,
        width - 2 * padX,
        column.align === 'decimal' ? 'right' : column.align,
      ),
      tag: new Tag('TH', tr, { scope: 'Column' }),
    }),
  );
  return rowPiece(
    {
      cells,
      padTop: padY,
      padBottom: padY,
      decorate: (ink, part) => {
        const box = { x: kit.left, width: kit.width, y: part.y, height: part.height };
        ink.fill(box, 'pale');
        ink.rule(box.x, box.y, box.x + box.width, box.y, 0.8, 'black');
        ink.rule(box.x, box.y + box.height, box.x + box.width, box.y + box.height, 0.5, 'black');
      },
    },
    { keepWithNext: block.rows.length > 0, repeat: kit.repeat },
  );
}

function bodyRow(
  texts: readonly string[],
  columns: readonly SetColumn[],
  table: Tag,
  kit: Kit,
): Row {
  const tr = new Tag('TR', table);
  const entries = columns.filter(({ column }) => column.entryWidthMm !== undefined);
  const cells = columns.map(
    (column, index): Cell => ({
      x: column.x + padX,
      lines: cellLines(texts[index] ?? '', column, kit),
      tag: new Tag('TD', tr),
    }),
  );
  return {
    cells,
    padTop: padY,
    padBottom: padY,
    ...(entries.length === 0 ? {} : { minHeight: entryHeight }),
    decorate: (ink, part) => {
      for (const entry of entries) ink.frame(entryBox(entry, part), 0.5, 'black');
      ruleBelow(ink, kit, part);
    },
  };
}

function ruleBelow(ink: Ink, kit: Kit, part: RowPart): void {
  if (!part.last) return;
  const y = part.y + part.height;
  ink.rule(kit.left, y, kit.left + kit.width, y, 0.35, 'grey');
}

function entryBox(column: SetColumn, part: RowPart): Rectangle {
  return { x: column.x, y: part.y, width: column.width, height: part.height };
}

/** Numbers of a decimal column stand right with their marks in one line; words beside them right. */
function cellLines(text: string, column: SetColumn, kit: Kit): readonly SetLine[] {
  const inner = column.width - 2 * padX;
  const { align } = column.column;
  if (align !== 'decimal') return kit.type.lines(text, styles.body, inner, align);
  const parts = splitDecimal(text);
  if (parts === undefined || column.before + column.after > inner) {
    return kit.type.lines(text, styles.body, inner, 'right');
  }
  const room = inner - column.after + kit.type.naturalWidth(parts[1], styles.body);
  return kit.type.lines(text, styles.body, room, 'right');
}
