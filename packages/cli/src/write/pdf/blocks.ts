import type { Block, OperationBlock } from '@offplate/core';
import { barPieces } from './bars.js';
import { boxPieces, fieldPieces, itemLines, signOffPieces } from './boxes.js';
import { curvePieces } from './curve.js';
import { drawingPieces } from './drawing.js';
import type { Piece } from './galley.js';
import { Tag } from './ink.js';
import { gaps, type Kit, styles } from './kit.js';
import { routeStripPieces } from './route-strip.js';
import { rowPiece } from './rows.js';
import { tablePieces } from './table.js';
import type { SetLine } from './typeset.js';

/** An operation up to this share of a page is moved to the next page rather than parted. */
const mostKeptShare = 0.5;

/** The blocks of a sheet one after the other; no signature without what it is about. */
export function sheetPieces(
  blocks: readonly Block[],
  kit: Kit,
  pageHeight: number,
): readonly Piece[] {
  return blocks.flatMap((block, index) => {
    const pieces = blockPieces(block, kit, pageHeight);
    return blocks[index + 1]?.type === 'sign-off' ? keepLast(pieces) : pieces;
  });
}

function blockPieces(block: Block, kit: Kit, pageHeight: number): readonly Piece[] {
  switch (block.type) {
    case 'heading':
      return [
        textPiece(
          kit.type.lines(block.text, styles.heading, kit.width),
          new Tag('H2', kit.section),
          kit,
          {
            gap: gaps.heading,
            keepWithNext: true,
            newPage: block.newPage ?? false,
          },
        ),
      ];
    case 'paragraph':
      return [
        textPiece(
          kit.type.lines(block.text, styles.body, kit.width),
          new Tag('P', kit.section),
          kit,
          {
            gap: gaps.block,
          },
        ),
      ];
    case 'list':
      return [
        textPiece(
          kit.type.lines(block.title, styles.caption, kit.width),
          new Tag('P', kit.section),
          kit,
          {
            gap: gaps.block,
            keepWithNext: true,
          },
        ),
        ...block.items.map((item) =>
          textPiece(
            itemLines([item], styles.body, kit.width, kit, true),
            new Tag('P', kit.section),
            kit,
            {
              gap: 1,
            },
          ),
        ),
      ];
    case 'fields':
      return fieldPieces(block, kit);
    case 'table':
      return tablePieces(block, kit);
    case 'box':
      return boxPieces(block, kit);
    case 'sign-off':
      return signOffPieces(block, kit);
    case 'route-strip':
      return routeStripPieces(block, kit);
    case 'bars':
      return barPieces(block, kit);
    case 'curve':
      return curvePieces(block, kit);
    case 'drawing':
      return drawingPieces(block, kit);
    case 'operation':
      return operationPieces(block, kit, pageHeight);
  }
}

function textPiece(
  lines: readonly SetLine[],
  tag: Tag,
  kit: Kit,
  setting: { gap: number; keepWithNext?: boolean; newPage?: boolean },
): Piece {
  return rowPiece(
    { cells: [{ x: kit.left, lines, tag }], padTop: 0, padBottom: 0 },
    { ...setting, repeat: kit.repeat },
  );
}

const numberWidth = 36;

function operationPieces(block: OperationBlock, kit: Kit, pageHeight: number): readonly Piece[] {
  const section = new Tag('Sect', kit.section);
  const inner: Kit = { ...kit, section, repeat: [continuationPiece(block, kit, section)] };
  const [setup = [], ...rest] = block.blocks.map((each) => blockPieces(each, inner, pageHeight));
  // no signature and no hold point without what it is about
  const pieces = rest.flatMap((each, index) =>
    isGate(block.blocks[index + 2]) ? keepLast(each) : each,
  );
  const all = [operationHead(block, kit, section), ...setup].map(kept).concat(pieces);
  const height = all.reduce((sum, piece) => sum + piece.gap + piece.height, 0);
  if (height > pageHeight * mostKeptShare) return all;
  return [...all.slice(0, -1).map(kept), ...all.slice(-1)];
}

function isGate(block: Block | undefined): boolean {
  return block?.type === 'sign-off' || (block?.type === 'box' && block.tone === 'hold');
}

function kept(piece: Piece): Piece {
  return { ...piece, keepWithNext: true };
}

function keepLast(pieces: readonly Piece[]): readonly Piece[] {
  return [...pieces.slice(0, -1), ...pieces.slice(-1).map(kept)];
}

/** Number white on black, title, work centre at the right, below a heavy rule. */
function operationHead(block: OperationBlock, kit: Kit, section: Tag): Piece {
  const heading = new Tag('H3', section);
  const titleWidth = (kit.width - numberWidth) * 0.6;
  const centreWidth = kit.width - numberWidth - titleWidth - 16;
  return rowPiece(
    {
      cells: [
        {
          x: kit.left,
          lines: kit.type.lines(
            String(block.number),
            styles.operationNumber,
            numberWidth,
            'centre',
          ),
          tag: heading,
        },
        {
          x: kit.left + numberWidth + 8,
          lines: kit.type.lines(block.title, styles.operation, titleWidth),
          tag: heading,
        },
        {
          x: kit.left + numberWidth + 16 + titleWidth,
          lines: kit.type.lines(block.workCentre, styles.field, centreWidth, 'right'),
          tag: new Tag('P', section),
        },
      ],
      padTop: 5,
      padBottom: 4,
      decorate: (ink, part) => {
        ink.rule(kit.left, part.y, kit.left + kit.width, part.y, 1.6, 'black');
        ink.fill({ x: kit.left, y: part.y, width: numberWidth, height: part.height }, 'black');
      },
    },
    { gap: gaps.operation, keepWithNext: true },
  );
}

function continuationPiece(block: OperationBlock, kit: Kit, section: Tag): Piece {
  const full = `Op ${block.number} · ${block.title} (continued)`;
  const set = kit.type.lines(full, styles.strong, kit.width);
  const lines =
    set.length <= 2
      ? set
      : kit.type.lines(`Op ${block.number} (continued)`, styles.strong, kit.width);
  return rowPiece({
    cells: [{ x: kit.left, lines, tag: new Tag('P', section) }],
    padTop: 0,
    padBottom: 7,
    decorate: (ink, part) => {
      const y = part.y + part.height - 4.5;
      ink.rule(kit.left, y, kit.left + kit.width, y, 1.2, 'black');
    },
  });
}
