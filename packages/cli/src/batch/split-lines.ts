export interface NumberedLine {
  /** Counts from 1; blank lines count and are left out. */
  readonly number: number;
  /** Absent when the line is longer than allowed. */
  readonly bytes?: Uint8Array;
  /** Bytes of the input up to the end of this line. */
  readonly end: number;
  /** The last line of an input may lack its end. */
  readonly terminated: boolean;
}

const newline = 0x0a;

/** Splits chunks into lines. A line that is too long is passed over without being kept. */
export async function* splitLines(
  chunks: AsyncIterable<Uint8Array>,
  maxBytes: number,
): AsyncGenerator<NumberedLine, void, undefined> {
  let parts: Uint8Array[] = [];
  let length = 0;
  let number = 1;
  let read = 0;
  const lineOf = (end: number, terminated: boolean): NumberedLine | undefined => {
    if (length > maxBytes) return { number, end, terminated };
    const bytes = Buffer.concat(parts, length);
    return isBlank(bytes) ? undefined : { number, bytes, end, terminated };
  };
  const keep = (part: Uint8Array): void => {
    length += part.length;
    if (length <= maxBytes) parts.push(part);
    else parts = [];
  };
  for await (const chunk of chunks) {
    let start = 0;
    for (let at = chunk.indexOf(newline); at >= 0; at = chunk.indexOf(newline, start)) {
      keep(chunk.subarray(start, at));
      const line = lineOf(read + at + 1, true);
      if (line !== undefined) yield line;
      parts = [];
      length = 0;
      number += 1;
      start = at + 1;
    }
    keep(chunk.subarray(start));
    read += chunk.length;
  }
  const last = length === 0 ? undefined : lineOf(read, false);
  if (last !== undefined) yield last;
}

function isBlank(bytes: Uint8Array): boolean {
  return bytes.every((byte) => byte === 0x20 || byte === 0x09 || byte === 0x0d);
}
