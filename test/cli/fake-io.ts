import type { Io, Output } from '@offplate/cli';
import { run } from '@offplate/cli';
import { writeFiles } from '../../packages/cli/src/write/write-files.js';

export interface FakeIoOptions {
  readonly stdin?: string | Uint8Array;
  readonly env?: Io['env'];
  /** Width of the terminal on both outputs; absent = no terminal. */
  readonly columns?: number;
  readonly stdinIsTerminal?: boolean;
  /** Error code with which writing to the standard output fails. */
  readonly stdoutFails?: string;
}

export interface Outcome {
  readonly code: number;
  readonly stdout: string;
  readonly stderr: string;
  readonly bytes: Uint8Array;
}

/** Runs the command line in this process. Files are real, everything else is captured. */
export async function runFake(
  argv: readonly string[],
  options: FakeIoOptions = {},
): Promise<Outcome> {
  const out: Uint8Array[] = [];
  const err: Uint8Array[] = [];
  const { columns, stdin = '', stdoutFails } = options;
  const capture = (chunks: Uint8Array[], failure?: string): Output => ({
    isTerminal: columns !== undefined,
    ...(columns === undefined ? {} : { columns }),
    write: async (chunk) => {
      if (failure !== undefined) throw Object.assign(new Error('write failed'), { code: failure });
      chunks.push(typeof chunk === 'string' ? new TextEncoder().encode(chunk) : chunk);
    },
  });
  const code = await run(argv, {
    stdout: capture(out, stdoutFails),
    stderr: capture(err),
    stdinIsTerminal: options.stdinIsTerminal ?? false,
    readStdin: async () => (typeof stdin === 'string' ? new TextEncoder().encode(stdin) : stdin),
    stdinChunks: async function* () {
      yield typeof stdin === 'string' ? new TextEncoder().encode(stdin) : stdin;
    },
    env: options.env ?? {},
    writeFiles,
  });
  const text = (chunks: readonly Uint8Array[]): string => Buffer.concat(chunks).toString('utf8');
  return { code, stdout: text(out), stderr: text(err), bytes: Buffer.concat(out) };
}
