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
  const checked = checkWriting(argv, options);
  const names = Object.keys(options);
  const flagNames = names.filter((name) => options[name]?.value === undefined);
  const valueNames = names.filter((name) => options[name]?.value !== undefined);
  const parsed = await yargs([...checked])
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

/** What the parser would let pass: options given twice, `--json=yes` (read as no), `--out -`. */
function checkWriting(
  argv: readonly string[],
  options: Readonly<Record<string, Option>>,
): readonly string[] {
  const end = argv.indexOf('--');
  const before = end < 0 ? argv : argv.slice(0, end);
  const seen = new Set<string>();
  const checked: string[] = [];
  for (const text of before) {
    const [, name, value] = /^--([^=]+)(=.*)?$/.exec(text) ?? [];
    const option = name === undefined ? undefined : options[name];
    if (name !== undefined && option !== undefined) {
      if (seen.has(name)) throw new UsageError(`--${name} is given more than once`);
      if (option.value === undefined && value !== undefined)
        throw new UsageError(`--${name} takes no value`);
      seen.add(name);
    }
    const last = checked.at(-1);
    const pending = last?.startsWith('--') === true ? options[last.slice(2)] : undefined;
    // a lone minus would count as an operand
    if (text === '-' && pending?.value !== undefined) checked[checked.length - 1] = `${last}=-`;
    else checked.push(text);
  }
  return end < 0 ? checked : [...checked, ...argv.slice(end)];
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
