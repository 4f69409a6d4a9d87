import type { Finding, Sheet } from '@offplate/core';
import PDFDocument from 'pdfkit';
import { sheetPieces } from './blocks.js';
import { fieldPieces } from './boxes.js';
import { codePiece } from './codes.js';
import { openFonts } from './fonts.js';
import { countPages, type Piece, setPages } from './galley.js';
import { createGlyphCheck, type GlyphCheck } from './glyphs.js';
import { Ink, Tag } from './ink.js';
import { type Kit, styles } from './kit.js';
import { type PageFrame, pageFrame } from './page.js';
import { rowPiece } from './rows.js';
import { createTypesetter, type SetLine } from './typeset.js';

export interface SheetPdfOptions {
  /** Stands in the file as its date; the clock is never read, so the same sheet gives the same bytes. */
  readonly createdOn: Date;
  /** What the sheet was made from, embedded in the file. */
  readonly source?: EmbeddedSource;
}

export interface EmbeddedSource {
  readonly name: string;
  readonly mediaType: string;
  readonly description: string;
  readonly bytes: Uint8Array;
}

export interface SheetPdf {
  readonly bytes: Uint8Array;
  readonly pages: number;
  /** Characters that could not be printed. */
  readonly findings: readonly Finding[];
}

/**
 * Draws a sheet as PDF 1.7 with embedded fonts and structure tags, to the rules of PDF/A-3 at level B
 * (ISO 19005-3:2012: a file for the archive, which may carry what it was made from).
 */
export async function writeSheetPdf(sheet: Sheet, options: SheetPdfOptions): Promise<SheetPdf> {
  const fonts = await openFonts();
  const glyphs = createGlyphCheck(fonts);
  const frame = pageFrame(sheet.format);
  const doc = new PDFDocument({
    size: [frame.width, frame.height],
    margin: 0,
    autoFirstPage: false,
    pdfVersion: '1.7',
    subset: 'PDF/A-3b',
    tagged: true,
    lang: 'en',
    displayTitle: true,
    info: {
      Title: metadataText(
        [sheet.title, sheet.identity, sheet.subject].filter((text) => text !== '').join(' '),
        glyphs,
      ),
      Creator: 'offplate',
      Producer: 'offplate',
      CreationDate: options.createdOn,
    },
  });
  const chunks: Buffer[] = [];
  doc.on('data', (chunk: Buffer) => chunks.push(chunk));
  const ended = new Promise<void>((resolve, reject) => {
    doc.on('end', resolve);
    doc.on('error', reject);
  });
  fonts.register(doc);

  const type = createTypesetter(glyphs, fonts);
  const ink = new Ink(doc);
  const kit: Kit = {
    type,
    left: frame.left,
    width: frame.right - frame.left,
    section: new Tag('Document'),
    repeat: [],
  };
  const footLines = (page: string, pages: string): FootLines => setFoot(sheet, kit, page, pages);
  // figures are of one width, so the foot of page 999 is as high as any
  const footHeight = heightOf(footLines('999', '999'));
  const bottom = frame.bottom - footHeight - footGap - continuedHeight;
  const pageHeight = bottom - frame.top;
  const pieces = [...headPieces(sheet, kit), ...sheetPieces(sheet.blocks, kit, pageHeight)];
  const { top } = frame;
  // counted first, so that each page can leave for the file as soon as it is full
  const count = countPages(pieces, top, bottom);
  let page = 1;
  const endPage = (): void =>
    drawFoot(ink, frame, footLines(String(page), String(count)), footHeight);
  ink.addPage();
  setPages(pieces, {
    top,
    bottom,
    place: (piece, y, again) => piece.draw(ink, y, again),
    turnPage: (continued) => {
      if (continued) drawContinued(ink, kit, bottom);
      endPage();
      ink.addPage();
      page++;
    },
  });
  endPage();
  if (options.source !== undefined) embed(doc, options.source, options.createdOn);
  doc.end();
  await ended;
  return {
    bytes: new Uint8Array(Buffer.concat(chunks)),
    pages: count,
    findings: glyphs.findings(),
  };
}

/** The source stands in the list of attached files and is named as the data behind the whole file. */
function embed(
  doc: InstanceType<typeof PDFDocument>,
  { name, mediaType, description, bytes }: EmbeddedSource,
  createdOn: Date,
): void {
  // `relationship` is not in pdfkit's type declarations
  const settings = {
    name,
    type: mediaType,
    description,
    relationship: 'Data',
    creationDate: createdOn,
    modifiedDate: createdOn,
  };
  doc.file(Buffer.from(bytes), settings);
}

/** Title at the left, part and revision at the right, the part's name below, then the fields. */
function headPieces(sheet: Sheet, kit: Kit): readonly Piece[] {
  const half = kit.width / 2;
  const heading = new Tag('H1', kit.section);
  return [
    rowPiece(
      {
        cells: [
          { x: kit.left, lines: kit.type.lines(sheet.title, styles.title, half), tag: heading },
          {
            x: kit.left + half,
            lines: kit.type.lines(sheet.identity, styles.identity, half, 'right'),
            tag: heading,
          },
        ],
        padTop: 0,
        padBottom: 0,
      },
      { keepWithNext: true },
    ),
    rowPiece(
      {
        cells: [
          {
            x: kit.left,
            lines: kit.type.lines(sheet.subject, styles.subject, kit.width),
            tag: new Tag('P', kit.section),
          },
        ],
        padTop: 1,
        padBottom: 5,
        decorate: (inkOfRow, part) => {
          const y = part.y + part.height;
          if (part.last) inkOfRow.rule(kit.left, y, kit.left + kit.width, y, 1.6, 'black');
        },
      },
      { keepWithNext: true },
    ),
    ...(sheet.code === undefined ? [] : [codePiece(sheet.code, kit)]),
    ...fieldPieces({ type: 'fields', across: 4, fields: sheet.header }, kit).map((piece) => ({
      ...piece,
      gap: 0,
    })),
  ];
}

const footGap = 4;
const continuedHeight = 11;

function drawContinued(ink: Ink, kit: Kit, bottom: number): void {
  const lines = kit.type.lines('continued on the next page', styles.foot, kit.width, 'right');
  ink.artifact(() => ink.lines(lines, kit.left, bottom + 1));
}

type FootLines = readonly [left: readonly SetLine[], right: readonly SetLine[]];

function setFoot(sheet: Sheet, kit: Kit, page: string, pages: string): FootLines {
  const half = kit.width / 2 - 6;
  const numbered = [sheet.identity, `page ${page} of ${pages}`].filter((text) => text !== '');
  return [
    kit.type.lines(sheet.footNote, styles.foot, half),
    kit.type.lines(numbered.join(' · '), styles.foot, half, 'right').map((line) => ({
      ...line,
      runs: line.runs.map((run) => ({ ...run, x: run.x + half + 12 })),
    })),
  ];
}

function heightOf(lines: FootLines): number {
  return Math.max(...lines.map((side) => side.reduce((sum, line) => sum + line.height, 0)));
}

function drawFoot(ink: Ink, frame: PageFrame, lines: FootLines, height: number): void {
  const top = frame.bottom - height;
  ink.artifact(() => {
    ink.rule(frame.left, top - 2, frame.right, top - 2, 0.5, 'black');
    for (const side of lines) ink.lines(side, frame.left, top);
  });
}

/** pdfkit writes the title into an XML packet as it is, so no character of XML may stand in it. */
function metadataText(text: string, glyphs: GlyphCheck): string {
  return glyphs
    .printable(text)
    .replaceAll('\n', ' ')
    .replaceAll('&', 'and')
    .replaceAll('<', '‹')
    .replaceAll('>', '›');
}
