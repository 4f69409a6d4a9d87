import process from 'node:process';
import { addAbortSignal } from 'node:stream';
import { fileFailure } from './failure.js';
import type { Io, Output } from './io.js';

/** The world of a process on the command line. */
export function nodeIo(): Io {
  return {
    stdout: output(process.stdout, 'the standard output'),
    stderr: output(process.stderr, 'the standard error'),
    readStdin,
    stdinChunks,
    stdinIsTerminal: process.stdin.isTTY === true,
    env: process.env,
    writeFiles: async (files, force) => {
      const { writeFiles } = await import('./write/write-files.js');
      await writeFiles(files, force);
    },
  };
}

function output(stream: NodeJS.WriteStream, name: string): Output {
  // a failed write comes back through its callback; without a listener it would also be thrown
  stream.on('error', () => undefined);
  return {
    isTerminal: stream.isTTY === true,
    ...(stream.isTTY === true ? { columns: stream.columns } : {}),
    write: (chunk) =>
      new Promise((resolve, reject) => {
        stream.write(chunk, (error) => {
          if (error === null || error === undefined) resolve();
          else
            reject(isClosedPipe(error) ? error : fileFailure(error, `${name} cannot be written`));
        });
      }),
  };
}

function isClosedPipe(error: Error): boolean {
  return 'code' in error && error.code === 'EPIPE';
}

async function readStdin(maxBytes: number): Promise<Uint8Array> {
  const chunks: Buffer[] = [];
  let length = 0;
  for await (const chunk of process.stdin) {
    const bytes = Buffer.from(chunk as Uint8Array);
    chunks.push(bytes);
    length += bytes.length;
    if (length >= maxBytes) break;
  }
  return new Uint8Array(Buffer.concat(chunks).subarray(0, maxBytes));
}

async function* stdinChunks(stop: AbortSignal): AsyncGenerator<Uint8Array, void, undefined> {
  try {
    for await (const chunk of addAbortSignal(stop, process.stdin))
      yield new Uint8Array(chunk as Uint8Array);
  } catch (error) {
    if (!stop.aborted) throw error;
  }
}
