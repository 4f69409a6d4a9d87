import { setTimeout as wait } from 'node:timers/promises';
import { describe, expect, test } from 'vitest';
import { inOrder } from '../../packages/cli/src/batch/in-order.js';
import { durationText, progressText } from '../../packages/cli/src/batch/progress.js';
import { splitLines } from '../../packages/cli/src/batch/split-lines.js';
import { runFake } from './fake-io.js';

async function* each<T>(items: readonly T[]): AsyncGenerator<T> {
  for (const item of items) yield item;
}

async function linesOf(chunks: readonly string[], maxBytes = 100) {
  const found: (readonly [number, string | undefined, number, boolean])[] = [];
  const bytes = chunks.map((text) => new TextEncoder().encode(text));
  for await (const line of splitLines(each(bytes), maxBytes)) {
    const text = line.bytes === undefined ? undefined : Buffer.from(line.bytes).toString();
    found.push([line.number, text, line.end, line.terminated]);
  }
  return found;
}

describe('lines of a stream', () => {
  test('however the chunks are cut', async () => {
    const text = 'one\n\n  \ntwo\r\nthree';
    const wanted = [
      [1, 'one', 4, true],
      [4, 'two\r', 13, true],
      [5, 'three', 18, false],
    ];
    expect(await linesOf([text])).toEqual(wanted);
    expect(await linesOf([...text])).toEqual(wanted);
    expect(await linesOf(['one\n\n ', ' \ntw', 'o\r\nth', 'ree'])).toEqual(wanted);
  });

  test('a line that is too long is passed over', async () => {
    expect(await linesOf(['a\nbbbb', 'bbbb\nc\n'], 5)).toEqual([
      [1, 'a', 2, true],
      [2, undefined, 11, true],
      [3, 'c', 13, true],
    ]);
  });

  test('nothing', async () => {
    expect(await linesOf([])).toEqual([]);
    expect(await linesOf(['', '\n'])).toEqual([]);
  });
});

describe('in order', () => {
  const never = new AbortController().signal;

  test('whatever takes how long, and never more at once or ahead than allowed', async () => {
    const taken: number[] = [];
    let running = 0;
    let most = 0;
    let begun = 0;
    let furthest = 0;
    const work = async (item: number): Promise<number> => {
      begun += 1;
      running += 1;
      most = Math.max(most, running);
      furthest = Math.max(furthest, begun - taken.length);
      await wait(item === 0 ? 60 : (item * 7) % 5);
      running -= 1;
      return item;
    };
    const items = Array.from({ length: 60 }, (_none, index) => index);
    await inOrder(each(items), { atOnce: 3, ahead: 8 }, never, work, async (item) => {
      taken.push(item);
    });
    expect(taken).toEqual(items);
    expect(most).toBe(3);
    expect(furthest).toBe(8);
  });

  test('a result is handed on before the next item comes', async () => {
    const taken: string[] = [];
    async function* conversation(): AsyncGenerator<string> {
      yield 'first';
      while (taken.length === 0) await wait(1);
      yield 'second';
    }
    const window = { atOnce: 2, ahead: 4 };
    await inOrder(
      conversation(),
      window,
      never,
      async (text) => text,
      async (text) => {
        taken.push(text);
      },
    );
    expect(taken).toEqual(['first', 'second']);
  });

  test('a failure to hand on ends it', async () => {
    const window = { atOnce: 2, ahead: 2 };
    const full = async (): Promise<void> => {
      throw new Error('the disk is full');
    };
    const done = inOrder(each([1, 2, 3, 4, 5]), window, never, async (item) => item, full);
    await expect(done).rejects.toThrow('the disk is full');
  });

  test('stopped: nothing more is handed on', async () => {
    const stop = new AbortController();
    const taken: number[] = [];
    const window = { atOnce: 1, ahead: 2 };
    await inOrder(
      each([1, 2, 3, 4]),
      window,
      stop.signal,
      async (item) => item,
      async (item) => {
        taken.push(item);
        if (item === 2) stop.abort();
      },
    );
    expect(taken).toEqual([1, 2]);
  });
});

test('progress', () => {
  expect(progressText(30, 10, undefined, 0)).toBe('30 jobs, 3.0 a second');
  expect(progressText(30, 10, 0.25, 0)).toBe('30 jobs, 3.0 a second, 25 %, 30 s left');
  // resumed at a half: a quarter took 10 s, a quarter is left
  expect(progressText(30, 10, 0.75, 0.5)).toBe('30 jobs, 3.0 a second, 75 %, 10 s left');
  expect(durationText(59.4)).toBe('59 s');
  expect(durationText(3599)).toBe('59 min 59 s');
  expect(durationText(7260)).toBe('2 h 1 min');
});

describe('wrong use', () => {
  test.each([
    [['batch', '-', '--resume'], 2, '--resume needs the --out'],
    [['batch', '-', '--out', 'x', '--resume', '--force'], 2, 'exclude each other'],
    [['batch', '-', '--workers', '0'], 2, '--workers cannot be "0"'],
    [['batch', 'nowhere.ndjson'], 4, 'nowhere.ndjson cannot be read'],
    [['batch'], 2, 'batch needs <jobs>'],
  ])('%j', async (argv, code, message) => {
    const done = await runFake(argv);
    expect(done.code).toBe(code);
    expect(done.stderr).toContain(message);
    expect(done.stdout).toBe('');
  });
});
