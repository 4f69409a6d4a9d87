import type { Bar, BarsBlock } from '@offplate/core';
import { captionPiece } from './boxes.js';
import type { Piece } from './galley.js';
import { type Ink, type Rectangle, Tag } from './ink.js';
import { type Kit, styles } from './kit.js';
import { type RowPart, rowPiece } from './rows.js';

const labelShare = 0.36;
const gutter = 8;
const barHeight = 8;
const swatch = 8;

/** One row a bar: label, bar on the common scale, value. Labels that are too long take two lines. */
export function barPieces(block: BarsBlock, kit: Kit): readonly Piece[] {
  const section = new Tag('Div', kit.section);
  const valueWidth = Math.max(
    0,
    ...block.bars.map((bar) => kit.type.naturalWidth(bar.value, styles.body)),
  );
  const labelWidth = kit.width * labelShare;
  const barLeft = kit.left + labelWidth + gutter;
  const barWidth = Math.max(0, kit.width - labelWidth - valueWidth - 2 * gutter);
  const most = Math.max(0, ...block.bars.flatMap((bar) => bar.segments.map(({ to }) => to)));
  const scale = most > 0 ? barWidth / most : 0;
  return [
    captionPiece(block.title, section, kit),
    ...(block.legend === undefined ? [] : [legendPiece(block.legend, section, kit)]),
    ...block.bars.map((bar, index) =>
      rowPiece(
        {
          cells: [
            {
              x: kit.left,
              lines: kit.type.lines(bar.label, styles.body, labelWidth),
              tag: new Tag('P', section),
            },
            {
              x: kit.left + kit.width - valueWidth,
              lines: kit.type.lines(bar.value, styles.body, valueWidth, 'right'),
              tag: new Tag('P', section),
            },
          ],
          padTop: 2,
          padBottom: 2,
          decorate: (ink, part) => drawBar(ink, bar, part, barLeft, scale),
        },
        { repeat: kit.repeat, keepWithNext: index === 0 || index === block.bars.length - 2 },
      ),
    ),
  ];
}

function drawBar(ink: Ink, bar: Bar, part: RowPart, left: number, scale: number): void {
  // beside the first line, also when the label takes two
  const y = part.y + 2 + (styles.body.size * 1.28 - barHeight) / 2;
  ink.rule(left, part.y, left, part.y + part.height, 0.5, 'black');
  if (!part.first) return;
  for (const { from, to, tone } of bar.segments) {
    const box = { x: left + from * scale, y, width: (to - from) * scale, height: barHeight };
    if (box.width > 0) drawTone(ink, box, tone);
  }
}

/** Light parts carry a frame, so that they stand out on a poor copy too. */
function drawTone(ink: Ink, box: Rectangle, tone: 'dark' | 'light'): void {
  ink.fill(box, tone === 'dark' ? 'grey' : 'pale');
  ink.frame(box, 0.5, 'black');
}

function legendPiece(legend: NonNullable<BarsBlock['legend']>, section: Tag, kit: Kit): Piece {
  const dark = kit.type.lines(legend.dark, styles.label, kit.width / 2);
  const lightX = kit.left + swatch + 4 + (dark[0]?.width ?? 0) + 14;
  const light = kit.type.lines(legend.light, styles.label, kit.width / 3);
  return rowPiece(
    {
      cells: [
        { x: kit.left + swatch + 4, lines: dark, tag: new Tag('P', section) },
        { x: lightX + swatch + 4, lines: light, tag: new Tag('P', section) },
      ],
      padTop: 2,
      padBottom: 4,
      decorate: (ink, part) => {
        const box = { y: part.y + 3, width: swatch, height: swatch - 2 };
        drawTone(ink, { ...box, x: kit.left }, 'dark');
        drawTone(ink, { ...box, x: lightX }, 'light');
      },
    },
    { keepWithNext: true, repeat: kit.repeat },
  );
}
