import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as core from '@offplate/core';
import * as expression from '@offplate/core/expression';
import * as meshFile from '@offplate/core/mesh-file';
import { describe, expect, test } from 'vitest';

const source = fileURLToPath(new URL('../../packages/core/src', import.meta.url));

interface Example {
  readonly file: string;
  readonly code: string;
  readonly result: string;
}

function examplesIn(file: string): Example[] {
  const text = readFileSync(file, 'utf8');
  return [...text.matchAll(/@example\s*\n((?:\s*\*\s?.*\n)+?)\s*\*(?:\/|\s*@)/g)].flatMap((block) =>
    [...(block[1] ?? '').matchAll(/\*\s*(\S.*?)\s*\/\/ -> (.+)/g)].map((line) => ({
      file,
      code: line[1] as string,
      result: (line[2] as string).trim(),
    })),
  );
}

const files = readdirSync(source, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.ts') && !name.includes('generated'))
  .map((name) => join(source, name));
const examples = files.flatMap(examplesIn);

const scope = { ...core, ...expression, ...meshFile };

/** Runs the code of a doc comment with every public name in scope. */
function run(code: string): unknown {
  return new Function(...Object.keys(scope), `return (${code});`)(...Object.values(scope));
}

/** `~1.23` asks for agreement to the digits that are written. */
function matches(actual: unknown, wanted: string): void {
  const rounded = /^~(-?[\d.]+(?:e[+-]?\d+)?)$/.exec(wanted);
  if (rounded === null) {
    expect(actual === undefined ? 'undefined' : JSON.parse(JSON.stringify(actual))).toEqual(
      wanted === 'undefined' ? 'undefined' : JSON.parse(wanted),
    );
    return;
  }
  const text = rounded[1] as string;
  const digits = text.replace(/e.*$/, '').replace(/[-.]/g, '').replace(/^0+/, '').length;
  expect(Number(Number(actual).toPrecision(digits))).toBe(Number(text));
}

describe('examples in doc comments', () => {
  test('there are some in every room that has a public face', () => {
    expect(examples.length).toBeGreaterThan(40);
  });
  for (const { file, code, result } of examples)
    test(`${file.slice(source.length + 1)}: ${code.slice(0, 80)}`, () => {
      matches(run(code), result);
    });
});
