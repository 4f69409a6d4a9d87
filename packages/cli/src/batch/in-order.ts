/** How much is worked on, and how far the work may run ahead of the oldest unfinished item. */
export interface Window {
  readonly atOnce: number;
  readonly ahead: number;
}

/**
 * Works on several items at once and hands the results on in the order of the items, one at a time.
 * Never more than `ahead` items are held, however long the first of them takes.
 *
 * @param stop when it is aborted nothing more is begun or handed on
 * @throws what `work`, `take` or the items throw first
 */
export async function inOrder<Item, Result>(
  items: AsyncIterable<Item>,
  window: Window,
  stop: AbortSignal,
  work: (item: Item) => Promise<Result>,
  take: (result: Result) => Promise<void>,
): Promise<void> {
  const workers = turnstile(window.atOnce);
  const places = turnstile(window.ahead);
  let failure: { readonly error: unknown } | undefined;
  let handedOn: Promise<void> = Promise.resolve();
  const handOn = async (before: Promise<void>, result: Promise<Result>): Promise<void> => {
    try {
      await before;
      const value = await result;
      if (failure === undefined && !stop.aborted) await take(value);
    } catch (error) {
      failure ??= { error };
    } finally {
      places.leave();
    }
  };
  for await (const item of items) {
    await places.enter();
    await workers.enter();
    if (failure !== undefined || stop.aborted) break;
    const result = work(item);
    result.then(workers.leave, workers.leave);
    handedOn = handOn(handedOn, result);
  }
  await handedOn;
  if (failure !== undefined && !stop.aborted) throw failure.error;
}

interface Turnstile {
  enter(): Promise<void>;
  leave(): void;
}

/** Lets so many in; the others wait until someone leaves. */
function turnstile(size: number): Turnstile {
  let free = size;
  const waiting: (() => void)[] = [];
  return {
    enter: async () => {
      if (free > 0) free -= 1;
      else await new Promise<void>((resolve) => waiting.push(resolve));
    },
    leave: () => {
      const next = waiting.shift();
      if (next === undefined) free += 1;
      else next();
    },
  };
}
