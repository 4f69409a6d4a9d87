/** Ranges of code points that take two cells: UAX #11 classes W and F, in the blocks in use. */
const wide: readonly (readonly [first: number, last: number])[] = [
  [0x1100, 0x115f],
  [0x231a, 0x231b],
  [0x2329, 0x232a],
  [0x23e9, 0x23ec],
  [0x23f0, 0x23f0],
  [0x23f3, 0x23f3],
  [0x25fd, 0x25fe],
  [0x2614, 0x2615],
  [0x2648, 0x2653],
  [0x267f, 0x267f],
  [0x2693, 0x2693],
  [0x26a1, 0x26a1],
  [0x26aa, 0x26ab],
  [0x26bd, 0x26be],
  [0x26c4, 0x26c5],
  [0x26ce, 0x26ce],
  [0x26d4, 0x26d4],
  [0x26ea, 0x26ea],
  [0x26f2, 0x26f3],
  [0x26f5, 0x26f5],
  [0x26fa, 0x26fa],
  [0x26fd, 0x26fd],
  [0x2705, 0x2705],
  [0x270a, 0x270b],
  [0x2728, 0x2728],
  [0x274c, 0x274c],
  [0x274e, 0x274e],
  [0x2753, 0x2755],
  [0x2757, 0x2757],
  [0x2795, 0x2797],
  [0x27b0, 0x27b0],
  [0x27bf, 0x27bf],
  [0x2b1b, 0x2b1c],
  [0x2b50, 0x2b50],
  [0x2b55, 0x2b55],
  [0x2e80, 0x303e],
  [0x3041, 0x33ff],
  [0x3400, 0x4dbf],
  [0x4e00, 0x9fff],
  [0xa000, 0xa4cf],
  [0xa960, 0xa97f],
  [0xac00, 0xd7a3],
  [0xf900, 0xfaff],
  [0xfe30, 0xfe6f],
  [0xff01, 0xff60],
  [0xffe0, 0xffe6],
  [0x16fe0, 0x18aff],
  [0x1b000, 0x1b2ff],
  [0x1f004, 0x1f004],
  [0x1f0cf, 0x1f0cf],
  [0x1f18e, 0x1f18e],
  [0x1f191, 0x1f19a],
  [0x1f200, 0x1f320],
  [0x1f32d, 0x1f335],
  [0x1f337, 0x1f37c],
  [0x1f37e, 0x1f393],
  [0x1f3a0, 0x1f3ca],
  [0x1f3cf, 0x1f3d3],
  [0x1f3e0, 0x1f3f0],
  [0x1f3f4, 0x1f3f4],
  [0x1f3f8, 0x1f43e],
  [0x1f440, 0x1f440],
  [0x1f442, 0x1f4fc],
  [0x1f4ff, 0x1f53d],
  [0x1f54b, 0x1f54e],
  [0x1f550, 0x1f567],
  [0x1f57a, 0x1f57a],
  [0x1f595, 0x1f596],
  [0x1f5a4, 0x1f5a4],
  [0x1f5fb, 0x1f64f],
  [0x1f680, 0x1f6c5],
  [0x1f6cc, 0x1f6cc],
  [0x1f6d0, 0x1f6d2],
  [0x1f6d5, 0x1f6df],
  [0x1f6eb, 0x1f6ec],
  [0x1f6f4, 0x1f6fc],
  [0x1f7e0, 0x1f7eb],
  [0x1f7f0, 0x1f7f0],
  [0x1f90c, 0x1f93a],
  [0x1f93c, 0x1f945],
  [0x1f947, 0x1f9ff],
  [0x1fa70, 0x1faff],
  [0x20000, 0x2fffd],
  [0x30000, 0x3fffd],
];

/** Letters and signs of drawings that take one cell each. */
const plain =
  /^[\x20-\x7e\xa0-\xac\xae-\u02ff\u0370-\u03ff\u2010-\u2027\u2190-\u22ff\u2300-\u2319\u232b-\u23e8]*$/;
/** Marks that are set over, under or around the letter before, and characters without ink. */
const weightless = /^[\p{Mn}\p{Me}\p{Cf}\u1160-\u11ff]$/u;
const joiner = 0x200d;
const emojiStyle = 0xfe0f;

/** Cells of a terminal that a text without control characters takes. */
export function displayWidth(text: string): number {
  if (plain.test(text)) return text.length;
  let width = 0;
  let last = 0;
  let joined = false;
  for (const character of text) {
    const code = character.codePointAt(0) ?? 0;
    if (code === emojiStyle && last === 1) {
      width++;
      last = 2;
    }
    const skinTone = code >= 0x1f3fb && code <= 0x1f3ff && last === 2;
    if (!joined && !skinTone && !weightless.test(character)) {
      last = isWide(code) ? 2 : 1;
      width += last;
    }
    joined = code === joiner;
  }
  return width;
}

function isWide(code: number): boolean {
  if (code < 0x1100) return false;
  return wide.some(([first, last]) => code >= first && code <= last);
}

/** Blanks at the right (or left) up to a width. */
export function pad(text: string, width: number, side: 'left' | 'right' = 'right'): string {
  const blanks = ' '.repeat(Math.max(0, width - displayWidth(text)));
  return side === 'right' ? text + blanks : blanks + text;
}

/**
 * A text from the user's files, harmless on a terminal: controls, which could move the cursor, and
 * marks that turn the direction of writing are shown as a replacement character.
 */
export function printable(text: string): string {
  return text
    .replace(/[\r\n\t]+/g, ' ')
    .replace(/[\p{Cc}\u2028\u2029\u202a-\u202e\u2066-\u2069]/gu, '\ufffd');
}

/** Blanks at which a line must not end: before a unit, after a sign or symbol of a value. */
const glued =
  / (?=(?:mm|µm|um|°C|C|MPa|min|h|%)(?![\p{L}\p{N}]))|(?<=(?:^| )(?:Ra|Rz|[≤≥±⏤⏥⌖⌭⌒⌓⟂∥∠◎⌯↗⌰])) /gu;
const noBreak = '\u00a0';

/** Lines of at most `width` cells; a word that is longer is cut. Never empty. */
export function wrapText(text: string, width: number): readonly string[] {
  if (displayWidth(text) <= width) return [printable(text)];
  const broken = brokenLines(printable(text).replace(glued, noBreak), width);
  return broken.map((line) => line.replaceAll(noBreak, ' '));
}

function brokenLines(text: string, width: number): readonly string[] {
  const lines: string[] = [];
  let line = '';
  let filled = 0;
  for (const word of printable(text)
    .split(' ')
    .flatMap((part) => cut(part, width))) {
    const needed = displayWidth(word);
    if (line !== '' && filled + 1 + needed > width) {
      lines.push(line);
      line = word;
      filled = needed;
    } else {
      line = line === '' ? word : `${line} ${word}`;
      filled = displayWidth(line);
    }
  }
  return [...lines, line];
}

function cut(word: string, width: number): readonly string[] {
  if (displayWidth(word) <= width) return [word];
  const parts = [''];
  for (const character of word) {
    const last = parts.length - 1;
    const grown = `${parts[last] ?? ''}${character}`;
    // a mark belongs to the letter before it
    if (displayWidth(grown) > width && !weightless.test(character)) parts.push(character);
    else parts[last] = grown;
  }
  return parts;
}
