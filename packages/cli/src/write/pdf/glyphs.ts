import type { Finding } from '@offplate/core';
import type { FontName, Fonts } from './fonts.js';

/** A stretch of text in one font. */
export interface FontRun {
  readonly font: FontName;
  readonly text: string;
}

/**
 * Decides before drawing which font prints each character. A character that no font holds becomes
 * `[U+65E5]` on paper and a finding for the caller, never an empty box or garbage.
 */
export interface GlyphCheck {
  /** The text that will be printed: composed, without control characters, missing glyphs spelt out. */
  printable(text: string): string;
  /** Splits printable text by font. */
  runs(printable: string, strong: boolean): readonly FontRun[];
  findings(): readonly Finding[];
}

export function createGlyphCheck(fonts: Fonts): GlyphCheck {
  const missing = new Set<number>();

  const isHeld = (code: number): boolean => fonts.has('text', code) || fonts.has('symbols', code);

  const printable = (text: string): string => {
    let out = '';
    for (const character of text.normalize('NFC').replace(/\r\n?/g, '\n').replace(/\t/g, ' ')) {
      const code = character.codePointAt(0) ?? 0;
      if (code !== 10 && isInvisible(code)) continue;
      if (code === 10 || (!isRightToLeft(code) && isHeld(code))) {
        out += character;
      } else {
        missing.add(code);
        out += spelt(code);
      }
    }
    return out;
  };

  const fontOf = (code: number, strong: boolean): FontName => {
    // the symbols that are also in a text font are drawn too small there
    if (fonts.has('symbols', code)) return 'symbols';
    return strong && fonts.has('strong', code) ? 'strong' : 'text';
  };

  const runs = (text: string, strong: boolean): readonly FontRun[] => {
    const found: { font: FontName; text: string }[] = [];
    for (const character of text) {
      const font = fontOf(character.codePointAt(0) ?? 0, strong);
      const last = found.at(-1);
      if (last?.font === font) last.text += character;
      else found.push({ font, text: character });
    }
    return found;
  };

  const findings = (): readonly Finding[] => {
    if (missing.size === 0) return [];
    const codes = [...missing].sort((left, right) => left - right);
    const shown = codes
      .slice(0, mostShown)
      .map((code) => `${safeCharacter(code)} (U+${hex(code)})`)
      .join(', ');
    const more = codes.length > mostShown ? ` and ${codes.length - mostShown} more` : '';
    return [
      {
        id: 'glyph-missing',
        severity: 'warning',
        message: `The printed sheet's fonts hold Latin, Greek and Cyrillic letters and drawing symbols; other characters are printed by their number: ${shown}${more}. Write these words in one of the three scripts.`,
        about: 'print',
      },
    ];
  };

  return { printable, runs, findings };
}

/** Hebrew, Arabic and their kin need a line set from the right, which this writer does not do. */
function isRightToLeft(code: number): boolean {
  return (code >= 0x590 && code <= 0x8ff) || (code >= 0xfb1d && code <= 0xfdff);
}

/** Controls, joiners, direction marks and variation selectors: they print nothing. */
function isInvisible(code: number): boolean {
  return (
    code < 0x20 ||
    (code >= 0x7f && code <= 0x9f) ||
    code === 0xad ||
    (code >= 0x200b && code <= 0x200f) ||
    (code >= 0x2028 && code <= 0x202e) ||
    (code >= 0x2060 && code <= 0x206f) ||
    (code >= 0xfe00 && code <= 0xfe0f) ||
    code === 0xfeff
  );
}

const mostShown = 20;

function spelt(code: number): string {
  return `[U+${hex(code)}]`;
}

function hex(code: number): string {
  return code.toString(16).toUpperCase().padStart(4, '0');
}

/** Half of a surrogate pair cannot be shown even in the message. */
function safeCharacter(code: number): string {
  return code >= 0xd800 && code <= 0xdfff ? '?' : String.fromCodePoint(code);
}
