import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import * as core from '@offplate/core';
import * as limits from '@offplate/core/limits';
import * as stack from '@offplate/core/stack';
import { expect, test } from 'vitest';

const readme = fileURLToPath(new URL('../../packages/core/README.md', import.meta.url));
const blocks = [...readFileSync(readme, 'utf8').matchAll(/```js\n(.*?)```/gs)].map(
  ([, code]) => code ?? '',
);
const modules: Readonly<Record<string, object>> = {
  '@offplate/core': core,
  '@offplate/core/limits': limits,
  '@offplate/core/stack': stack,
};

/** Runs a block with its imports bound to the sources; the lines that it prints. */
function printed(code: string): readonly string[] {
  const scope: Record<string, unknown> = {};
  const body = code.replace(
    /import \{(.*?)\} from '(.*?)';/gs,
    (_all, names: string, from: string) => {
      for (const name of names.split(',').map((each) => each.trim()))
        scope[name] = Object.entries(modules[from] ?? {}).find(([key]) => key === name)?.[1];
      return '';
    },
  );
  const lines: string[] = [];
  const log = (...words: readonly unknown[]): void => {
    lines.push(words.map(String).join(' '));
  };
  new Function(...Object.keys(scope), 'console', body)(...Object.values(scope), { log });
  return lines;
}

test('the first example of the README plans a job', () => {
  const lines = printed(blocks[0] ?? '');
  expect(lines.length).toBeGreaterThan(6);
  for (const [index, line] of lines.entries())
    expect(line).toMatch(new RegExp(`^${10 * (index + 1)} \\S+`));
  expect(lines.join('\n')).toContain('tress relief');
});

test('the second one prints what it says', () => {
  const code = blocks[1] ?? '';
  const wanted = [...code.matchAll(/; \/\/ (.*)/g)].map(([, text]) => text);
  expect(wanted).toHaveLength(3);
  expect(printed(code)).toEqual(wanted);
});

test('the light entries hand out what the whole core does', () => {
  const all: Readonly<Record<string, unknown>> = { ...core };
  for (const [name, value] of [...Object.entries(limits), ...Object.entries(stack)])
    expect(all[name], name).toBe(value);
  expect(Object.keys(limits).length).toBeGreaterThan(15);
  expect(Object.keys(stack).length).toBeGreaterThan(25);
});
