import type { Place } from '../problems/problem.js';
import { maxCoordinateMm, maxTriangles, meshError, type TriangleMesh } from './mesh.js';
import { VertexTable } from './vertex-table.js';

/** Whether the bytes begin like an STL written as text. */
export function looksLikeTextStl(bytes: Uint8Array): boolean {
  let at = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
  while (at < bytes.length && isSpace(bytes[at] as number)) at++;
  const word = String.fromCharCode(...bytes.subarray(at, at + 5)).toLowerCase();
  if (word !== 'solid') return false;
  // a binary file may begin with the same word: its numbers hold bytes that no text has
  const end = Math.min(bytes.length, at + 512);
  for (let each = at; each < end; each++) if (bytes[each] === 0) return false;
  return true;
}

/**
 * Reads an STL written as text: `solid`, then facets of `facet normal … outer loop`, three
 * `vertex x y z`, `endloop endfacet`, then `endsolid`; several solids may follow each other. Words
 * in any case, any white space. Normals are not used. A loop that is not of three corners, a number
 * that is none or a word out of place is an error with its line.
 *
 * @param scale mm in the unit of the file
 */
export function readTextStl(
  bytes: Uint8Array,
  scale: number,
  file: Place,
): { readonly mesh: TriangleMesh; readonly dropped: number; readonly title: string } {
  const text = new Words(bytes, file);
  const table = new VertexTable(Math.ceil(bytes.length / 500));
  let triangles = new Uint32Array(3 * Math.max(64, Math.ceil(bytes.length / 180)));
  let kept = 0;
  let facets = 0;
  let title = '';
  const corners = new Uint32Array(3);
  while (text.next()) {
    text.expect('solid');
    const name = text.restOfLine();
    if (title === '') title = name;
    for (;;) {
      if (!text.next()) throw text.error('the text ends within a solid', undefined, 'endsolid');
      if (text.is('endsolid')) {
        text.restOfLine();
        break;
      }
      text.expect('facet');
      text.take('normal');
      for (let axis = 0; axis < 3; axis++) text.skipNumber();
      text.take('outer');
      text.take('loop');
      for (let corner = 0; corner < 3; corner++) {
        text.take('vertex');
        const x = text.coordinate() * scale;
        const y = text.coordinate() * scale;
        const z = text.coordinate() * scale;
        if (!(Math.abs(x) + Math.abs(y) + Math.abs(z) <= maxCoordinateMm))
          throw text.error(
            'the corner lies too far out',
            `${x}, ${y}, ${z}`,
            `within ${maxCoordinateMm} mm of the origin`,
            'out-of-range',
          );
        corners[corner] = table.add(x, y, z);
      }
      text.take('endloop');
      text.take('endfacet');
      facets++;
      const [a = 0, b = 0, c = 0] = corners;
      if (a === b || b === c || c === a) continue;
      if (kept >= 3 * maxTriangles)
        throw text.error('too many triangles', undefined, `at most ${maxTriangles}`, 'too-large');
      if (kept + 3 > triangles.length) {
        const wider = new Uint32Array(2 * triangles.length);
        wider.set(triangles);
        triangles = wider;
      }
      triangles[kept] = a;
      triangles[kept + 1] = b;
      triangles[kept + 2] = c;
      kept += 3;
    }
  }
  return {
    mesh: { positionsMm: table.positions(), triangles: triangles.slice(0, kept) },
    dropped: facets - kept / 3,
    title,
  };
}

/** Splits the bytes of a text into words, without making strings of them. */
class Words {
  readonly #bytes: Uint8Array;
  readonly #file: Place;
  #start: number;
  #end: number;
  #line = 1;

  constructor(bytes: Uint8Array, file: Place) {
    this.#bytes = bytes;
    this.#file = file;
    this.#start = bytes[0] === 0xef ? 3 : 0;
    this.#end = this.#start;
  }

  /** Goes to the next word; false at the end of the text. */
  next(): boolean {
    const bytes = this.#bytes;
    let at = this.#end;
    while (at < bytes.length && isSpace(bytes[at] as number)) {
      if (bytes[at] === 10) this.#line++;
      at++;
    }
    this.#start = at;
    while (at < bytes.length && !isSpace(bytes[at] as number)) at++;
    this.#end = at;
    return at > this.#start;
  }

  is(word: string): boolean {
    if (this.#end - this.#start !== word.length) return false;
    for (let at = 0; at < word.length; at++)
      if (((this.#bytes[this.#start + at] as number) | 32) !== word.charCodeAt(at)) return false;
    return true;
  }

  expect(word: string): void {
    if (!this.is(word)) throw this.error('a word is out of place', this.#text(), word);
  }

  take(word: string): void {
    if (!this.next()) throw this.error('the text ends too soon', undefined, word);
    this.expect(word);
  }

  /** What stands between the word and the end of its line. */
  restOfLine(): string {
    const bytes = this.#bytes;
    let end = this.#end;
    while (end < bytes.length && bytes[end] !== 10 && bytes[end] !== 13) end++;
    const shown = bytes.subarray(this.#end, Math.min(end, this.#end + 200));
    this.#end = end;
    return String.fromCharCode(...shown).trim();
  }

  /** A part of a normal: any word will do, since `nan` is common there and nothing rests on it. */
  skipNumber(): void {
    if (!this.next()) throw this.error('the text ends too soon', undefined, 'a number');
    const first = (this.#bytes[this.#start] as number) | 32;
    // of the words that follow a normal only `outer` and `loop` begin with these letters
    if (first === 111 || first === 108)
      throw this.error('the normal has fewer than three numbers', this.#text(), 'a number');
  }

  coordinate(): number {
    if (!this.next()) throw this.error('the text ends too soon', undefined, 'a number');
    const value = decimalOf(this.#bytes, this.#start, this.#end);
    if (!Number.isFinite(value))
      throw this.error('a coordinate is not a number', this.#text(), 'a number', 'bad-number');
    return value;
  }

  error(
    message: string,
    value?: string,
    accept?: string,
    code: 'mesh-format' | 'bad-number' | 'out-of-range' | 'too-large' = 'mesh-format',
  ): Error {
    return meshError(code, { ...this.#file, line: this.#line }, message, value, accept);
  }

  #text(): string {
    return String.fromCharCode(
      ...this.#bytes.subarray(this.#start, Math.min(this.#end, this.#start + 60)),
    );
  }
}

function isSpace(code: number): boolean {
  return code === 32 || (code >= 9 && code <= 13);
}

/** The powers of ten that a double holds exactly. */
const exactPowers: readonly number[] = Array.from({ length: 23 }, (_, power) =>
  Number(`1e${power}`),
);

/**
 * The decimal number in the bytes, NaN when they are none. Up to 15 digits with a power of ten of at
 * most 22 are exact in one multiplication or division (Clinger 1990, doi 10.1145/93548.93557); any
 * other goes through `Number`.
 */
export function decimalOf(bytes: Uint8Array, start: number, end: number): number {
  let at = start;
  const sign = bytes[at];
  if (sign === 43 || sign === 45) at++;
  let mantissa = 0;
  let digits = 0;
  let power = 0;
  let seen = 0;
  for (let fraction = false; at < end; at++) {
    const code = bytes[at] as number;
    if (code >= 48 && code <= 57) {
      mantissa = mantissa * 10 + (code - 48);
      if (mantissa > 0) digits++;
      seen++;
      if (fraction) power--;
    } else if (code === 46 && !fraction) fraction = true;
    else break;
  }
  if (seen === 0 || end - start > 60) return Number.NaN;
  if (at < end) {
    if (((bytes[at] as number) | 32) !== 101) return Number.NaN;
    at++;
    let exponent = 0;
    let minus = false;
    if (bytes[at] === 43 || bytes[at] === 45) minus = bytes[at++] === 45;
    if (at >= end) return Number.NaN;
    for (; at < end; at++) {
      const code = bytes[at] as number;
      if (code < 48 || code > 57) return Number.NaN;
      exponent = Math.min(9999, exponent * 10 + (code - 48));
    }
    power += minus ? -exponent : exponent;
  }
  if (digits > 15 || power < -22 || power > 22)
    return Number(String.fromCharCode(...bytes.subarray(start, end)));
  const factor = exactPowers[Math.abs(power)] as number;
  const value = power < 0 ? mantissa / factor : mantissa * factor;
  return sign === 45 ? -value : value;
}
