import { InputError, type Problem, type ProblemCode } from '../problems/problem.js';
import { type PathStep, type Position, pathText, positionFinder } from './text-position.js';

/** Deepest nesting of objects and arrays. A job needs 4. */
export const maxJsonDepth = 64;
/** Most values in one text. 5,000 features of 60 values each. */
export const maxJsonValues = 300_000;

/** A JSON text with the place of every value in it. */
export interface JsonText {
  /** As `JSON.parse` gives it; undefined when the text is not JSON. */
  readonly value: unknown;
  readonly problems: readonly Problem[];
  /** Place of the value at a path, or of the nearest value around it. */
  positionOf(path: readonly PathStep[]): Position;
}

/** Where the members of one object or array stand, as offsets into the text. */
type Offsets = Map<PathStep, number> | number[];

/** Keys that reach the prototype of an object when they are copied without care. */
const unsafeKeys: ReadonlySet<string> = new Set(['__proto__', 'constructor', 'prototype']);
const numberToken = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y;
const wordToken = /true|false|null/y;

/**
 * Reads JSON (RFC 8259) and remembers where each value stands. Keys named twice and keys that would
 * reach an object's prototype are reported and left out. Never throws.
 */
export function readJsonText(text: string, file?: string): JsonText {
  const problems: Problem[] = [];
  const offsets = new WeakMap<object, Offsets>();
  const position = positionFinder(text);
  const path: PathStep[] = [];
  let values = 0;
  let at = text.charCodeAt(0) === 0xfeff ? 1 : 0;

  const place = (offset: number): Problem['place'] => ({
    ...(file === undefined ? {} : { file }),
    ...position(offset),
    ...(path.length === 0 ? {} : { path: pathText(path) }),
  });
  const stop = (message: string, accept: string, code: ProblemCode = 'json-syntax'): never => {
    const value = /^[^\r\n]{0,20}/.exec(text.slice(at, at + 20))?.[0] ?? '';
    const seen = at >= text.length ? 'end of text' : value;
    throw new InputError([{ code, place: place(at), message, value: seen, accept }]);
  };
  const skipSpace = (): void => {
    while (at < text.length && ' \t\n\r'.includes(text.charAt(at))) at++;
    if (text.startsWith('//', at) || text.startsWith('/*', at))
      stop('JSON has no comments', 'a remark in a note field');
  };
  /** After an item: true after a comma, false after the closing mark. */
  const more = (closing: string): boolean => {
    skipSpace();
    const mark = text.charAt(at);
    if (mark !== ',' && mark !== closing)
      stop('an item ends without a comma or closing mark', `, or ${closing}`);
    at++;
    if (mark === closing) return false;
    skipSpace();
    if (text.charAt(at) === closing) stop('a comma before the closing mark', 'no comma there');
    return true;
  };
  /** Steps over an opening mark; true when items follow. */
  const opened = (closing: string): boolean => {
    at++;
    skipSpace();
    if (text.charAt(at) !== closing) return true;
    at++;
    return false;
  };

  const readString = (): string => {
    const start = at;
    let escaped = false;
    for (at++; text.charAt(at) !== '"'; at++) {
      const code = text.charCodeAt(at);
      if (Number.isNaN(code)) stop('a text is not closed', 'a closing "');
      if (code < 0x20) stop('a control character inside a text', '\\n, \\t or \\u00XX');
      if (code !== 0x5c) continue;
      escaped = true;
      at++;
      if (!/^(?:["\\/bfnrt]|u[0-9a-fA-F]{4})/.test(text.slice(at, at + 5)))
        stop('a backslash before an unknown letter', '\\" \\\\ \\/ \\b \\f \\n \\r \\t \\uXXXX');
    }
    at++;
    const token = text.slice(start, at);
    return escaped ? (JSON.parse(token) as string) : token.slice(1, -1);
  };

  const readNumberOrWord = (): number | boolean | null => {
    numberToken.lastIndex = at;
    const digits = numberToken.exec(text)?.[0];
    if (digits !== undefined) {
      if (/[\w.+-]/.test(text.charAt(at + digits.length)))
        stop('a number is not written as JSON wants it', '12, -0.5, 1e3');
      at += digits.length;
      return Number(digits);
    }
    wordToken.lastIndex = at;
    const word = wordToken.exec(text)?.[0];
    if (word !== undefined) {
      at += word.length;
      return word === 'null' ? null : word === 'true';
    }
    return stop(
      text.charAt(at) === "'" ? 'texts stand in double quotes' : 'a value is missing or not JSON',
      'a text in double quotes, a number, true, false, null, [ or {',
    );
  };

  const readValue = (): unknown => {
    if (++values > maxJsonValues)
      stop('too many values', `at most ${maxJsonValues} values`, 'too-large');
    const first = text.charAt(at);
    if (first === '"') return readString();
    if (first !== '{' && first !== '[') return readNumberOrWord();
    if (path.length >= maxJsonDepth)
      stop('nested too deep', `at most ${maxJsonDepth} levels`, 'too-large');
    return first === '{' ? readObject() : readArray();
  };

  const readArray = (): unknown[] => {
    const items: unknown[] = [];
    const where: number[] = [];
    offsets.set(items, where);
    if (!opened(']')) return items;
    do {
      where.push(at);
      path.push(items.length);
      items.push(readValue());
      path.pop();
    } while (more(']'));
    return items;
  };

  const readObject = (): Record<string, unknown> => {
    const object: Record<string, unknown> = {};
    const where = new Map<PathStep, number>();
    offsets.set(object, where);
    if (!opened('}')) return object;
    do {
      if (text.charAt(at) !== '"') stop('a key is missing', 'a key in double quotes');
      const keyAt = at;
      const key = readString();
      path.push(key);
      skipSpace();
      if (text.charAt(at) !== ':') stop('a colon is missing after the key', ':');
      at++;
      skipSpace();
      const valueAt = at;
      const value = readValue();
      const first = where.get(key);
      const unsafe = unsafeKeys.has(key);
      if (first === undefined && !unsafe) {
        object[key] = value;
        where.set(key, valueAt);
      } else {
        const code = unsafe ? 'unknown-field' : 'json-duplicate-key';
        const line = position(first ?? keyAt).line;
        const message = unsafe ? 'this key is not allowed' : `key twice, first on line ${line}`;
        problems.push({ code, place: place(keyAt), message, value: key, accept: 'another key' });
      }
      path.pop();
    } while (more('}'));
    return object;
  };

  let value: unknown;
  let rootAt = at;
  try {
    skipSpace();
    rootAt = at;
    value = readValue();
    skipSpace();
    if (at < text.length) stop('something follows the JSON value', 'end of text');
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    problems.push(...error.problems);
    value = undefined;
  }
  const positionOf = (steps: readonly PathStep[]): Position => {
    let offset = rootAt;
    let here = value;
    for (const step of steps) {
      if (typeof here !== 'object' || here === null) break;
      const where = offsets.get(here);
      const next = Array.isArray(where) ? where[Number(step)] : where?.get(step);
      if (next === undefined) break;
      offset = next;
      here = (here as Record<PathStep, unknown>)[step];
    }
    return position(offset);
  };
  return { value, problems, positionOf };
}
