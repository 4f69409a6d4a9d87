import { createReadStream, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { FileError, fileFailure, UsageError } from '../failure.js';
import type { Io } from '../io.js';
import { maxFileBytes } from '../read/read-file.js';
import { stdinName } from '../read/read-job.js';
import type { BatchJob } from './batch-types.js';
import { splitLines } from './split-lines.js';

export interface JobSource {
  readonly jobs: AsyncIterable<BatchJob>;
  /** Number of jobs, when it is known beforehand. */
  readonly count?: number;
}

/** The jobs of a folder, of a file with one job a line, or of the standard input (`-`). */
export function jobSource(source: string, io: Io, stop: AbortSignal): JobSource {
  if (source === '-') {
    if (io.stdinIsTerminal)
      throw new UsageError('- reads jobs from the standard input, one a line: pipe them in');
    return { jobs: lineJobs(io.stdinChunks(stop), stdinName) };
  }
  let bytes: number;
  try {
    const status = statSync(source);
    if (status.isDirectory()) return folderJobs(source);
    bytes = status.size;
  } catch (error) {
    throw fileFailure(error, `${source} cannot be read`);
  }
  return { jobs: lineJobs(createReadStream(source, { signal: stop }), source, bytes) };
}

async function* lineJobs(
  chunks: AsyncIterable<Uint8Array>,
  file: string,
  size?: number,
): AsyncGenerator<BatchJob, void, undefined> {
  for await (const { number, bytes, end } of splitLines(chunks, maxFileBytes)) {
    const share = size === undefined ? {} : { share: end / size };
    yield { kind: 'line', number, file, ...share, ...(bytes === undefined ? {} : { bytes }) };
  }
}

/** Folders with a job.json and job files, in the order of their names. */
function folderJobs(folder: string): JobSource {
  const paths = readdirSync(folder, { withFileTypes: true })
    .map(({ name }) => name)
    .sort()
    .filter((name) => isFile(join(folder, name, /\.json$/i.test(name) ? '.' : 'job.json')))
    .map((name) => join(folder, name));
  if (paths.length === 0)
    throw new FileError(
      `${folder} holds no job: neither a folder with a job.json nor a .json file`,
    );
  return { jobs: pathJobs(paths), count: paths.length };
}

async function* pathJobs(paths: readonly string[]): AsyncGenerator<BatchJob, void, undefined> {
  for (const [index, path] of paths.entries()) {
    const number = index + 1;
    yield { kind: 'path', number, share: number / paths.length, path };
  }
}

function isFile(path: string): boolean {
  try {
    return statSync(path).isFile();
  } catch {
    return false;
  }
}
