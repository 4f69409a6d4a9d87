import type { Problem } from '@offplate/core';
import { type ExitCode, exitCodes } from './exit-codes.js';
import { FileError, InvalidInput, UsageError } from './failure.js';
import type { Io } from './io.js';

/** Says on the standard error why there is no result, and with which exit code to end. */
export async function reportFailure(
  error: unknown,
  argv: readonly string[],
  io: Io,
): Promise<ExitCode> {
  if (error instanceof UsageError) {
    const verb = argv.find((text) => !text.startsWith('-'));
    const { commands } = await import('./commands/table.js');
    const known = verb !== undefined && Object.hasOwn(commands, verb);
    const help = known ? `offplate ${verb} --help` : 'offplate --help';
    await io.stderr.write(`offplate: ${error.message}\n(${help} shows how)\n`);
    return exitCodes.wrongUsage;
  }
  if (error instanceof FileError) {
    await io.stderr.write(`offplate: ${error.message}\n`);
    return exitCodes.fileTrouble;
  }
  const problems = problemsOf(error);
  if (problems !== undefined) {
    await io.stderr.write(await problemText(problems, argv.includes('--json')));
    return exitCodes.invalidInput;
  }
  await io.stderr.write(internalErrorText(error, io.env.OFFPLATE_DEBUG !== undefined));
  return exitCodes.internalError;
}

/** The core throws an error of its own where it cannot return its problems. */
function problemsOf(error: unknown): readonly Problem[] | undefined {
  if (error instanceof InvalidInput) return error.problems;
  if (error instanceof Error && error.name === 'InputError' && 'problems' in error)
    return error.problems as readonly Problem[];
  return undefined;
}

async function problemText(problems: readonly Problem[], asJson: boolean): Promise<string> {
  if (asJson) return `${JSON.stringify({ schema: 'problems/1', problems }, undefined, 2)}\n`;
  const { formatProblem } = await import('@offplate/core');
  const { printable } = await import('./write/text/width.js');
  const lines = problems.map((problem) => `${printable(formatProblem(problem))}\n`);
  const count = problems.length === 1 ? '1 problem' : `${problems.length} problems`;
  return `${lines.join('')}offplate: ${count} in the input; nothing was written\n`;
}

function internalErrorText(error: unknown, debug: boolean): string {
  const reason = error instanceof Error ? error.message : String(error);
  const trace = debug && error instanceof Error ? `${error.stack ?? ''}\n` : '';
  const hint = debug ? '' : '; OFFPLATE_DEBUG=1 shows where';
  return `offplate: internal error: ${reason}\nThis is a fault of the program, please report it with its input${hint}\n${trace}`;
}
