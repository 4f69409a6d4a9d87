import type { Problem, StackInput, StackReading, StackSettings } from '@offplate/core';
import { exitCodes } from '../exit-codes.js';
import { InvalidInput, UsageError } from '../failure.js';
import type { OperandText } from '../read/read-operand.js';
import { type Arguments, type Command, operand, pageOptions, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Stacks up a dimension chain, a function of dimensions or closed vector loops: worst case, statistical methods and Monte Carlo side by side, who contributes how much, and what to tighten first. A CSV file has one contributor a row (id, size or nominal, plus, minus, coefficient, distribution ...); what it cannot hold comes by options.',
  operands: [
    { name: 'file', about: 'stack file (JSON, schema stack/1, or CSV), - for the standard input' },
  ],
  options: {
    lower: { value: 'limit', about: 'lower limit of the result, in the units of the file' },
    upper: { value: 'limit', about: 'upper limit of the result' },
    function: { value: 'text', about: 'function of the contributors, e.g. "B - A - C"' },
    units: { value: 'unit', choices: ['mm', 'in'], about: 'units of the file; mm if absent' },
    samples: { value: 'n', about: 'Monte Carlo samples; a million if absent' },
    seed: { value: 'n', about: 'seed of the samples; 1 if absent' },
    strict: { about: 'exit 1 when the probability in limits is below --minimum' },
    minimum: { value: 'p', about: 'least probability in limits, 0 to 1; 0.9973 if absent' },
    json: { about: 'print JSON (schema stack-result/1), in the units of the file' },
    out: sharedOptions.outOrPdf,
    ...pageOptions,
    force: sharedOptions.force,
  },
  examples: [
    ['offplate stack gap.json', 'all methods side by side'],
    ['offplate stack gap.csv --lower 0.05 --upper 0.35', 'a table of contributors'],
    ['offplate stack lever.csv --function "hypot(a, b) - c"', 'not a sum'],
    ['offplate stack gap.json --out gap.pdf', 'the report to print'],
    ['offplate stack gap.json --strict --minimum 0.999', 'as a check in a script'],
  ],
  async run(args, io) {
    const [
      { stackProbabilities, stackReport, stackSheet, usualMinimum },
      { readOperand },
      tools,
      { stackText },
    ] = await Promise.all([
      import('@offplate/core'),
      import('../read/read-operand.js'),
      import('./deliver.js'),
      import('../write/text/stack-text.js'),
    ]);
    const settings = await settingsOf(args);
    const minimum = (await numberOf(args, 'minimum', 0, 1)) ?? usualMinimum;
    const source = await readOperand(operand(args, 0), io, 'a stack');
    const reading = await readSource(source, settings);
    const { stack, sampling, problems, findings } = reading;
    if (stack === undefined) throw new InvalidInput(problems);
    if (args.flags.has('strict') && stack.requirement === undefined)
      throw new UsageError('--strict needs a requirement: in the file, or --lower and --upper');
    const input = await withFunction(stack, reading, settings);
    await tools.tellFindings([...source.findings, ...findings], args, io);
    const asPdf = tools.wantsPdf(args);
    const asked = asPdf
      ? { ...input, quantiles: [...(input.quantiles ?? []), ...stackProbabilities] }
      : input;
    const report = placed(() => stackReport(asked, { sampling, minimum }), reading, settings);
    if (asPdf)
      await tools.deliverPdf((options) => stackSheet(report, options), report, undefined, args, io);
    else {
      const result = args.flags.has('json')
        ? tools.jsonText(report)
        : stackText(report, tools.resultStyle(args, io));
      await tools.deliver(result, args, io);
    }
    const fails = args.flags.has('strict') && report.verdict?.holds !== true;
    return fails ? exitCodes.computationSaysNo : exitCodes.ok;
  },
};

async function settingsOf(args: Arguments): Promise<StackSettings> {
  const { wholeNumber } = await import('./load-job.js');
  const lower = await numberOf(args, 'lower', -1e9, 1e9);
  const upper = await numberOf(args, 'upper', -1e9, 1e9);
  if (lower !== undefined && upper !== undefined && lower > upper)
    throw new UsageError(`--lower ${lower} is above --upper ${upper}`);
  const text = args.values.get('function');
  const units = args.values.get('units');
  const samples = wholeNumber(args, 'samples', 1e9);
  const seed = wholeNumber(args, 'seed', Number.MAX_SAFE_INTEGER);
  return {
    ...(lower === undefined && upper === undefined
      ? {}
      : {
          requirement: {
            ...(lower === undefined ? {} : { lower }),
            ...(upper === undefined ? {} : { upper }),
          },
        }),
    ...(text === undefined ? {} : { function: text }),
    ...(units === 'mm' || units === 'in' ? { units } : {}),
    ...(samples === undefined ? {} : { samples }),
    ...(seed === undefined ? {} : { seed }),
  };
}

async function numberOf(
  { values }: Arguments,
  name: string,
  least: number,
  most: number,
): Promise<number | undefined> {
  const text = values.get(name);
  if (text === undefined) return undefined;
  const { parseNumber } = await import('@offplate/core');
  const reading = parseNumber(text);
  if (reading.ok && reading.value >= least && reading.value <= most) return reading.value;
  throw new UsageError(
    `--${name} cannot be ${JSON.stringify(text)}; accepted: a number from ${least} to ${most}`,
  );
}

/** JSON by its name or, on the standard input, by its first character; else a table. */
async function readSource(
  { text, file }: OperandText,
  settings: StackSettings,
): Promise<StackReading> {
  const { readStack } = await import('@offplate/core');
  const name = file.toLowerCase();
  const isJson = name.endsWith('.json') || (!name.endsWith('.csv') && /^\s*[[{]/.test(text));
  if (isJson) return readStack({ json: text, file, settings });
  const { featureTable } = await import('../read/feature-file.js');
  return readStack({ table: featureTable(text, file), settings });
}

/** Compiles the function, if there is one; only then is the formula parser loaded. */
async function withFunction(
  stack: StackInput,
  reading: StackReading,
  settings: StackSettings,
): Promise<StackInput> {
  if (reading.formula === undefined) return stack;
  const { compileStackFunction } = await import('@offplate/core/expression');
  const compiled = compileStackFunction(reading.formula);
  if (compiled.ok) return { ...stack, function: compiled.function };
  throw new InvalidInput(compiled.problems.map((problem) => atSource(problem, reading, settings)));
}

/** The problem of a stack where its value stands in the file or on the command line. */
function atSource(
  problem: Problem,
  { placeOf, formula }: StackReading,
  settings: StackSettings,
): Problem {
  const { path = '', column } = problem.place;
  const inFunction = path === 'function';
  const message =
    column === undefined ? problem.message : `${problem.message} (character ${column})`;
  if (inFunction && settings.function !== undefined)
    return { ...problem, message, place: { file: '--function' } };
  return {
    ...problem,
    message,
    place: placeOf(inFunction && formula?.kind === 'loop' ? 'loop' : path),
  };
}

function placed<T>(work: () => T, reading: StackReading, settings: StackSettings): T {
  try {
    return work();
  } catch (error) {
    if (!(error instanceof Error && error.name === 'InputError' && 'problems' in error))
      throw error;
    const problems = error.problems as readonly Problem[];
    throw new InvalidInput(problems.map((problem) => atSource(problem, reading, settings)));
  }
}
