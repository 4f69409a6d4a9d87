import type { SheetOptions } from '@offplate/core';
import { type Command, jobOperand, pageOptions, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Shows what the build model must show: the printed size and the stock of every face, what the stock is made of, and the height off the plate.',
  operands: [jobOperand],
  options: {
    json: { about: 'print JSON (schema stock/1)' },
    csv: { about: 'print CSV; with --out it begins with a byte order mark' },
    out: sharedOptions.outOrPdf,
    ...pageOptions,
    force: sharedOptions.force,
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
  },
  examples: [
    ['offplate stock bracket', 'read it'],
    ['offplate stock bracket --out stock-map.pdf', 'print it for whoever prepares the build'],
    ['offplate stock bracket --csv --out stock.csv', 'for a spreadsheet'],
  ],
  async run(args, io) {
    const [core, { loadPlan }, { deliverPart, formatOf, jsonText, resultStyle }, texts, tables] =
      await Promise.all([
        import('@offplate/core'),
        import('./load-job.js'),
        import('./deliver.js'),
        import('../write/text/plan-text.js'),
        import('../write/csv/plan-csv.js'),
      ]);
    formatOf(args);
    const plan = await loadPlan(args, io);
    const { job, stock } = plan;
    const forms = {
      text: () => texts.stockText(plan, resultStyle(args, io)),
      csv: () => tables.stockCsv(plan),
      json: () => jsonText({ schema: 'stock/1', job, stock }),
      sheet: (options: SheetOptions) => core.stockMapSheet(plan, options),
    };
    return await deliverPart(plan, forms, args, io);
  },
};
