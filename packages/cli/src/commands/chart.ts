import type {
  ChartAssignment,
  ChartInput,
  ChartReading,
  ChartResult,
  SheetOptions,
} from '@offplate/core';
import { exitCodes } from '../exit-codes.js';
import { InvalidInput } from '../failure.js';
import { type Command, operand, pageOptions, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Works out an operation chart: working dimensions and stock of a sequence of cuts, so that the dimensions of the drawing hold; worst case or statistical. When cuts carry costs, their tolerances are chosen at least cost first. With --check the working dimensions in the file are judged as they stand.',
  operands: [
    { name: 'file', about: 'chart file (JSON, schema chart/1), or - for the standard input' },
  ],
  options: {
    check: { about: 'judge the given working dimensions; exit 1 when a dimension or stock fails' },
    json: { about: 'print JSON (schema chart-result/1; with costs chart-assignment/1), mm' },
    out: sharedOptions.outOrPdf,
    ...pageOptions,
    force: sharedOptions.force,
  },
  examples: [
    ['offplate chart shaft.json', 'read the chart'],
    ['offplate chart shaft.json --check', 'find the faults of an existing chart'],
    ['offplate chart shaft.json --out shaft.pdf', 'the chart to print'],
    ['offplate chart shaft.json --json | jq .cuts', 'take the working dimensions out of it'],
  ],
  async run(args, io) {
    const [core, { readOperand }, tools, { chartDocument }] = await Promise.all([
      import('@offplate/core'),
      import('../read/read-operand.js'),
      import('./deliver.js'),
      import('../write/text/chart-document.js'),
    ]);
    const source = await readOperand(operand(args, 0), io, 'a chart');
    const { file, text } = source;
    const reading = core.readChart({ json: text, file });
    const { chart, costs, problems, findings } = reading;
    if (chart === undefined) throw new InvalidInput(problems);
    await tools.tellFindings([...source.findings, ...findings], args, io);
    const style = tools.resultStyle(args, io);
    const show = async (result: ChartResult | ChartAssignment): Promise<void> => {
      const document = 'schema' in result ? result : { schema: 'chart-assignment/1', ...result };
      if (tools.wantsPdf(args)) {
        const sheet = (options: SheetOptions) => core.chartSheet(chart, result, options);
        return await tools.deliverPdf(sheet, document, undefined, args, io);
      }
      const text = args.flags.has('json')
        ? tools.jsonText(document)
        : chartDocument(chart, result, style);
      await tools.deliver(text, args, io);
    };
    if (costs !== undefined && !args.flags.has('check')) {
      const assignment = core.assignTolerances(chart, costs);
      await show(assignment);
      return holds(assignment) ? exitCodes.ok : exitCodes.computationSaysNo;
    }
    const solved = args.flags.has('check') ? await check(chart, reading) : core.solveChart(chart);
    await show(solved);
    return solved.feasible ? exitCodes.ok : exitCodes.computationSaysNo;
  },
};

function holds(assignment: ChartAssignment): boolean {
  return assignment.feasible && assignment.chart.feasible;
}

async function check(
  chart: ChartInput,
  { workingDimensions, notGiven }: ChartReading,
): Promise<ChartResult> {
  const { checkChart } = await import('@offplate/core');
  if (workingDimensions === undefined) throw new InvalidInput(notGiven);
  return checkChart(chart, workingDimensions);
}
