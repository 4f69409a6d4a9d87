import { readFile } from 'node:fs/promises';
import { create, type Font, type Glyph, type GlyphRun } from 'fontkit';
import type PDFDocument from 'pdfkit';

/** `text` and `strong` carry all words, `symbols` the drawing symbols. */
export type FontName = 'text' | 'strong' | 'symbols';

const fontNames: readonly FontName[] = ['text', 'strong', 'symbols'];

const files: Readonly<Record<FontName, string>> = {
  text: 'DejaVuSansCondensed.ttf',
  strong: 'DejaVuSansCondensed-Bold.ttf',
  symbols: 'OffplateSymbols.ttf',
};

type PerFont<T> = Readonly<Record<FontName, T>>;

/** The fonts of one document. */
export interface Fonts {
  has(font: FontName, codePoint: number): boolean;
  /** Width of a text at size 1. */
  width(font: FontName, text: string): number;
  /** Makes the fonts known to the document under their names. */
  register(doc: InstanceType<typeof PDFDocument>): void;
}

let filesRead: Promise<PerFont<Buffer>> | undefined;

/**
 * Reads the font files once a process, but opens them for every document: a font remembers the
 * characters that it met first, which would make a file depend on the files written before it.
 */
export async function openFonts(): Promise<Fonts> {
  filesRead ??= readFiles();
  const bytes = await filesRead;
  const opened: PerFont<SimpleFont> = {
    text: openFont(bytes.text),
    strong: openFont(bytes.strong),
    symbols: openFont(bytes.symbols),
  };
  return {
    has: (font, codePoint) => opened[font].codePoints.has(codePoint),
    width: (font, text) => opened[font].width(text),
    register: (doc) => {
      for (const name of fontNames) {
        const { font, layout } = opened[name];
        // pdfkit takes an open font as well as bytes, which its type declarations leave out
        doc.registerFont(name, Object.assign(font, { layout }) as unknown as Buffer);
      }
    },
  };
}

async function readFiles(): Promise<PerFont<Buffer>> {
  const read = (font: FontName): Promise<Buffer> =>
    readFile(new URL(`../../../fonts/${files[font]}`, import.meta.url));
  const [text, strong, symbols] = await Promise.all(fontNames.map(read));
  if (text === undefined || strong === undefined || symbols === undefined) {
    throw new Error('a font file is missing');
  }
  return { text, strong, symbols };
}

/** Characters that stand on the one before. */
const marks = /\p{M}/u;

interface SimpleFont {
  readonly font: Font;
  readonly codePoints: ReadonlySet<number>;
  width(text: string): number;
  layout(text: string): Pick<GlyphRun, 'glyphs' | 'positions' | 'advanceWidth'>;
}

/**
 * A font that sets one glyph a character, without ligatures and kerning: the printed scripts need
 * none, figures stay in their columns, text can be searched, and it is ten times as fast. Only marks
 * that stand on another letter are left to the font's own rules.
 */
function openFont(bytes: Buffer): SimpleFont {
  const font = create(bytes);
  if (!('glyphForCodePoint' in font)) throw new Error('a font collection cannot be embedded');
  const shaped = font.layout.bind(font);
  const glyphs = new Map<number, Glyph>();
  const glyphOf = (codePoint: number): Glyph => {
    const known = glyphs.get(codePoint);
    if (known !== undefined) return known;
    const glyph = font.glyphForCodePoint(codePoint);
    glyphs.set(codePoint, glyph);
    return glyph;
  };
  return {
    font,
    codePoints: new Set(font.characterSet),
    width: (text) => {
      if (marks.test(text)) return shaped(text).advanceWidth / font.unitsPerEm;
      let width = 0;
      for (const character of text) width += glyphOf(character.codePointAt(0) ?? 0).advanceWidth;
      return width / font.unitsPerEm;
    },
    layout: (text) => {
      if (marks.test(text)) return shaped(text);
      const run = Array.from(text, (character) => glyphOf(character.codePointAt(0) ?? 0));
      const positions = run.map((glyph) => ({
        xAdvance: glyph.advanceWidth,
        yAdvance: 0,
        xOffset: 0,
        yOffset: 0,
      }));
      return {
        glyphs: run,
        positions,
        // pdfkit scales the positions in place before it asks for their sum
        get advanceWidth() {
          return positions.reduce((sum, position) => sum + position.xAdvance, 0);
        },
      };
    },
  };
}
