import type { FontName, Fonts } from './fonts.js';
import type { GlyphCheck } from './glyphs.js';

export interface TextStyle {
  /** Points. */
  readonly size: number;
  readonly strong?: boolean;
  readonly colour?: 'black' | 'grey' | 'white';
}

export interface SetRun {
  readonly font: FontName;
  readonly text: string;
  /** From the left edge of the cell. */
  readonly x: number;
}

/** One line, ready to be drawn: positions in points inside its cell. */
export interface SetLine {
  readonly runs: readonly SetRun[];
  readonly width: number;
  readonly height: number;
  /** From the top of the line. */
  readonly baseline: number;
  readonly style: TextStyle;
}

export type TextAlign = 'left' | 'centre' | 'right';

export interface Typesetter {
  /** Breaks a text into lines no wider than `width`; nothing is ever dropped. */
  lines(text: string, style: TextStyle, width: number, align?: TextAlign): readonly SetLine[];
  /** Width of the text when it is not broken, except at its own line ends. */
  naturalWidth(text: string, style: TextStyle): number;
  widestWord(text: string, style: TextStyle): number;
}

const leading = 1.28;
const baselineShare = 0.97;
/** A word that must be broken is broken after one of these, if that wastes little. */
const softBreak = /[-‐–—/_.,;:|)\]]/;
const leastLineShare = 0.5;

export function createTypesetter(glyphs: GlyphCheck, fonts: Fonts): Typesetter {
  const widthOf = (text: string, style: TextStyle): number =>
    glyphs
      .runs(text, style.strong === true)
      .reduce((sum, run) => sum + fonts.width(run.font, run.text), 0) * style.size;

  /** The longest beginning of a word that fits; at least one character. */
  const breakWord = (word: string, style: TextStyle, width: number): readonly [string, string] => {
    const characters = clusters(word);
    let used = 0;
    let count = 0;
    let soft = 0;
    for (const character of characters) {
      used += widthOf(character, style);
      if (count > 0 && used > width) break;
      count++;
      if (softBreak.test(character) && used > width * leastLineShare) soft = count;
    }
    const cut = soft > 0 && count < characters.length ? soft : count;
    return [characters.slice(0, cut).join(''), characters.slice(cut).join('')];
  };

  const paragraphLines = (text: string, style: TextStyle, width: number): readonly string[] => {
    const lines: string[] = [];
    let line = '';
    let used = 0;
    const flush = (): void => {
      lines.push(line.trimEnd());
      line = '';
      used = 0;
    };
    for (const wordWithSpace of splitWords(text)) {
      let word = wordWithSpace;
      let bare = widthOf(word.trimEnd(), style);
      if (used + bare > width && line !== '') flush();
      while (bare > width) {
        const [head, tail] = breakWord(word.trimEnd(), style, width);
        if (tail === '') break;
        line = head;
        flush();
        word = word.endsWith(' ') ? `${tail} ` : tail;
        bare = widthOf(tail, style);
      }
      line += word;
      used += widthOf(word, style);
    }
    flush();
    return lines;
  };

  const setLine = (text: string, style: TextStyle, width: number, align: TextAlign): SetLine => {
    const lineWidth = widthOf(text, style);
    const spare = Math.max(0, width - lineWidth);
    let x = align === 'left' ? 0 : align === 'right' ? spare : spare / 2;
    const runs = glyphs.runs(text, style.strong === true).map((run) => {
      const at = x;
      x += fonts.width(run.font, run.text) * style.size;
      return { ...run, x: at };
    });
    return {
      runs,
      width: lineWidth,
      height: style.size * leading,
      baseline: style.size * baselineShare,
      style,
    };
  };

  return {
    lines: (text, style, width, align = 'left') =>
      glyphs
        .printable(text)
        .split('\n')
        .flatMap((paragraph) => paragraphLines(paragraph, style, width))
        .map((line) => setLine(line, style, width, align)),
    naturalWidth: (text, style) =>
      Math.max(
        ...glyphs
          .printable(text)
          .split('\n')
          .map((line) => widthOf(line, style)),
      ),
    widestWord: (text, style) =>
      Math.max(
        0,
        ...splitWords(glyphs.printable(text).replaceAll('\n', ' ')).map((word) =>
          widthOf(word.trimEnd(), style),
        ),
      ),
  };
}

/** Words, each with the spaces after it. */
function splitWords(text: string): readonly string[] {
  return text.match(/[^ ]+ *| +/g) ?? [];
}

/** Characters with the marks that stand on them. */
function clusters(text: string): readonly string[] {
  return text.match(/\P{M}\p{M}*|\p{M}+/gu) ?? [];
}
