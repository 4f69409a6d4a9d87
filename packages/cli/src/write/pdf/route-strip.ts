import type { RouteStop, RouteStripBlock } from '@offplate/core';
import type { Piece } from './galley.js';
import { type Ink, Tag } from './ink.js';
import { gaps, type Kit, styles } from './kit.js';
import { type Cell, type RowPart, rowPiece } from './rows.js';
import type { TextStyle } from './typeset.js';

const slot = 35;
const boxWidth = 25;
const boxHeight = 16;
const number: TextStyle = { size: 8.5, strong: true };
const days: TextStyle = { size: 7 };

/** The operations as boxes on a line: hold points black, outside work with a second frame. */
export function routeStripPieces(block: RouteStripBlock, kit: Kit): readonly Piece[] {
  const rows = Math.max(1, Math.ceil(block.stops.length / Math.floor(kit.width / slot)));
  // rows of one length rather than full rows and a short one
  const perRow = Math.ceil(block.stops.length / rows);
  const figure = new Tag('Figure', kit.section, { alt: inWords(block.stops) });
  const pieces: Piece[] = [];
  for (let from = 0; from < block.stops.length; from += perRow) {
    const stops = block.stops.slice(from, from + perRow);
    const goesOn = from + perRow < block.stops.length;
    pieces.push(
      rowPiece(
        {
          cells: stops.flatMap((stop, index) => stopCells(stop, index, figure, kit)),
          padTop: 3,
          padBottom: 4,
          minHeight: boxHeight + 18,
          decorate: (ink, part) => drawStops(ink, stops, goesOn, part, kit),
        },
        { gap: from === 0 ? gaps.block - 4 : 0, keepWithNext: true, repeat: kit.repeat },
      ),
    );
  }
  const legend =
    'Black: hold point. Second frame: work outside the house. Below each: working days with queue.';
  pieces.push(
    rowPiece(
      {
        cells: [
          {
            x: kit.left,
            lines: kit.type.lines(legend, styles.label, kit.width),
            tag: new Tag('P', kit.section),
          },
        ],
        padTop: 0,
        padBottom: 0,
      },
      { repeat: kit.repeat },
    ),
  );
  return pieces;
}

function stopCells(stop: RouteStop, index: number, figure: Tag, kit: Kit): readonly Cell[] {
  const x = kit.left + index * slot;
  const colour = stop.holdPoint ? 'white' : 'black';
  const [numberLine] = kit.type.lines(
    String(stop.operation),
    { ...number, colour },
    boxWidth,
    'centre',
  );
  const [dayLine] = kit.type.lines(`${stop.days} d`, days, boxWidth, 'centre');
  if (numberLine === undefined || dayLine === undefined) return [];
  // the first line is as high as the box, the number in its middle
  const inBox = {
    ...numberLine,
    height: boxHeight + 3,
    baseline: boxHeight / 2 + number.size * 0.36,
  };
  return [{ x, lines: [inBox, dayLine], tag: figure }];
}

function drawStops(
  ink: Ink,
  stops: readonly RouteStop[],
  goesOn: boolean,
  part: RowPart,
  kit: Kit,
): void {
  const y = part.y + 3;
  for (const [index, stop] of stops.entries()) {
    const box = { x: kit.left + index * slot, y, width: boxWidth, height: boxHeight };
    const middle = y + boxHeight / 2;
    if (index < stops.length - 1 || goesOn) {
      ink.rule(box.x + boxWidth + 1.5, middle, box.x + slot - 1.5, middle, 0.8, 'black');
    }
    if (stop.holdPoint) ink.fill(box, 'black');
    ink.frame(box, 0.8, 'black');
    if (stop.outside) {
      ink.frame(
        { x: box.x - 2, y: y - 2, width: boxWidth + 4, height: boxHeight + 4 },
        0.6,
        'black',
      );
    }
  }
}

function inWords(stops: readonly RouteStop[]): string {
  const words = stops.map(
    (stop) =>
      `${stop.operation}${stop.holdPoint ? ' hold point' : ''}${stop.outside ? ' outside' : ''}, ${stop.days} days`,
  );
  return `Route: ${words.join('; ')}`;
}
