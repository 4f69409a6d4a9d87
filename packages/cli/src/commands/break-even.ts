import { exitCodes } from '../exit-codes.js';
import { type Command, jobOperand, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Finds the lot sizes at which another route becomes the best one, and checks each by pricing both routes on both sides of the change. Every size up to 20 is planned, above that sizes a tenth apart, with the change between two of them found by halving.',
  operands: [jobOperand],
  options: {
    from: { value: 'n', about: 'smallest lot size; 1 if absent' },
    to: { value: 'n', about: 'largest lot size; 200 if absent' },
    json: { about: 'print JSON (schema break-evens/1), money in minor units' },
    out: sharedOptions.out,
    force: sharedOptions.force,
    shop: sharedOptions.shop,
  },
  examples: [['offplate break-even bracket --to 500', 'up to 500 parts']],
  async run(args, io) {
    const [{ breakEvens, planJob }, { loadJob, wholeNumber }, tools, { breakEvenText }] =
      await Promise.all([
        import('@offplate/core'),
        import('./load-job.js'),
        import('./deliver.js'),
        import('../write/text/break-even-text.js'),
      ]);
    tools.formatOf(args);
    const from = wholeNumber(args, 'from', 1_000_000) ?? 1;
    const to = wholeNumber(args, 'to', 1_000_000) ?? Math.max(200, from);
    if (to < from) {
      const { UsageError } = await import('../failure.js');
      throw new UsageError(`--to ${to} lies below --from ${from}`);
    }
    const { job, catalog } = await loadJob(args, io);
    const plan = planJob({ ...job, order: { ...job.order, quantityBreaks: [] } }, catalog);
    if (!plan.feasible) {
      await tools.tellDoubts(plan, args, io);
      return exitCodes.computationSaysNo;
    }
    const report = breakEvens(job, catalog, { from, to });
    const result = args.flags.has('json')
      ? tools.jsonText(report)
      : breakEvenText(report, plan, tools.resultStyle(args, io));
    await tools.deliver(result, args, io);
    return exitCodes.ok;
  },
};
