import { readFile } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import process from 'node:process';
import { Piscina } from 'piscina';
import { type Arguments, operand } from '../commands/command.js';
import { loadCatalog, wholeNumber } from '../commands/load-job.js';
import { type ExitCode, exitCodes } from '../exit-codes.js';
import { FileError, UsageError } from '../failure.js';
import type { Io } from '../io.js';
import type { BatchJob, BatchOutcome, WorkerStart } from './batch-types.js';
import { inOrder } from './in-order.js';
import { jobHash, settingsHash } from './job-hash.js';
import { jobSource } from './job-source.js';
import { durationText, progress, rateText } from './progress.js';
import { type ResultSink, resultFile } from './result-file.js';

const maxWorkers = 64;
/** Results that may wait for an older one, for each worker: this bounds the memory. */
const aheadOfOldest = 16;
/** Memory of one worker; a job that needs more fails alone. */
const workerMegabytes = 2048;

type Tally = Record<BatchOutcome, number>;

interface DoneJob {
  readonly line: string;
  readonly outcome: BatchOutcome;
  readonly share?: number;
}

/** Plans all jobs of the first operand. */
export async function runBatch(args: Arguments, io: Io): Promise<ExitCode> {
  const shop = args.values.get('shop');
  // tells at once what is wrong with the shop's tables
  loadCatalog(args);
  const workers = wholeNumber(args, 'workers', maxWorkers) ?? availableParallelism();
  const seconds = wholeNumber(args, 'seconds', 86_400) ?? 60;
  const stop = new AbortController();
  const source = jobSource(operand(args, 0), io, stop.signal);
  const sink = await sinkOf(args, io);
  const threads = Math.min(workers, Math.max(1, (source.count ?? workers) - sink.done.length));
  const pool = new Piscina({
    filename: new URL('./plan-worker.js', import.meta.url).href,
    minThreads: threads,
    maxThreads: threads,
    workerData: { ...(shop === undefined ? {} : { shop }) } satisfies WorkerStart,
    resourceLimits: { maxOldGenerationSizeMb: workerMegabytes },
    recordTiming: false,
  });
  const settings = settingsHash(await version(), shop);
  const work = (job: BatchJob): Promise<DoneJob> => planOne(job, pool, settings, seconds);
  const interrupt = (): void => {
    stop.abort();
    // a second signal ends the process at once
    process.removeListener('SIGINT', interrupt);
    process.removeListener('SIGTERM', interrupt);
  };
  process.on('SIGINT', interrupt);
  process.on('SIGTERM', interrupt);
  const started = performance.now();
  const plain = args.flags.has('plain') || args.flags.has('no-color');
  const shown = progress(io, () => performance.now(), plain);
  const tally: Tally = { planned: 0, 'not-feasible': 0, invalid: 0, failed: 0 };
  const window = { atOnce: threads, ahead: threads * aheadOfOldest };
  try {
    const jobs = withoutDone(source.jobs, sink.done, settings, shown.beginAt);
    const planning = inOrder(jobs, window, stop.signal, work, async ({ line, outcome, share }) => {
      await sink.write(line);
      tally[outcome] += 1;
      await shown.tell(sum(tally), share);
    });
    const stopped = new Promise<void>((resolve) => {
      stop.signal.addEventListener('abort', () => resolve());
    });
    await Promise.race([planning, stopped]);
    if (stop.signal.aborted) await pool.destroy();
    await planning.catch((error: unknown) => {
      if (!stop.signal.aborted) throw error;
    });
  } catch (error) {
    sink.keep();
    throw error;
  } finally {
    process.removeListener('SIGINT', interrupt);
    process.removeListener('SIGTERM', interrupt);
    await pool.destroy();
    await shown.end();
  }
  if (stop.signal.aborted) sink.keep();
  else sink.finish();
  await tellEnd(tally, sink, (performance.now() - started) / 1000, stop.signal.aborted, args, io);
  return stop.signal.aborted ? exitCodes.interrupted : verdictOf(tally);
}

/** One job in a worker. Whatever happens to it, a line comes back. */
async function planOne(
  job: BatchJob,
  pool: Piscina,
  settings: string,
  seconds: number,
): Promise<DoneJob> {
  const { number } = job;
  const hash = jobHash(job, settings);
  const begin = `{"schema":"batch-line/1","number":${number},"job":"${hash}"`;
  const source = job.kind === 'path' ? `,"source":${JSON.stringify(job.path)}` : '';
  const planned = await planInPool(job, pool, seconds);
  const outcome = /^\{"outcome":"([a-z-]+)"/.exec(planned)?.[1] as BatchOutcome;
  const share = job.share === undefined ? {} : { share: job.share };
  return { line: `${begin}${source},${planned.slice(1)}`, outcome, ...share };
}

async function planInPool(job: BatchJob, pool: Piscina, seconds: number): Promise<string> {
  const timeUp = new AbortController();
  const timer = setTimeout(() => timeUp.abort(), 1000 * seconds);
  try {
    return (await pool.run(job, { signal: timeUp.signal })) as string;
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    const failure = timeUp.signal.aborted ? `not done within ${seconds} s` : reason;
    return JSON.stringify({ outcome: 'failed', failure });
  } finally {
    clearTimeout(timer);
  }
}

/**
 * The jobs that an earlier run has not done.
 *
 * @throws FileError when it has done other jobs than these
 */
async function* withoutDone(
  jobs: AsyncIterable<BatchJob>,
  done: readonly string[],
  settings: string,
  passedShare: (share: number | undefined) => void,
): AsyncGenerator<BatchJob, void, undefined> {
  let passed = 0;
  for await (const job of jobs) {
    const earlier = done[passed];
    if (earlier === undefined) {
      yield job;
      continue;
    }
    passed += 1;
    passedShare(job.share);
    if (earlier !== jobHash(job, settings))
      throw new FileError(
        `job ${job.number} is not the one that the earlier run has done (or the program or the shop's tables have changed); --force begins anew`,
      );
  }
  if (passed < done.length)
    throw new FileError(`the earlier run has done ${done.length} jobs, here are only ${passed}`);
}

async function sinkOf({ flags, values }: Arguments, io: Io): Promise<ResultSink> {
  const path = values.get('out');
  const resume = flags.has('resume');
  if (resume && flags.has('force')) throw new UsageError('--resume and --force exclude each other');
  if (path !== undefined && path !== '-')
    return await resultFile(path, { resume, force: flags.has('force') });
  if (resume) throw new UsageError('--resume needs the --out of the run that was stopped');
  const write = async (line: string): Promise<void> => await io.stdout.write(`${line}\n`);
  return { done: [], write, finish: () => undefined, keep: () => undefined };
}

function sum(tally: Tally): number {
  return Object.values(tally).reduce((total, count) => total + count, 0);
}

function verdictOf(tally: Tally): ExitCode {
  if (tally.failed > 0) return exitCodes.internalError;
  if (tally.invalid > 0) return exitCodes.invalidInput;
  return tally['not-feasible'] > 0 ? exitCodes.computationSaysNo : exitCodes.ok;
}

async function tellEnd(
  tally: Tally,
  sink: ResultSink,
  seconds: number,
  interrupted: boolean,
  args: Arguments,
  io: Io,
): Promise<void> {
  const parts = [
    `${sum(tally)} jobs in ${durationText(seconds)}, ${rateText(sum(tally), seconds)}`,
    `${tally.planned} planned`,
    `${tally['not-feasible']} cannot be made`,
    `${tally.invalid} invalid`,
    ...(tally.failed === 0 ? [] : [`${tally.failed} failed`]),
    ...(sink.done.length === 0 ? [] : [`${sink.done.length} done before`]),
  ];
  await io.stderr.write(`${parts.join('; ')}\n`);
  const path = args.values.get('out');
  const toFile = path !== undefined && path !== '-';
  if (interrupted)
    await io.stderr.write(
      `offplate: interrupted${toFile ? `; ${path}.part holds what is done, --resume goes on` : ''}\n`,
    );
  else if (toFile) await io.stderr.write(`wrote ${path}\n`);
}

async function version(): Promise<string> {
  const text = await readFile(new URL('../../package.json', import.meta.url), 'utf8');
  const { version: number } = JSON.parse(text) as { readonly version: string };
  return number;
}
