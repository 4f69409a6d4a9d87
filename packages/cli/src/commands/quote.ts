import type { Plan, SheetOptions } from '@offplate/core';
import type { ExitCode } from '../exit-codes.js';
import { UsageError } from '../failure.js';
import type { Io } from '../io.js';
import { type Arguments, type Command, jobOperand, pageOptions, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Shows what the lot costs, line by line with its reckoning, at which quantity it costs what, and when it is ready. The rates of the built-in catalogue are invented: bring your own with --shop.',
  operands: [jobOperand],
  options: {
    explain: {
      value: 'line',
      about:
        'show what one money line was reckoned from, with sources; an operation number shows all of its lines',
    },
    json: {
      about: 'print JSON (schema quote/1; with --explain cost-explanation/1), money in minor units',
    },
    csv: { about: 'print CSV; with --out it begins with a byte order mark' },
    out: sharedOptions.outOrPdf,
    ...pageOptions,
    force: sharedOptions.force,
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
    strict: sharedOptions.strict,
  },
  examples: [
    ['offplate quote bracket', 'read it'],
    ['offplate quote bracket --shop our-rates --quantity 20', 'with your rates, for 20'],
    ['offplate quote bracket --explain 40.set-up', 'where a line comes from'],
    ['offplate quote bracket --out quote.pdf', 'print it'],
    ['offplate quote bracket --csv --out quote.csv', 'for a spreadsheet'],
  ],
  async run(args, io) {
    const [core, { loadPlan }, { deliverPart, formatOf, jsonText, resultStyle }, texts, tables] =
      await Promise.all([
        import('@offplate/core'),
        import('./load-job.js'),
        import('./deliver.js'),
        import('../write/text/plan-cost.js'),
        import('../write/csv/plan-csv.js'),
      ]);
    formatOf(args);
    const plan = await loadPlan(args, io);
    const { job, cost, schedule } = plan;
    const wanted = args.values.get('explain');
    if (wanted !== undefined) return await explain(plan, wanted, args, io);
    const forms = {
      text: () => texts.quoteText(plan, resultStyle(args, io)),
      csv: () => tables.quoteCsv(plan),
      json: () => jsonText({ schema: 'quote/1', job, cost, schedule }),
      sheet: (options: SheetOptions) => core.quoteSheet(plan, options),
    };
    return await deliverPart(plan, forms, args, io);
  },
};

/** One money line, or those of one operation, down to the sources. */
async function explain(plan: Plan, wanted: string, args: Arguments, io: Io): Promise<ExitCode> {
  const [{ explainCost }, { deliver, formatOf, jsonText, resultStyle, verdict }, texts] =
    await Promise.all([
      import('@offplate/core'),
      import('./deliver.js'),
      import('../write/text/cost-explanation.js'),
    ]);
  const { job, cost } = plan;
  const { lines, near } = explainCost(cost, wanted);
  if (lines.length === 0) {
    const ids = cost.lines.map(({ id }) => id);
    const meant = near.length === 0 ? '' : `; did you mean ${near.join(' or ')}?`;
    throw new UsageError(
      `there is no money line ${JSON.stringify(wanted)}${meant}\nlines of this quote: ${ids.join(', ')}`,
    );
  }
  if (formatOf(args) === 'csv') throw new UsageError('--explain prints text or JSON, no CSV');
  const { currency, minorDigits } = cost;
  const result =
    formatOf(args) === 'json'
      ? jsonText({ schema: 'cost-explanation/1', job, currency, minorDigits, lines })
      : texts.costExplanation(plan, lines, resultStyle(args, io));
  await deliver(result, args, io);
  return verdict(plan, args);
}
