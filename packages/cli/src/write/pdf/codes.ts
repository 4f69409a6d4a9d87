import qrcode from 'qrcode-generator';
import { code128Symbol } from './code-128.js';
import type { Piece } from './galley.js';
import { type Ink, type Rectangle, Tag } from './ink.js';
import { type Kit, styles } from './kit.js';
import { mm } from './page.js';
import { rowPiece } from './rows.js';

// Sizes that a hand-held scanner reads from a soiled sheet (common practice, no source).
const qrModule = mm(0.5);
const barModule = mm(0.27);
const barHeight = mm(11);
/** Quiet zones: ISO/IEC 18004, 4 modules; ISO/IEC 15417, 10 modules. */
const qrQuiet = 4;
const barQuiet = 10;

/** Dark modules of a QR symbol at level M, runs of a row in one, in modules without quiet zone. */
function qrRuns(text: string): {
  readonly modules: number;
  readonly runs: readonly { readonly row: number; readonly from: number; readonly to: number }[];
} {
  const symbol = qrcode(0, 'M');
  // the generator takes the low byte of each character: give it the bytes of UTF-8
  symbol.addData(Buffer.from(text, 'utf8').toString('latin1'), 'Byte');
  symbol.make();
  const modules = symbol.getModuleCount();
  const runs: { row: number; from: number; to: number }[] = [];
  for (let row = 0; row < modules; row++) {
    let from: number | undefined;
    for (let column = 0; column <= modules; column++) {
      const dark = column < modules && symbol.isDark(row, column);
      if (dark && from === undefined) from = column;
      if (!dark && from !== undefined) {
        runs.push({ row, from, to: column });
        from = undefined;
      }
    }
  }
  return { modules, runs };
}

/** A QR symbol with the quiet zone around it, ready to be drawn. */
export interface QrMark {
  /** Edge with the quiet zone, points. */
  readonly size: number;
  draw(ink: Ink, x: number, y: number): void;
}

export function qrMark(text: string): QrMark {
  const { modules, runs } = qrRuns(text);
  return {
    size: (modules + 2 * qrQuiet) * qrModule,
    draw: (ink, x, y) =>
      ink.fillAll(
        runs.map(
          ({ row, from, to }): Rectangle => ({
            x: x + (from + qrQuiet) * qrModule,
            y: y + (row + qrQuiet) * qrModule,
            width: (to - from) * qrModule,
            height: qrModule,
          }),
        ),
        'black',
      ),
  };
}

/**
 * A row with a text as Code 128 at the left, the text below it, and as QR at the right. A text that
 * Code 128 does not hold, or that is too long for the line, has the QR symbol only.
 */
export function codePiece(text: string, kit: Kit): Piece {
  const qr = qrMark(text);
  const room = kit.width - qr.size;
  const symbol = code128Symbol(text);
  const width = symbol === undefined ? 0 : (symbol.modules + 2 * barQuiet) * barModule;
  const bars = symbol === undefined || width > room ? [] : symbol.bars;
  const left = kit.left + (bars.length === 0 ? 0 : barQuiet * barModule);
  const top = bars.length === 0 ? mm(4) : barHeight + 3;
  const alt = `${bars.length === 0 ? 'QR' : 'Code 128 and QR'} symbol of ${text}`;
  return rowPiece(
    {
      cells: [
        {
          x: left,
          lines: kit.type.lines(text, styles.label, room - (left - kit.left)),
          tag: new Tag('Figure', kit.section, { alt }),
        },
      ],
      padTop: mm(3) + top,
      padBottom: 0,
      minHeight: qr.size,
      decorate: (ink, part) => {
        ink.fillAll(
          bars.map(
            (bar): Rectangle => ({
              x: left + bar.at * barModule,
              y: part.y + mm(3),
              width: bar.width * barModule,
              height: barHeight,
            }),
          ),
          'black',
        );
        qr.draw(ink, kit.left + kit.width - qr.size, part.y);
      },
    },
    { keepWithNext: true },
  );
}
