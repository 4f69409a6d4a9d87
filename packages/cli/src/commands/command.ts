import type { ExitCode } from '../exit-codes.js';
import type { Io } from '../io.js';

/**
 * A verb of the command line. Its module is loaded to show its help, so it must import whatever is
 * heavy (the core, pdfkit, csv) inside `run`.
 */
export interface Command {
  /** A sentence or two for its help. */
  readonly about: string;
  readonly operands: readonly Operand[];
  readonly options: Readonly<Record<string, Option>>;
  /** Lines to copy, each with what it does. */
  readonly examples: readonly (readonly [line: string, what: string])[];
  run(args: Arguments, io: Io): Promise<ExitCode>;
}

export interface Operand {
  readonly name: string;
  readonly optional?: boolean;
  readonly about: string;
}

/** A flag when it takes no value. Every value reaches the command as the text that was typed. */
export interface Option {
  /** What the value stands for, in the help: `file`, `A4|Letter`. */
  readonly value?: string;
  readonly choices?: readonly string[];
  readonly about: string;
}

export interface Arguments {
  readonly operands: readonly string[];
  readonly flags: ReadonlySet<string>;
  readonly values: ReadonlyMap<string, string>;
}

/** Options of every command; `run` looks after them. */
export const commonOptions: Readonly<Record<string, Option>> = {
  help: { about: 'show this help' },
  plain: { about: 'on a terminal the same text as in a pipe: no colour, full width' },
  'no-color': { about: 'no colour, as with NO_COLOR set or TERM=dumb' },
};

/** Options that several verbs share. */
export const sharedOptions: Readonly<
  Record<'shop' | 'out' | 'outOrPdf' | 'force' | 'strict' | 'quantity', Option>
> = {
  shop: {
    value: 'folder',
    about: "folder with the shop's own tables (work-centres.csv ...); checked before use",
  },
  out: { value: 'file', about: 'write to a file instead of the standard output' },
  outOrPdf: {
    value: 'file',
    about: 'write to a file instead of the standard output; a PDF when its name ends in .pdf',
  },
  force: { about: 'replace existing files' },
  strict: { about: 'exit 1 when the lot is late' },
  quantity: { value: 'n', about: "plan this lot size instead of the job's" },
};

/** Options of the verbs that print sheets. */
export const pageOptions: Readonly<Record<'format' | 'issued-on' | 'issued-by', Option>> = {
  format: { value: 'size', choices: ['A4', 'Letter'], about: 'size of the pages; A4 if absent' },
  'issued-on': { value: 'date', about: 'day of issue YYYY-MM-DD; else a line to fill in' },
  'issued-by': { value: 'name', about: 'who issues it' },
};

export const jobOperand: Operand = {
  name: 'job',
  about: 'folder that holds job.json, a job file, or - for the standard input',
};

/** The operand that the command line has been checked to hold. */
export function operand(args: Arguments, position: number): string {
  const text = args.operands[position];
  if (text === undefined) throw new RangeError(`operand ${position} is not declared as required`);
  return text;
}
