import type { SheetOptions } from '@offplate/core';
import { type Command, jobOperand, pageOptions, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Shows what the lot costs, line by line with its reckoning, at which quantity it costs what, and when it is ready. The rates of the built-in catalogue are invented: bring your own with --shop.',
  operands: [jobOperand],
  options: {
    json: { about: 'print JSON (schema quote/1), money in minor units' },
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
    const forms = {
      text: () => texts.quoteText(plan, resultStyle(args, io)),
      csv: () => tables.quoteCsv(plan),
      json: () => jsonText({ schema: 'quote/1', job, cost, schedule }),
      sheet: (options: SheetOptions) => core.quoteSheet(plan, options),
    };
    return await deliverPart(plan, forms, args, io);
  },
};
