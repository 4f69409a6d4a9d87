import type { Finding } from '@offplate/core';
import { FileError, InvalidInput, UsageError } from '../failure.js';
import type { Io } from '../io.js';
import { maxFileBytes, readTextFile, textOf } from './read-file.js';
import { stdinName } from './read-job.js';

export interface OperandText {
  readonly text: string;
  /** For messages. */
  readonly file: string;
  readonly findings: readonly Finding[];
}

/** The text of a file that an operand names, or of the standard input for `-`. */
export async function readOperand(source: string, io: Io, what: string): Promise<OperandText> {
  const fromStdin = source === '-';
  if (fromStdin && io.stdinIsTerminal)
    throw new UsageError(`- reads ${what} from the standard input: pipe one in`);
  const file = fromStdin ? stdinName : source;
  const { text, problems, findings } = fromStdin
    ? textOf(await io.readStdin(maxFileBytes + 1), file)
    : readTextFile(source);
  if (text !== undefined) return { text, file, findings };
  const [unreadable] = problems.filter(({ code }) => code === 'file-missing');
  if (unreadable !== undefined)
    throw new FileError(`${file} cannot be read: ${unreadable.message}`);
  throw new InvalidInput(problems);
}
