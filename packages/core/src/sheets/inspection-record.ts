import type { InspectionItem } from '../plan/types.js';
import type { Block, Column, TableBlock } from './types.js';

/** Up to so many pieces have their boxes beside the limits. */
export const mostBesideLimits = 3;
/** Pieces side by side in a record of its own. */
const piecesAcross = 12;
/** A larger sample is recorded by its extremes; its values belong into a file. */
const mostPieces = 60;

/** Boxes beside the limits: one a piece for a few, else the count of bad ones. */
export function foundColumns(items: readonly InspectionItem[]): readonly Column[] {
  const most = Math.max(...items.map((item) => item.sample));
  if (most > mostPieces) return entries(['Least found', 'Most found', 'Bad'], [16, 16, 10]);
  if (most > mostBesideLimits) return entries(['Bad'], [11]);
  return most === 1
    ? entries(['Found'], [20])
    : Array.from({ length: most }, (_, index) => ({
        title: `Part ${index + 1}`,
        align: 'left',
        entryWidthMm: 15,
      }));
}

function entries(titles: readonly string[], widthsMm: readonly number[]): readonly Column[] {
  return titles.map((title, index) => ({
    title,
    align: 'left',
    entryWidthMm: widthsMm[index] ?? 0,
  }));
}

/** A box for every piece of every sample too large for the table of limits; alike samples together. */
export function recordBlocks(items: readonly InspectionItem[]): readonly Block[] {
  const sizes = [...new Set(items.map((item) => item.sample))];
  const own = sizes.filter((size) => size > mostBesideLimits && size <= mostPieces);
  if (Math.max(...sizes) <= mostBesideLimits) return [];
  return own.flatMap((size) => {
    const alike = items.filter((item) => item.sample === size);
    const grids: TableBlock[] = [];
    for (let from = 1; from <= size; from += piecesAcross)
      grids.push(grid(alike, from, Math.min(size, from + piecesAcross - 1)));
    return grids;
  });
}

const labelWidthMm = 17;
const recordWidthMm = 178;

function grid(items: readonly InspectionItem[], from: number, to: number): TableBlock {
  const pieces = Array.from({ length: to - from + 1 }, (_, index) => from + index);
  // a short last grid keeps the boxes of a full one
  const across = Math.max(pieces.length, piecesAcross / 2);
  const entryWidthMm = (recordWidthMm - labelWidthMm) / across;
  const empty = pieces.map(() => '');
  return {
    type: 'table',
    form: true,
    title: `Found, ${from === to ? `piece ${from}` : `pieces ${from} to ${to}`}`,
    columns: [
      { title: 'Piece', align: 'left' },
      ...pieces.map((piece) => ({ title: String(piece), align: 'left' as const, entryWidthMm })),
    ],
    rows: [['Serial no.', ...empty], ...items.map((item) => [`No. ${item.number}`, ...empty])],
  };
}
