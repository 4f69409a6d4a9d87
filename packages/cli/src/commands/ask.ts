import { exitCodes } from '../exit-codes.js';
import { type Command, jobOperand, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Lists what the job does not say and the plan had to assume, as questions for a mail, most telling first: each plausible answer is planned anew to see what it does to cost and days.',
  operands: [jobOperand],
  options: {
    json: { about: 'print JSON (schema missing-answers/1), money in minor units' },
    out: sharedOptions.out,
    force: sharedOptions.force,
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
  },
  examples: [['offplate ask bracket', 'what to ask before quoting']],
  async run(args, io) {
    const [{ missingAnswers, planJob }, { loadJob }, tools, { askText }] = await Promise.all([
      import('@offplate/core'),
      import('./load-job.js'),
      import('./deliver.js'),
      import('../write/text/ask-text.js'),
    ]);
    tools.formatOf(args);
    const { job, catalog } = await loadJob(args, io);
    const plan = planJob({ ...job, order: { ...job.order, quantityBreaks: [] } }, catalog);
    if (!plan.feasible) {
      await tools.tellDoubts(plan, args, io);
      return exitCodes.computationSaysNo;
    }
    const report = missingAnswers(job, catalog);
    const result = args.flags.has('json')
      ? tools.jsonText(report)
      : askText(report, plan, tools.resultStyle(args, io));
    await tools.deliver(result, args, io);
    return exitCodes.ok;
  },
};
