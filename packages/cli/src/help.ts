import { type Command, commonOptions, type Option } from './commands/command.js';
import { commands } from './commands/table.js';
import { exitCodeTexts } from './exit-codes.js';

type Row = readonly [left: string, right: string];

/** The help of the program. */
export function programHelp(): string {
  const verbs = Object.entries(commands).map(([verb, { summary }]): Row => [verb, summary]);
  return [
    'offplate plans what happens to a metal powder-bed part after printing.',
    '',
    ...section('Examples', [
      ['offplate new bracket', 'write a job to start from'],
      ['offplate plan bracket', 'read the plan on the terminal'],
      ['offplate traveller bracket --out bracket.pdf', 'print it for the shop floor'],
      ['offplate plan bracket --json | jq .cost.perPart', 'take a number out of it'],
      ['offplate limits "25 H7"', 'look up a size'],
    ]),
    ...section('Commands', verbs),
    ...section('Options', [
      ...optionRows(commonOptions),
      ['--version', 'show the version'],
      ['<command> --help', 'options and examples of a command'],
    ]),
    ...section(
      'Exit codes',
      exitCodeTexts.map(([code, text]): Row => [String(code).padStart(3), text]),
    ),
    'Results go to the standard output, messages to the standard error. Values may be written',
    '--option=value, which is needed when the value begins with a minus. -- ends the options.',
    'With --json, errors of the input come as one JSON document (schema problems/1) on the standard',
    'error. A file is written whole or not at all.',
    'Plans are starting points: local codes, safety data sheets, the manual of the equipment and',
    'the governing specification come first.',
    '',
  ].join('\n');
}

/** The help of one command. */
export function commandHelp(verb: string, command: Command): string {
  const operands = command.operands.map(({ name, optional }) =>
    optional === true ? `[${name}]` : `<${name}>`,
  );
  return [
    `offplate ${[verb, ...operands].join(' ')} [options]`,
    '',
    ...wrap(command.about, 96),
    '',
    ...section('Examples', command.examples),
    ...section(
      'Operands',
      command.operands.map(({ name, about }): Row => [`<${name}>`, about]),
    ),
    ...section('Options', optionRows({ ...command.options, ...commonOptions })),
  ].join('\n');
}

function optionRows(options: Readonly<Record<string, Option>>): readonly Row[] {
  return Object.entries(options).map(([name, { value, choices, about }]) => {
    const shown = choices?.join('|') ?? (value === undefined ? undefined : `<${value}>`);
    const short = name === 'help' ? '-h, ' : '';
    return [`${short}--${name}${shown === undefined ? '' : ` ${shown}`}`, about];
  });
}

/** A title, then two columns; the right one wraps under itself. */
function section(title: string, rows: readonly Row[]): readonly string[] {
  if (rows.length === 0) return [];
  const width = Math.max(...rows.map(([left]) => left.length));
  const lines = rows.flatMap(([left, right]) =>
    wrap(right, 100 - width - 4).map(
      (line, index) => `  ${(index === 0 ? left : '').padEnd(width)}  ${line}`,
    ),
  );
  return [title, ...lines, ''];
}

function wrap(text: string, width: number): readonly string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    if (line !== '' && line.length + word.length >= width) {
      lines.push(line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  return [...lines, line];
}
