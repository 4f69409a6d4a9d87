import { type Command, jobOperand, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Plans what happens to the part after printing: operations, stock, heat treatment, cost and days. Ends with exit code 1 when a requirement cannot be met; the plan then says which and what would help.',
  operands: [jobOperand],
  options: {
    why: { about: 'show reasons, location and parameters under each operation' },
    dimensions: { about: 'show the working dimensions of each operation' },
    json: { about: 'print the whole plan as JSON (schema plan/1)' },
    csv: { about: 'print the operations as CSV; with --out it begins with a byte order mark' },
    out: sharedOptions.out,
    force: sharedOptions.force,
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
    strict: sharedOptions.strict,
  },
  examples: [
    ['offplate plan bracket', 'plan the job in the folder bracket'],
    ['offplate plan bracket --why --quantity 50', 'another lot size, with reasons'],
    ['offplate plan bracket --json --out bracket-plan.json', 'keep it as data'],
    ['offplate plan - --csv < job.json', 'from the standard input, for a spreadsheet'],
  ],
  async run(args, io) {
    const [{ loadPlan }, deliveries] = await Promise.all([
      import('./load-job.js'),
      import('./deliver.js'),
    ]);
    const { deliver, formatOf, jsonText, resultStyle, tellDoubts, verdict } = deliveries;
    const format = formatOf(args);
    const plan = await loadPlan(args, io);
    if (format === 'json') await deliver(jsonText(plan), args, io);
    else if (format === 'csv') {
      const { operationsCsv } = await import('../write/csv/plan-csv.js');
      await tellDoubts(plan, args, io);
      await deliver(operationsCsv(plan), args, io);
    } else {
      const { planText } = await import('../write/text/plan-text.js');
      const options = { why: args.flags.has('why'), dimensions: args.flags.has('dimensions') };
      await deliver(planText(plan, options, resultStyle(args, io)), args, io);
    }
    return verdict(plan, args);
  },
};
