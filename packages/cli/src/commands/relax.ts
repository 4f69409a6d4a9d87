import { exitCodes } from '../exit-codes.js';
import { type Command, jobOperand, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Plans the job again with each requirement in the next looser classes and shows what that saves, as questions for the talk with the customer; also what one class tighter costs. Takes a while: every line is a plan of its own.',
  operands: [jobOperand],
  options: {
    json: { about: 'print JSON (schema relax/1), money in minor units' },
    out: sharedOptions.out,
    force: sharedOptions.force,
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
  },
  examples: [
    ['offplate relax bracket', 'what to ask the customer'],
    ['offplate relax bracket --quantity 50', 'at another lot size'],
  ],
  async run(args, io) {
    const [{ planJob, relaxJob }, { loadJob }, tools, { relaxText }] = await Promise.all([
      import('@offplate/core'),
      import('./load-job.js'),
      import('./deliver.js'),
      import('../write/text/relax-text.js'),
    ]);
    tools.formatOf(args);
    const { job, catalog } = await loadJob(args, io);
    const plan = planJob({ ...job, order: { ...job.order, quantityBreaks: [] } }, catalog);
    if (!plan.feasible) {
      await tools.tellDoubts(plan, args, io);
      return exitCodes.computationSaysNo;
    }
    const report = relaxJob(job, catalog);
    const result = args.flags.has('json')
      ? tools.jsonText(report)
      : relaxText(report, plan, tools.resultStyle(args, io));
    await tools.deliver(result, args, io);
    return exitCodes.ok;
  },
};
