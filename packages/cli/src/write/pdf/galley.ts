import type { Ink } from './ink.js';

/** A stretch of the sheet that stands on one page, or that knows where it may be parted. */
export interface Piece {
  readonly height: number;
  /** Space above, unless it begins a page. */
  readonly gap: number;
  /** Never the last thing on a page. */
  readonly keepWithNext: boolean;
  /** Begins a page. */
  readonly newPage: boolean;
  /** Drawn again above it when a page break falls before or inside it. */
  readonly repeat: readonly Piece[];
  /** Least height that may stand at the foot of a page; the whole height if it may not be parted. */
  readonly least: number;
  /** `again` for a piece that repeats what stands on an earlier page. */
  draw(ink: Ink, y: number, again: boolean): void;
  /** The part that fits into `room` and the rest; undefined when not one line fits. */
  split(room: number): readonly [Piece, Piece] | undefined;
}

/** What pages are filled on: paper, or nothing when pages are only counted. */
export interface Galley {
  readonly top: number;
  readonly bottom: number;
  place(piece: Piece, y: number, again: boolean): void;
  /** Ends a page and begins the next; `continued` when what was parted goes on there. */
  turnPage(continued: boolean): void;
}

/** Sums of heights are compared with this tolerance, points. */
const slack = 0.01;

/** Fills pages with the pieces in order; the first page must exist. */
export function setPages(pieces: readonly Piece[], galley: Galley): void {
  const { top, bottom } = galley;
  let y = top;
  /** Nothing but repeated heads on the page yet. */
  let fresh = true;

  const turn = (next: Piece): void => {
    galley.turnPage(next.repeat.length > 0);
    y = top;
    fresh = true;
    for (const head of next.repeat) {
      galley.place(head, y, true);
      y += head.height;
    }
  };

  const place = (piece: Piece): void => {
    y += fresh ? 0 : piece.gap;
    galley.place(piece, y, false);
    y += piece.height;
    fresh = false;
  };

  const put = (piece: Piece): void => {
    let rest = piece;
    for (;;) {
      const room = bottom - y - (fresh ? 0 : rest.gap);
      if (rest.height <= room + slack) break;
      const parts = rest.split(room);
      if (parts !== undefined) {
        place(parts[0]);
        rest = parts[1];
      } else if (fresh) {
        break;
      }
      turn(rest);
    }
    place(rest);
  };

  for (const [index, piece] of pieces.entries()) {
    const need = (fresh ? 0 : piece.gap) + groupHeight(pieces, index, bottom - top);
    if (!fresh && (piece.newPage || y + need > bottom + slack)) turn(piece);
    put(piece);
  }
}

/** How many pages the pieces fill. */
export function countPages(pieces: readonly Piece[], top: number, bottom: number): number {
  let pages = 1;
  setPages(pieces, {
    top,
    bottom,
    place: () => undefined,
    turnPage: () => {
      pages++;
    },
  });
  return pages;
}

/** Height that must be free for the piece and all that it may not be parted from. */
function groupHeight(pieces: readonly Piece[], index: number, pageHeight: number): number {
  let height = 0;
  for (let at = index; ; at++) {
    const piece = pieces[at];
    if (piece === undefined) break;
    height += at === index ? 0 : piece.gap;
    if (!piece.keepWithNext) {
      height += piece.least;
      break;
    }
    height += piece.height;
  }
  // a group that no page holds is parted wherever it comes to an end
  return height <= pageHeight ? height : (pieces[index]?.least ?? 0);
}
