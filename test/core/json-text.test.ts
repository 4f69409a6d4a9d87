import { describe, expect, test } from 'vitest';
import {
  maxJsonDepth,
  maxJsonValues,
  readJsonText,
} from '../../packages/core/src/job/json-text.js';

const texts = [
  '{}',
  '[]',
  ' \t\r\n[1, -0, 0.5, 1e3, 1E-2, -12.75e+1, 1e999, 123456789012345678901234567890]',
  '{"a":{"b":[{"c":null},true,false,""]},"2":1,"1":2,"":3}',
  '"\\u00e9\\n\\t\\\\\\/\\"\\b\\f\\r \\ud83d\\ude00 ⌀ ±"',
  '"\u2028 lone \\ud800"',
  'null',
  '7',
  '[[[[]]],{"toString":1,"hasOwnProperty":2}]',
];

describe('values are those of JSON.parse', () => {
  test.each(texts)('%s', (text) => {
    const read = readJsonText(text);
    expect(read.problems).toEqual([]);
    expect(read.value).toStrictEqual(JSON.parse(text));
  });

  test('a byte order mark is stepped over', () => {
    expect(readJsonText('\ufeff{"a":1}').value).toEqual({ a: 1 });
  });
});

describe('what JSON.parse rejects is one problem with line and column', () => {
  test.each([
    ['', 1, 1, 'a value is missing'],
    ['{"a":1', 1, 7, 'without a comma or closing mark'],
    ['{"a":1,}', 1, 8, 'a comma before the closing mark'],
    ['[1,\n 2,\n]', 3, 1, 'a comma before the closing mark'],
    ['{"a" 1}', 1, 6, 'a colon is missing'],
    ['{a:1}', 1, 2, 'a key is missing'],
    ["{'a':1}", 1, 2, 'a key is missing'],
    ['{"a":\'b\'}', 1, 6, 'double quotes'],
    ['{"a":01}', 1, 6, 'a number is not written as JSON wants it'],
    ['{"a":1.}', 1, 6, 'a number is not written'],
    ['{"a":.5}', 1, 6, 'a value is missing'],
    ['{"a":+1}', 1, 6, 'a value is missing'],
    ['{"a":1,5}', 1, 8, 'a key is missing'],
    ['{"a":NaN}', 1, 6, 'a value is missing'],
    ['{"a":"x\ny"}', 1, 8, 'a control character'],
    ['{"a":"x\\q"}', 1, 9, 'a backslash before an unknown letter'],
    ['{"a":"x', 1, 8, 'a text is not closed'],
    ['// remark\n{}', 1, 1, 'no comments'],
    ['{"a":1} /* x */', 1, 9, 'no comments'],
    ['{} {}', 1, 4, 'something follows'],
    ['\r\n{"a":\r\n  tru}', 3, 3, 'a value is missing'],
  ])('%j', (text, line, column, words) => {
    expect(() => JSON.parse(text)).toThrow();
    const { value, problems } = readJsonText(text, 'job.json');
    expect(value).toBeUndefined();
    expect(problems).toHaveLength(1);
    expect(problems[0]).toMatchObject({
      code: 'json-syntax',
      place: { file: 'job.json', line, column },
    });
    expect(problems[0]?.message).toContain(words);
  });
});

test('a key that stands twice keeps the first value and is reported at the second', () => {
  const { value, problems } = readJsonText('{\n "part": {"a": 1, "b": 2,\n  "a": 3}\n}');
  expect(value).toEqual({ part: { a: 1, b: 2 } });
  expect(problems).toEqual([
    {
      code: 'json-duplicate-key',
      place: { line: 3, column: 3, path: 'part.a' },
      message: 'key twice, first on line 2',
      value: 'a',
      accept: 'another key',
    },
  ]);
});

test.each(['__proto__', 'constructor', 'prototype'])('%s is reported and never set', (key) => {
  const { value, problems } = readJsonText(`{"a": {"${key}": {"polluted": true}}, "b": 1}`);
  expect(value).toStrictEqual({ a: {}, b: 1 });
  expect(problems).toMatchObject([{ code: 'unknown-field', place: { line: 1, column: 8 } }]);
  expect(({} as { polluted?: boolean }).polluted).toBeUndefined();
});

test('nesting stops at the stated depth', () => {
  const nested = (depth: number): string => `${'['.repeat(depth)}${']'.repeat(depth)}`;
  expect(readJsonText(nested(maxJsonDepth)).problems).toEqual([]);
  expect(readJsonText(nested(maxJsonDepth + 1)).problems[0]?.code).toBe('too-large');
  expect(readJsonText('['.repeat(5_000_000)).problems[0]?.code).toBe('too-large');
});

test('the number of values is limited', () => {
  const zeros = (count: number): string => `[${'0,'.repeat(count - 2)}0]`;
  expect(readJsonText(zeros(maxJsonValues)).problems).toEqual([]);
  expect(readJsonText(zeros(maxJsonValues + 1)).problems[0]?.code).toBe('too-large');
});

test('positions of values, and of the nearest value around an absent one', () => {
  const read = readJsonText('{\n  "a": [10,\n   {"b": true}],\r\n  "odd key": 5\n}');
  expect(read.positionOf([])).toEqual({ line: 1, column: 1 });
  expect(read.positionOf(['a'])).toEqual({ line: 2, column: 8 });
  expect(read.positionOf(['a', 1, 'b'])).toEqual({ line: 3, column: 10 });
  expect(read.positionOf(['a', 1, 'missing'])).toEqual({ line: 3, column: 4 });
  expect(read.positionOf(['odd key'])).toEqual({ line: 4, column: 14 });
  expect(read.positionOf(['nothing', 3])).toEqual({ line: 1, column: 1 });
});
