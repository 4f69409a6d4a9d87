import type { SheetOptions } from '@offplate/core';
import { type Command, jobOperand, pageOptions, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Shows what is measured: every characteristic with the limits of the drawing, the limits after the guard band of the method, the method and how many parts. As PDF it is the record to fill in.',
  operands: [jobOperand],
  options: {
    json: { about: 'print JSON (schema inspection/1), limits in mm, roughness in um' },
    csv: { about: 'print CSV; with --out it begins with a byte order mark' },
    out: sharedOptions.outOrPdf,
    ...pageOptions,
    force: sharedOptions.force,
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
  },
  examples: [
    ['offplate inspection bracket', 'read it'],
    ['offplate inspection bracket --out record.pdf', 'print the record'],
    ['offplate inspection bracket --csv --out record.csv', 'for a spreadsheet'],
  ],
  async run(args, io) {
    const [core, { loadPlan }, { deliverPart, formatOf, jsonText, resultStyle }, texts, tables] =
      await Promise.all([
        import('@offplate/core'),
        import('./load-job.js'),
        import('./deliver.js'),
        import('../write/text/sheet-text.js'),
        import('../write/csv/plan-csv.js'),
      ]);
    formatOf(args);
    const plan = await loadPlan(args, io);
    const { job, inspection } = plan;
    const sheet = (options: SheetOptions) => core.inspectionSheet(plan, options);
    const forms = {
      text: () => texts.sheetText(sheet({ format: 'A4' }), resultStyle(args, io)),
      csv: () => tables.inspectionCsv(plan),
      json: () => jsonText({ schema: 'inspection/1', job, inspection }),
      sheet,
    };
    return await deliverPart(plan, forms, args, io);
  },
};
