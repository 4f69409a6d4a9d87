import fc from 'fast-check';
import { beforeAll, describe, expect, test } from 'vitest';
import { columnWidths } from '../../packages/cli/src/write/pdf/column-widths.js';
import { openFonts } from '../../packages/cli/src/write/pdf/fonts.js';
import { countPages, type Piece, setPages } from '../../packages/cli/src/write/pdf/galley.js';
import { createGlyphCheck, type GlyphCheck } from '../../packages/cli/src/write/pdf/glyphs.js';
import { Ink, Tag } from '../../packages/cli/src/write/pdf/ink.js';
import { rowPiece } from '../../packages/cli/src/write/pdf/rows.js';
import {
  createTypesetter,
  type SetLine,
  type Typesetter,
} from '../../packages/cli/src/write/pdf/typeset.js';

const seed = 417;

let glyphs: GlyphCheck;
let type: Typesetter;

beforeAll(async () => {
  const fonts = await openFonts();
  glyphs = createGlyphCheck(fonts);
  type = createTypesetter(glyphs, fonts);
});

const anyText = fc.oneof(
  fc.string({ unit: 'grapheme', maxLength: 300 }),
  fc.lorem({ maxCount: 40 }),
  fc
    .array(
      fc.constantFrom('⌀25', '⌖', '±0.05', 'x'.repeat(80), 'α-β/γ', '山', ' ', '\n', 'e\u0301'),
    )
    .map((parts) => parts.join(' ')),
);

function textOf(line: SetLine): string {
  return line.runs.map((run) => run.text).join('');
}

describe('typesetting', () => {
  test('lines hold every character of the text, in order', () => {
    fc.assert(
      fc.property(
        anyText,
        fc.integer({ min: 5, max: 500 }),
        fc.boolean(),
        (text, width, strong) => {
          const lines = type.lines(text, { size: 8.5, strong }, width);
          const drawn = lines.map(textOf).join('').replaceAll(' ', '');
          expect(drawn).toBe(glyphs.printable(text).replace(/[ \n]/g, ''));
        },
      ),
      { seed, numRuns: 300 },
    );
  });

  test('no line is wider than its cell, but for a single character that is', () => {
    fc.assert(
      fc.property(anyText, fc.integer({ min: 5, max: 500 }), (text, width) => {
        for (const line of type.lines(text, { size: 9 }, width)) {
          const single =
            [...textOf(line).normalize('NFC')].length <= 1 || /\p{M}/u.test(textOf(line));
          if (!single) expect(line.width).toBeLessThanOrEqual(width + 1e-6);
        }
      }),
      { seed, numRuns: 300 },
    );
  });

  test('a text set to its natural width keeps its own lines', () => {
    fc.assert(
      fc.property(fc.lorem({ maxCount: 30 }), (text) => {
        const style = { size: 8.5 };
        expect(type.lines(text, style, type.naturalWidth(text, style) + 0.01)).toHaveLength(1);
      }),
      { seed, numRuns: 100 },
    );
  });
});

describe('column widths', () => {
  const needs = fc.array(
    fc
      .record({
        least: fc.double({ min: 5, max: 120, noNaN: true }),
        more: fc.double({ min: 0, max: 20_000, noNaN: true }),
        share: fc.double({ min: 0.05, max: 1, noNaN: true }),
        set: fc.option(fc.double({ min: 5, max: 90, noNaN: true }), { nil: undefined }),
        grows: fc.boolean(),
      })
      .map(({ least, more, share, set, grows }) => ({
        least,
        natural: least + more,
        amount: (least + more) * share,
        grows,
        ...(set === undefined ? {} : { set }),
      })),
    { minLength: 1, maxLength: 10 },
  );

  test('add up to the table and are positive', () => {
    fc.assert(
      fc.property(needs, fc.integer({ min: 200, max: 600 }), (columns, total) => {
        const widths = columnWidths(columns, total);
        expect(widths.reduce((sum, width) => sum + width, 0)).toBeCloseTo(total, 6);
        for (const width of widths) expect(width).toBeGreaterThan(0);
      }),
      { seed, numRuns: 500 },
    );
  });

  test('break no word while the longest words of all columns fit side by side', () => {
    fc.assert(
      fc.property(needs, fc.integer({ min: 200, max: 600 }), (columns, total) => {
        const needed = columns.reduce((sum, column) => sum + (column.set ?? column.least), 0);
        fc.pre(needed <= total);
        columnWidths(columns, total).forEach((width, index) => {
          const column = columns[index];
          expect(width).toBeGreaterThanOrEqual((column?.set ?? column?.least ?? 0) - 1e-9);
        });
      }),
      { seed, numRuns: 500 },
    );
  });
});

describe('pages', () => {
  interface Drawn {
    readonly name: string;
    readonly page: number;
    readonly top: number;
    readonly bottom: number;
    readonly again: boolean;
  }

  /** The pieces here draw nothing. */
  const noInk = new Ink(undefined as never);

  function lay(pieces: readonly Piece[], names: readonly string[]): readonly Drawn[] {
    let page = 1;
    const drawn: Drawn[] = [];
    const watch = (piece: Piece, name: string): Piece => ({
      ...piece,
      draw: (_, y, again) => {
        drawn.push({ name, page, top: y, bottom: y + piece.height, again });
      },
      split: (room) => {
        const parts = piece.split(room);
        return parts && [watch(parts[0], name), watch(parts[1], name)];
      },
      repeat: piece.repeat.map((head, index) => watch(head, `${name} head ${index}`)),
    });
    const watched = pieces.map((piece, index) => watch(piece, names[index] ?? ''));
    setPages(watched, {
      top: 40,
      bottom: 740,
      place: (piece, y, again) => piece.draw(noInk, y, again),
      turnPage: () => {
        page++;
      },
    });
    expect(countPages(pieces, 40, 740)).toBe(page);
    return drawn;
  }

  const pieceShapes = fc.array(
    fc.record({
      lines: fc.integer({ min: 1, max: 150 }),
      keepWithNext: fc.boolean(),
      newPage: fc.boolean(),
      gap: fc.integer({ min: 0, max: 30 }),
      repeats: fc.integer({ min: 0, max: 2 }),
    }),
    { minLength: 1, maxLength: 40 },
  );

  test('pieces come in order, complete, inside the page and never on top of each other', () => {
    const style = { size: 10 };
    const line: SetLine = { runs: [], width: 0, height: 12.8, baseline: 9.7, style };
    const tag = new Tag('P');
    const head = rowPiece({ cells: [{ x: 0, lines: [line], tag }], padTop: 2, padBottom: 2 });
    fc.assert(
      fc.property(pieceShapes, (shapes) => {
        const pieces = shapes.map((shape) =>
          rowPiece(
            {
              cells: [{ x: 0, lines: Array.from({ length: shape.lines }, () => line), tag }],
              padTop: 2,
              padBottom: 2,
            },
            {
              gap: shape.gap,
              keepWithNext: shape.keepWithNext,
              newPage: shape.newPage,
              repeat: Array.from({ length: shape.repeats }, () => head),
            },
          ),
        );
        const drawn = lay(
          pieces,
          shapes.map((_, index) => String(index)),
        );
        const own = drawn.filter((each) => !each.again);
        const order = own.map((each) => Number(each.name));
        expect(order).toEqual([...order].sort((left, right) => left - right));
        shapes.forEach((shape, index) => {
          const parts = own.filter((each) => each.name === String(index));
          const height = parts.reduce((sum, part) => sum + part.bottom - part.top - 4, 0);
          expect(height).toBeCloseTo(shape.lines * 12.8, 6);
        });
        let [page, bottom] = [1, 0];
        for (const each of drawn) {
          if (each.page !== page) [page, bottom] = [each.page, 0];
          expect(each.top).toBeGreaterThanOrEqual(Math.max(40, bottom) - 1e-6);
          expect(each.bottom).toBeLessThanOrEqual(740.02);
          bottom = each.bottom;
        }
        // no page is empty
        expect(new Set(own.map((each) => each.page)).size).toBe(
          Math.max(...own.map((each) => each.page)),
        );
      }),
      { seed, numRuns: 200 },
    );
  });

  test('a short piece that keeps with the next is never the last on its page', () => {
    const style = { size: 10 };
    const line: SetLine = { runs: [], width: 0, height: 12.8, baseline: 9.7, style };
    const tag = new Tag('P');
    const shapes = fc.array(
      fc.record({ lines: fc.integer({ min: 1, max: 8 }), keepWithNext: fc.boolean() }),
      { minLength: 2, maxLength: 60 },
    );
    fc.assert(
      fc.property(shapes, (rows) => {
        // a chain of kept pieces must fit a page for the promise to hold
        const bounded = rows.map((row, index) => ({
          ...row,
          keepWithNext: row.keepWithNext && index % 4 !== 3,
        }));
        const pieces = bounded.map((row) =>
          rowPiece(
            {
              cells: [{ x: 0, lines: Array.from({ length: row.lines }, () => line), tag }],
              padTop: 0,
              padBottom: 0,
            },
            { keepWithNext: row.keepWithNext, gap: 5 },
          ),
        );
        const drawn = lay(
          pieces,
          bounded.map((_, index) => String(index)),
        );
        bounded.forEach((row, index) => {
          if (!row.keepWithNext || index === bounded.length - 1) return;
          expect(drawn[index]?.page).toBe(drawn[index + 1]?.page);
        });
      }),
      { seed, numRuns: 200 },
    );
  });
});
