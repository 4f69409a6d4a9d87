import {
  closeSync,
  createReadStream,
  existsSync,
  fsyncSync,
  ftruncateSync,
  openSync,
  renameSync,
  writeSync,
} from 'node:fs';
import { FileError, fileFailure } from '../failure.js';
import { splitLines } from './split-lines.js';

/** Where the lines of a batch go. */
export interface ResultSink {
  /** Hashes of the jobs that an earlier run has done, in order. */
  readonly done: readonly string[];
  write(line: string): Promise<void>;
  /** All is done: the file takes its name. */
  finish(): void;
  /** Stopped: what was written stays for `--resume`. */
  keep(): void;
}

/** Longest line of a result that is read back. */
const maxLineBytes = 200_000_000;

/**
 * A file that bears another name until it is complete, so nobody takes a part for the whole.
 *
 * @throws FileError when it exists, or a part of it does, and neither `resume` nor `force` is given
 */
export async function resultFile(
  path: string,
  { resume, force }: { readonly resume: boolean; readonly force: boolean },
): Promise<ResultSink> {
  const part = `${path}.part`;
  if (existsSync(path) && !force) throw new FileError(`${path} exists; --force replaces it`);
  if (existsSync(part) && !resume && !force)
    throw new FileError(
      `${part} is left from a run that was stopped; --resume goes on, --force begins anew`,
    );
  const earlier = resume && existsSync(part) ? await earlierLines(part) : { done: [], end: 0 };
  let file: number;
  try {
    file = openSync(part, existsSync(part) ? 'r+' : 'w');
    ftruncateSync(file, earlier.end);
  } catch (error) {
    throw fileFailure(error, `${part} cannot be written`);
  }
  let at = earlier.end;
  const close = (): void => {
    fsyncSync(file);
    closeSync(file);
  };
  return {
    done: earlier.done,
    write: async (line) => {
      const bytes = Buffer.from(`${line}\n`);
      try {
        for (let sent = 0; sent < bytes.length; )
          sent += writeSync(file, bytes, sent, bytes.length - sent, at + sent);
      } catch (error) {
        throw fileFailure(error, `${part} cannot be written`);
      }
      at += bytes.length;
    },
    finish: () => {
      close();
      renameSync(part, path);
    },
    keep: close,
  };
}

/** The whole lines of a part; half a line at its end is done again. */
async function earlierLines(
  part: string,
): Promise<{ readonly done: readonly string[]; readonly end: number }> {
  const done: string[] = [];
  let end = 0;
  for await (const line of splitLines(createReadStream(part), maxLineBytes)) {
    const job = /^\{"schema":"batch-line\/1","number":\d+,"job":"([0-9a-f]{64})"/.exec(
      Buffer.from(line.bytes?.subarray(0, 200) ?? []).toString('latin1'),
    )?.[1];
    if (!line.terminated) break;
    if (job === undefined)
      throw new FileError(`${part} is no result of a batch: line ${line.number}`);
    done.push(job);
    end = line.end;
  }
  return { done, end };
}
