import yargs from 'yargs';
import { type Arguments, type Command, commonOptions, type Option } from './commands/command.js';
import { UsageError } from './failure.js';

// Everything stays text: a number would lose how it was typed, and 0x10 or 1e3 would pass.
const parserConfiguration = {
  'parse-numbers': false,
  'parse-positional-numbers': false,
  'boolean-negation': false,
  'camel-case-expansion': false,
  'dot-notation': false,
  'duplicate-arguments-array': true,
  'greedy-arrays': false,
  'short-option-groups': false,
} as const;

/**
 * Splits the arguments after the verb into operands, flags and values.
 *
 * @throws UsageError with the nearest known option or the operand that is missing
 */
export async function parseArguments(
  argv: readonly string[],
  verb: string,
  command: Command,
): Promise<Arguments> {
  const options: Readonly<Record<string, Option>> = { ...command.options, ...commonOptions };
  rejectFlagValues(argv, options);
  const names = Object.keys(options);
  const flagNames = names.filter((name) => options[name]?.value === undefined);
  const valueNames = names.filter((name) => options[name]?.value !== undefined);
  const parsed = await yargs([...argv])
    .locale('en')
    .help(false)
    .version(false)
    .exitProcess(false)
    .fail(false)
    .parserConfiguration(parserConfiguration)
    .boolean(flagNames)
    .string(valueNames)
    .parseAsync();
  const { _: operands, $0: _script, ...given } = parsed as Parsed;
  const flags = new Set<string>();
  const values = new Map<string, string>();
  for (const [name, value] of Object.entries(given)) {
    const option = options[name];
    if (option === undefined) throw await unknownOption(name, verb, names);
    if (Array.isArray(value)) throw new UsageError(`--${name} is given more than once`);
    if (option.value === undefined) {
      if (value === true) flags.add(name);
    } else if (value !== undefined) values.set(name, checkedValue(name, String(value), option));
  }
  return { operands: checkOperands(operands.map(String), verb, command), flags, values };
}

interface Parsed {
  readonly _: readonly (string | number)[];
  readonly $0: string;
  readonly [name: string]: unknown;
}

/** `--json=yes` would be read as no. */
function rejectFlagValues(
  argv: readonly string[],
  options: Readonly<Record<string, Option>>,
): void {
  for (const text of argv) {
    if (text === '--') return;
    const name = /^--?([^=]+)=/.exec(text)?.[1];
    const option = name === undefined ? undefined : options[name];
    if (option !== undefined && option.value === undefined)
      throw new UsageError(`--${name} takes no value`);
  }
}

async function unknownOption(
  name: string,
  verb: string,
  known: readonly string[],
): Promise<UsageError> {
  if (/^[\d.]/.test(name))
    return new UsageError(`-${name} looks like an option: put -- before a value with a minus`);
  const written = name.length === 1 ? `-${name}` : `--${name}`;
  const near = await nearest(name, known);
  const hint = near === undefined ? '' : `; did you mean --${near}?`;
  return new UsageError(`${verb} has no option ${written}${hint}`);
}

/** The known word that a mistyped one stands for. The core is loaded only when there is a slip. */
export async function nearest(word: string, known: readonly string[]): Promise<string | undefined> {
  const { nearMatch } = await import('@offplate/core');
  return nearMatch(word, known);
}

function checkedValue(name: string, text: string, { value, choices }: Option): string {
  if (text === '') throw new UsageError(`--${name} needs a value: --${name} <${value}>`);
  if (choices !== undefined && !choices.includes(text))
    throw new UsageError(
      `--${name} cannot be ${JSON.stringify(text)}; accepted: ${choices.join(', ')}`,
    );
  return text;
}

function checkOperands(
  operands: readonly string[],
  verb: string,
  { operands: declared }: Command,
): readonly string[] {
  const missing = declared[operands.length];
  if (missing !== undefined && missing.optional !== true)
    throw new UsageError(`${verb} needs <${missing.name}>: ${missing.about}`);
  const empty = operands.indexOf('');
  if (empty >= 0) throw new UsageError(`<${declared[empty]?.name ?? 'operand'}> is empty`);
  const extra = operands[declared.length];
  if (extra !== undefined)
    throw new UsageError(
      `${verb} does not take ${JSON.stringify(extra)}; a value with spaces stands in quotes`,
    );
  return operands;
}
