import { readFile } from 'node:fs/promises';
import type { Command } from './commands/command.js';
import { type ExitCode, exitCodes } from './exit-codes.js';
import { UsageError } from './failure.js';
import type { Io } from './io.js';

export type { ExitCode } from './exit-codes.js';
export { exitCodes } from './exit-codes.js';
export type { Io, Output, OutputFile } from './io.js';

/**
 * The whole command line: arguments in (without node and script), exit code out. Everything that it
 * reads besides job and shop files, and everything that it writes, goes through `io`; it never ends
 * the process. Problems are messages on `io.stderr`, never exceptions.
 */
export async function run(argv: readonly string[], io: Io): Promise<ExitCode> {
  try {
    return await dispatch(argv, io);
  } catch (error) {
    // whoever read our output has closed it: nothing more to say
    if (isClosedPipe(error)) return exitCodes.ok;
    const { reportFailure } = await import('./report-failure.js');
    return await reportFailure(error, argv, io).catch((second: unknown) => {
      if (isClosedPipe(second)) return exitCodes.internalError;
      throw second;
    });
  }
}

async function dispatch(argv: readonly string[], io: Io): Promise<ExitCode> {
  const options = beforeDashes(argv);
  const wantsHelp = options.includes('--help') || options.includes('-h');
  // options of the program are flags, so the first other word is the verb
  const at = argv.findIndex((text) => !text.startsWith('-'));
  const verb = argv[at];
  if (verb === undefined) return await withoutVerb(options, wantsHelp, io);
  const command = await loadCommand(verb);
  if (wantsHelp) {
    const { commandHelp } = await import('./help.js');
    await io.stdout.write(commandHelp(verb, command));
    return exitCodes.ok;
  }
  const { parseArguments } = await import('./arguments.js');
  const rest = argv.filter((_text, index) => index !== at);
  return await command.run(await parseArguments(rest, verb, command), io);
}

function beforeDashes(argv: readonly string[]): readonly string[] {
  const end = argv.indexOf('--');
  return end < 0 ? argv : argv.slice(0, end);
}

async function withoutVerb(
  options: readonly string[],
  wantsHelp: boolean,
  io: Io,
): Promise<ExitCode> {
  if (options.includes('--version') && !wantsHelp) {
    await io.stdout.write(`offplate ${await version()}\n`);
    return exitCodes.ok;
  }
  const unknown = options.find(
    (text) => !['--help', '-h', '--version', '--plain', '--no-color'].includes(text),
  );
  if (unknown !== undefined)
    throw new UsageError(`${unknown} is no option before a command; options follow the command`);
  const { programHelp } = await import('./help.js');
  // asked for, it is a result; else it is a message
  await (wantsHelp ? io.stdout : io.stderr).write(programHelp());
  return wantsHelp ? exitCodes.ok : exitCodes.wrongUsage;
}

async function loadCommand(verb: string): Promise<Command> {
  const { commands } = await import('./commands/table.js');
  if (Object.hasOwn(commands, verb)) {
    const entry = commands[verb];
    if (entry !== undefined) return (await entry.load()).command;
  }
  const { nearest } = await import('./arguments.js');
  const near = await nearest(verb, Object.keys(commands));
  const hint = near === undefined ? 'offplate --help lists them' : `did you mean ${near}?`;
  throw new UsageError(`there is no command ${JSON.stringify(verb)}; ${hint}`);
}

async function version(): Promise<string> {
  const text = await readFile(new URL('../package.json', import.meta.url), 'utf8');
  const { version: number } = JSON.parse(text) as { readonly version: string };
  return number;
}

function isClosedPipe(error: unknown): boolean {
  return error instanceof Error && 'code' in error && error.code === 'EPIPE';
}
