import type { Finding, Problem } from '@offplate/core';

export interface DecodedText {
  readonly text: string;
  readonly encoding: 'utf-8' | 'utf-16le' | 'utf-16be' | 'windows-1252';
  readonly findings: readonly Finding[];
}

export type Decoding = DecodedText | { readonly problem: Problem };

/** Bytes 80 to 9F of Windows-1252; a space marks the five that stand for nothing. */
const windows1252 = '€ ‚ƒ„…†‡ˆ‰Š‹Œ Ž  ‘’“”•–—˜™š›œ žŸ';
const accept = 'UTF-8, UTF-16 or Windows-1252 text';

/**
 * Finds out how a text file is encoded: by byte order mark, by the zero bytes of UTF-16, as valid
 * UTF-8, else as Windows-1252, which is worth a warning because ± µ and letters with accents may
 * have been something else.
 */
export function decodeText(bytes: Uint8Array, file: string): Decoding {
  const encoding = unicodeEncoding(bytes);
  const decoded = encoding === undefined ? undefined : decodeStrictly(bytes, encoding);
  if (encoding !== undefined && decoded === undefined)
    return fault(file, `the bytes are not valid ${encoding.toUpperCase()}`, { line: 1 });
  if (encoding !== undefined && decoded !== undefined) return checked(decoded, encoding, file, []);
  const zero = bytes.indexOf(0);
  if (zero >= 0)
    return fault(file, 'the file holds zero bytes: not a text', linePosition(bytes, zero));
  const utf8 = decodeStrictly(bytes, 'utf-8');
  if (utf8 !== undefined) return checked(utf8, 'utf-8', file, []);
  const bad = firstInvalidUtf8(bytes);
  // some UTF-8 letters and one broken byte: damaged, not another encoding
  if (bad.lettersBefore > 0)
    return fault(file, 'a byte is not UTF-8 although others are', linePosition(bytes, bad.at));
  const single = decodeWindows1252(bytes);
  if (single === undefined)
    return fault(file, 'a byte that is in no encoding known here', linePosition(bytes, bad.at));
  const finding: Finding = {
    id: 'encoding-fallback',
    severity: 'warning',
    message: 'not UTF-8, read as Windows-1252; check ± µ ° and letters with accents',
    about: file,
  };
  return checked(single, 'windows-1252', file, [finding]);
}

function fault(
  file: string,
  message: string,
  where: { readonly line: number; readonly column?: number },
  value?: string,
): { readonly problem: Problem } {
  return {
    problem: {
      code: 'encoding',
      place: { file, ...where },
      message,
      accept,
      ...(value === undefined ? {} : { value }),
    },
  };
}

function unicodeEncoding(bytes: Uint8Array): 'utf-8' | 'utf-16le' | 'utf-16be' | undefined {
  const [first = 0, second = 0, third = 0] = bytes;
  if (first === 0xef && second === 0xbb && third === 0xbf) return 'utf-8';
  if (first === 0xff && second === 0xfe) return 'utf-16le';
  if (first === 0xfe && second === 0xff) return 'utf-16be';
  // without a mark: every second byte of Latin text in UTF-16 is zero
  const pairs = Math.floor(Math.min(bytes.length, 65_536) / 2);
  let evenZeros = 0;
  let oddZeros = 0;
  for (let pair = 0; pair < pairs; pair++) {
    if (bytes[2 * pair] === 0) evenZeros++;
    if (bytes[2 * pair + 1] === 0) oddZeros++;
  }
  // signs such as U+2300, the diameter, have a zero in the other half
  if (oddZeros > 0.7 * pairs && evenZeros < 0.1 * pairs) return 'utf-16le';
  if (evenZeros > 0.7 * pairs && oddZeros < 0.1 * pairs) return 'utf-16be';
  return undefined;
}

function decodeStrictly(
  bytes: Uint8Array,
  encoding: 'utf-8' | 'utf-16le' | 'utf-16be',
): string | undefined {
  try {
    return new TextDecoder(encoding, { fatal: true }).decode(bytes);
  } catch {
    return undefined;
  }
}

function decodeWindows1252(bytes: Uint8Array): string | undefined {
  let text = '';
  for (const byte of bytes) {
    const character =
      byte >= 0x80 && byte <= 0x9f ? windows1252.charAt(byte - 0x80) : String.fromCharCode(byte);
    if (byte >= 0x80 && character === ' ') return undefined;
    text += character;
  }
  return text;
}

/** Index of the first byte that breaks UTF-8, and how many longer letters were right before it. */
function firstInvalidUtf8(bytes: Uint8Array): { at: number; lettersBefore: number } {
  let lettersBefore = 0;
  for (let at = 0; at < bytes.length; ) {
    const lead = bytes[at] ?? 0;
    const length =
      lead < 0x80 ? 1 : lead < 0xc2 ? 0 : lead < 0xe0 ? 2 : lead < 0xf0 ? 3 : lead < 0xf5 ? 4 : 0;
    const rest = bytes.subarray(at + 1, at + length);
    const whole = rest.length === length - 1 && rest.every((byte) => byte >= 0x80 && byte <= 0xbf);
    if (length === 0 || !whole) return { at, lettersBefore };
    if (length > 1) lettersBefore++;
    at += length;
  }
  return { at: bytes.length, lettersBefore };
}

function linePosition(bytes: Uint8Array, at: number): { line: number; column: number } {
  let line = 1;
  let start = 0;
  for (let index = 0; index < at; index++) {
    if (bytes[index] !== 0x0a) continue;
    line++;
    start = index + 1;
  }
  return { line, column: at - start + 1 };
}

function checked(
  decoded: string,
  encoding: DecodedText['encoding'],
  file: string,
  findings: readonly Finding[],
): Decoding {
  const text = decoded.startsWith('\ufeff') ? decoded.slice(1) : decoded;
  for (let at = 0; at < text.length; at++) {
    const code = text.charCodeAt(at);
    if (code >= 0x20 || code === 0x09 || code === 0x0a || code === 0x0d || code === 0x0c) continue;
    const lines = text.slice(0, at).split(/\r\n|\r|\n/);
    const where = { line: lines.length, column: (lines.at(-1) ?? '').length + 1 };
    const name = `U+${code.toString(16).toUpperCase().padStart(4, '0')}`;
    return fault(file, 'a control character: not a text', where, name);
  }
  return { text, encoding, findings };
}
