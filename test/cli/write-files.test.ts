import {
  chmodSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  readlinkSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeEach, describe, expect, test } from 'vitest';
import { writeFiles } from '../../packages/cli/src/write/write-files.js';

const root = mkdtempSync(join(tmpdir(), 'offplate-write-'));
afterAll(() => rmSync(root, { recursive: true }));

let folder = '';
let count = 0;
beforeEach(() => {
  folder = join(root, String(count++));
  mkdirSync(folder);
});

const file = (name: string, text = `new ${name}`) => ({
  path: join(folder, name),
  bytes: new TextEncoder().encode(text),
});
const read = (name: string): string => readFileSync(join(folder, name), 'utf8');

describe('writing files', () => {
  test('all of them, and nothing else', async () => {
    await writeFiles([file('a'), file('b', ''), file('c', 'x'.repeat(3_000_000))], false);
    expect(readdirSync(folder).sort()).toEqual(['a', 'b', 'c']);
    expect([read('a'), read('b'), read('c').length]).toEqual(['new a', '', 3_000_000]);
  });

  test('an existing file stays, and so does everything else', async () => {
    writeFileSync(join(folder, 'b'), 'old');
    await expect(writeFiles([file('a'), file('b')], false)).rejects.toThrow(
      `${join(folder, 'b')} exists; --force replaces it`,
    );
    expect(readdirSync(folder)).toEqual(['b']);
    expect(read('b')).toBe('old');
  });

  test('with force it is replaced and keeps its mode', async () => {
    writeFileSync(join(folder, 'a'), 'old');
    chmodSync(join(folder, 'a'), 0o640);
    await writeFiles([file('a')], true);
    expect(read('a')).toBe('new a');
    expect(statSync(join(folder, 'a')).mode & 0o777).toBe(0o640);
  });

  test('with force and a failure the old ones come back', async () => {
    writeFileSync(join(folder, 'a'), 'old a');
    mkdirSync(join(folder, 'z'));
    await expect(writeFiles([file('a'), file('new'), file('z')], true)).rejects.toThrow(
      'is a folder',
    );
    expect(readdirSync(folder).sort()).toEqual(['a', 'z']);
    expect(read('a')).toBe('old a');
  });

  test('a failure at the last step takes back the steps before it', async () => {
    writeFileSync(join(folder, 'a'), 'old a');
    // the same target twice: without force the second finds the first in its way
    await expect(writeFiles([file('b'), file('b')], false)).rejects.toThrow('exists');
    expect(readdirSync(folder)).toEqual(['a']);
  });

  test('folders that were made for it go again', async () => {
    const deep = { ...file(join('x', 'y', 'a')), newFolder: true };
    await writeFiles([deep], false);
    expect(read(join('x', 'y', 'a'))).toContain('new');
    const other = { ...file(join('p', 'q', 'a')), newFolder: true };
    await expect(writeFiles([other, deep], false)).rejects.toThrow('exists');
    expect(readdirSync(folder)).toEqual(['x']);
    await expect(writeFiles([file(join('no', 'a'))], false)).rejects.toThrow('no such folder');
    expect(readdirSync(folder)).toEqual(['x']);
  });

  test('a link is followed', async () => {
    writeFileSync(join(folder, 'real'), 'old');
    symlinkSync('real', join(folder, 'link'));
    await writeFiles([file('link')], true);
    expect(readlinkSync(join(folder, 'link'))).toBe('real');
    expect(read('real')).toBe('new link');
  });

  test('a device is written to, not replaced', async () => {
    await writeFiles([{ path: '/dev/null', bytes: new Uint8Array(10) }], false);
    expect(statSync('/dev/null').isFile()).toBe(false);
  });

  test('signals are let through again afterwards', async () => {
    const before = process.listenerCount('SIGINT');
    await writeFiles([file('a')], false);
    expect(process.listenerCount('SIGINT')).toBe(before);
  });
});
