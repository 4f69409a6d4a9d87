import type { BoxBlock, FieldsBlock, SignOffBlock } from '@offplate/core';
import { qrMark } from './codes.js';
import type { Piece } from './galley.js';
import { type Ink, Tag } from './ink.js';
import { gaps, type Kit, styles } from './kit.js';
import { mm } from './page.js';
import { type RowPart, rowPiece } from './rows.js';
import type { SetLine, TextStyle } from './typeset.js';

const bulletIndent = 9;

/** Items one under the other, with bullets if there are several. */
export function itemLines(
  items: readonly string[],
  style: TextStyle,
  width: number,
  kit: Kit,
  bullets: boolean,
): readonly SetLine[] {
  if (!bullets) return items.flatMap((item) => kit.type.lines(item, style, width));
  return items.flatMap((item) =>
    kit.type.lines(item, style, width - bulletIndent).map((line, index): SetLine => {
      const runs = line.runs.map((run) => ({ ...run, x: run.x + bulletIndent }));
      const bullet = { font: 'text', text: '• ', x: 2 } as const;
      return { ...line, runs: index === 0 ? [bullet, ...runs] : runs };
    }),
  );
}

/** A frame around a text; a hold point carries its title white on black. */
export function boxPieces(block: BoxBlock, kit: Kit): readonly Piece[] {
  const padX = 9;
  const inner = kit.width - 2 * padX;
  const section = new Tag('Div', kit.section);
  const hold = block.tone === 'hold';
  const title = kit.type.lines(
    block.tone === 'caution' ? `⚠ ${block.title}` : block.title,
    hold ? styles.holdTitle : styles.strong,
    inner,
  );
  const items = itemLines(block.items, styles.body, inner, kit, block.items.length > 1);
  const weight = { notice: 1.8, caution: 0.8, hold: 1.2 }[block.tone];
  const frame = (ink: Ink, part: RowPart): void => {
    sides(ink, kit, part, weight);
    if (block.tone === 'caution') {
      ink.fill({ x: kit.left, y: part.y, width: 4, height: part.height }, 'black');
    }
  };
  if (!hold) {
    const cells = [{ x: kit.left + padX, lines: [...title, ...items], tag: new Tag('P', section) }];
    return [
      rowPiece(
        { cells, padTop: 5, padBottom: 6, decorate: frame },
        { gap: gaps.block, repeat: kit.repeat },
      ),
    ];
  }
  return [
    rowPiece(
      {
        cells: [{ x: kit.left + padX, lines: title, tag: new Tag('P', section) }],
        padTop: 2.5,
        padBottom: 2.5,
        decorate: (ink, { y, height }) =>
          ink.fill({ x: kit.left, y, width: kit.width, height }, 'black'),
      },
      { gap: gaps.block, keepWithNext: true, repeat: kit.repeat },
    ),
    rowPiece(
      {
        cells: [{ x: kit.left + padX, lines: items, tag: new Tag('P', section) }],
        padTop: 4,
        padBottom: 5,
        decorate: frame,
      },
      { keepWithNext: true, repeat: kit.repeat },
    ),
  ];
}

/** Left and right always, top and bottom only where the box begins and ends. */
function sides(ink: Ink, kit: Kit, part: RowPart, weight: number): void {
  const inset = weight / 2;
  const [x1, x2] = [kit.left + inset, kit.left + kit.width - inset];
  const [y1, y2] = [part.y + inset, part.y + part.height - inset];
  ink.rule(x1, part.y, x1, part.y + part.height, weight, 'black');
  ink.rule(x2, part.y, x2, part.y + part.height, weight, 'black');
  if (part.first) ink.rule(x1, y1, x2, y1, weight, 'black');
  if (part.last) ink.rule(x1, y2, x2, y2, weight, 'black');
}

/** Boxes of one width to be signed or stamped, their labels small in the corner; a code at the right. */
export function signOffPieces(block: SignOffBlock, kit: Kit): readonly Piece[] {
  const qr = block.code === undefined ? undefined : qrMark(block.code);
  const qrSize = qr?.size ?? 0;
  const width = (kit.width - qrSize) / block.boxes.length;
  const section = new Tag('Div', kit.section);
  return [
    rowPiece(
      {
        cells: block.boxes.map((label, index) => ({
          x: kit.left + index * width + 3,
          lines: kit.type.lines(label, styles.label, width - 6),
          tag: new Tag('P', section),
        })),
        padTop: 2,
        padBottom: 2,
        minHeight: Math.max(mm(11), qrSize),
        decorate: (ink, { y, height }) => {
          for (let index = 0; index < block.boxes.length; index++) {
            ink.frame({ x: kit.left + index * width, y, width, height }, 0.6, 'black');
          }
          qr?.draw(ink, kit.left + kit.width - qrSize, y);
        },
      },
      { gap: 4, repeat: kit.repeat },
    ),
  ];
}

const fieldGutter = 8;

/** Label above value, in columns of one width; a long value takes several of them. */
export function fieldPieces(block: FieldsBlock, kit: Kit): readonly Piece[] {
  const section = new Tag('Div', kit.section);
  const pitch = kit.width / block.across;
  const rows = fillRows(block, pitch, kit);
  const title: readonly Piece[] =
    block.title === undefined ? [] : [captionPiece(block.title, section, kit)];
  return [
    ...title,
    ...rows.map((row, index) =>
      rowPiece(
        {
          cells: row.map(({ field, at, span }) => {
            const width = span * pitch - fieldGutter;
            return {
              x: kit.left + at * pitch,
              lines: [
                ...kit.type.lines(field.label, styles.label, width),
                ...kit.type.lines(field.value, styles.field, width),
              ],
              tag: new Tag('P', section),
            };
          }),
          padTop: 3,
          padBottom: 3,
          decorate: (ink, part) => {
            if (!part.last) return;
            const y = part.y + part.height;
            ink.rule(kit.left, y, kit.left + kit.width, y, 0.35, 'grey');
            for (const { field, at, span } of row) {
              if (field.value !== '') continue;
              const x = kit.left + at * pitch;
              ink.rule(x, y - 4, x + span * pitch - fieldGutter, y - 4, 0.6, 'black');
            }
          },
        },
        {
          gap: index === 0 && block.title === undefined ? gaps.block : 0,
          keepWithNext: block.keepWithNext ?? false,
          repeat: kit.repeat,
        },
      ),
    ),
  ];
}

/** The title of a block that is no table; never the last thing on a page. */
export function captionPiece(title: string, section: Tag, kit: Kit): Piece {
  return rowPiece(
    {
      cells: [
        {
          x: kit.left,
          lines: kit.type.lines(title, styles.caption, kit.width),
          tag: new Tag('P', section),
        },
      ],
      padTop: 0,
      padBottom: 0,
    },
    { gap: gaps.block, keepWithNext: true, repeat: kit.repeat },
  );
}

interface PlacedField {
  readonly field: FieldsBlock['fields'][number];
  readonly at: number;
  readonly span: number;
}

/** Fields in order, as many columns each as its text asks for; the last of a row takes the rest. */
function fillRows(
  block: FieldsBlock,
  pitch: number,
  kit: Kit,
): readonly (readonly PlacedField[])[] {
  const rows: PlacedField[][] = [];
  let row: PlacedField[] = [];
  let used = 0;
  const close = (): void => {
    const last = row.at(-1);
    if (last === undefined) return;
    rows.push([...row.slice(0, -1), { ...last, span: block.across - last.at }]);
    row = [];
    used = 0;
  };
  for (const field of block.fields) {
    const natural = kit.type.naturalWidth(field.value, styles.field) + fieldGutter;
    const span = Math.min(block.across, Math.max(1, Math.ceil(natural / pitch)));
    if (used + span > block.across) close();
    row.push({ field, at: used, span });
    used += span;
  }
  close();
  return rows;
}
