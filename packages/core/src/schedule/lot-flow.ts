/** One operation as the calendar sees it, in working days of the shop. */
export interface ScheduledWork {
  readonly operation: number;
  readonly workCentre: string;
  readonly sourcing: 'in-house' | 'outside';
  /** Wait before work starts. */
  readonly queueDays: number;
  /** From leaving to return, for work that is bought; 0 in-house. */
  readonly turnaroundDays: number;
  readonly setupDays: number;
  /** For the whole lot. */
  readonly runDays: number;
  /** Parts are worked on one after the other, so that the first may move on before the last is done. */
  readonly partByPart: boolean;
  /** The time passes by the clock, whatever the shifts: a furnace. */
  readonly byTheClock: boolean;
}

export type SpanKind = 'queue' | 'turnaround' | 'set-up' | 'work';

/** A stretch of the critical path. */
export interface CriticalSpan {
  readonly operation: number;
  readonly what: SpanKind;
  readonly days: number;
}

export interface LotFlow {
  /** Working days from the start to the last part. */
  readonly days: number;
  readonly steps: readonly {
    readonly operation: number;
    /** Set-up or, at a supplier, the turnaround begins. */
    readonly startsAfterDays: number;
    readonly endsAfterDays: number;
  }[];
  /** What the date hangs on, in the order of time; the days add up to those of the lot. */
  readonly critical: readonly CriticalSpan[];
}

/** Shorter stretches, in days, are rounding. */
const leastSpan = 1e-9;

/** Most transfer batches that are followed one by one. */
const mostBatches = 2000;

/** Parts in a transfer batch: as wished, but no more than 2000 batches in a lot. */
export function transferBatchOf(quantity: number, wished: number | undefined): number {
  const batch = Math.min(quantity, wished ?? quantity);
  return Math.max(batch, Math.ceil(quantity / mostBatches));
}

/**
 * Sends a lot through its operations in transfer batches. An operation waits in its queue from the
 * first batch on, sets up, and works on one batch after the other as they come; what is not done part
 * by part (furnaces, plates, suppliers) waits for the whole lot and gives all of it back together. A
 * work centre that the lot comes back to is taken until the lot has left it. Days as working days;
 * nothing else stands in the way than the queue days say.
 *
 * @param works in the order of working
 * @param quantity parts in the lot, whole, from 1
 * @param transferBatch parts that move on together, whole, from 1; the whole lot for no overlap
 *
 * Source: lot streaming in a flow shop with attached set-ups (common practice, no source).
 *
 * @example
 * lotFlow([{ operation: 10, workCentre: 'a', sourcing: 'in-house', queueDays: 0, turnaroundDays: 0, setupDays: 0, runDays: 4, partByPart: true, byTheClock: false }, { operation: 20, workCentre: 'b', sourcing: 'in-house', queueDays: 0, turnaroundDays: 0, setupDays: 0, runDays: 4, partByPart: true, byTheClock: false }], 4, 1).days // -> ~5
 */
export function lotFlow(
  works: readonly ScheduledWork[],
  quantity: number,
  transferBatch: number,
): LotFlow {
  const batch = transferBatchOf(quantity, transferBatch);
  const count = Math.ceil(quantity / batch);
  const taken = new Map<string, { readonly until: number; readonly index: number }>();
  let arrived = new Float64Array(count);
  const passed = works.map((work, index): Passed => {
    const waitsFor = work.partByPart ? 0 : count - 1;
    const queued = (arrived[waitsFor] ?? 0) + work.queueDays;
    const before = work.sourcing === 'in-house' ? taken.get(work.workCentre) : undefined;
    const held = before !== undefined && before.until > queued;
    const start = held ? before.until : queued;
    const done = new Float64Array(count);
    let time = start + work.turnaroundDays + work.setupDays;
    for (let at = 0; at < count; at++) {
      const parts = Math.min(batch, quantity - at * batch);
      if (work.partByPart)
        time = Math.max(time, arrived[at] ?? 0) + (work.runDays * parts) / quantity;
      else if (at === 0) time += work.runDays;
      done[at] = time;
    }
    taken.set(work.workCentre, { until: time, index });
    const passing = { work, arrived, done, start, waitsFor };
    arrived = done;
    return held ? { ...passing, heldBy: before.index } : passing;
  });
  const days = arrived[count - 1] ?? 0;
  return {
    days,
    steps: passed.map(({ work, start, done }) => ({
      operation: work.operation,
      startsAfterDays: start,
      endsAfterDays: done[count - 1] ?? 0,
    })),
    critical: criticalSpans(passed, quantity, batch),
  };
}

/** How the lot went through one operation; times in days, one entry a batch. */
interface Passed {
  readonly work: ScheduledWork;
  readonly arrived: Float64Array;
  readonly done: Float64Array;
  readonly start: number;
  /** Batch whose arrival starts the queue. */
  readonly waitsFor: number;
  /** Earlier operation at the same work centre that was still in the way. */
  readonly heldBy?: number;
}

/** Back from the last part: what each stretch of time was spent on. */
function criticalSpans(
  passed: readonly Passed[],
  quantity: number,
  batch: number,
): readonly CriticalSpan[] {
  const spans: CriticalSpan[] = [];
  const add = (operation: number, what: SpanKind, days: number): void => {
    const next = spans[0];
    if (days <= leastSpan) return;
    if (next?.operation === operation && next.what === what)
      spans[0] = { ...next, days: next.days + days };
    else spans.unshift({ operation, what, days });
  };
  let at = Math.ceil(quantity / batch) - 1;
  let index = passed.length - 1;
  while (index >= 0) {
    const here = passed[index];
    if (here === undefined) break;
    const { work, arrived, done, start } = here;
    const { operation } = work;
    if (work.partByPart) {
      // Batches that followed each other without a gap, back to the one that was waited for.
      while (at > 0 && (done[at - 1] ?? 0) >= (arrived[at] ?? 0)) {
        add(operation, 'work', (done[at] ?? 0) - (done[at - 1] ?? 0));
        at -= 1;
      }
      if (at > 0) {
        add(operation, 'work', (done[at] ?? 0) - (arrived[at] ?? 0));
        index -= 1;
        continue;
      }
      add(operation, 'work', (done[0] ?? 0) - start - work.setupDays);
    } else add(operation, 'work', (done[0] ?? 0) - start - work.setupDays - work.turnaroundDays);
    add(operation, 'set-up', work.setupDays);
    add(operation, 'turnaround', work.turnaroundDays);
    if (here.heldBy !== undefined) {
      index = here.heldBy;
      at = Math.ceil(quantity / batch) - 1;
      continue;
    }
    add(operation, 'queue', work.queueDays);
    at = here.waitsFor;
    index -= 1;
  }
  return spans;
}
