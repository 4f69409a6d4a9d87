import { exitCodes } from '../exit-codes.js';
import { type Command, jobOperand, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Shows what time costs: for each number of working days the cheapest route that is done by then, from the cheapest of all to the quickest, and what changes in the route. Every line is proven best; no trade of money against days is left out.',
  operands: [jobOperand],
  options: {
    json: { about: 'print JSON (schema frontier/1), money in minor units' },
    out: sharedOptions.out,
    force: sharedOptions.force,
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
  },
  examples: [['offplate frontier bracket', 'what it costs to be sooner']],
  async run(args, io) {
    const [{ frontier, planJob }, { loadJob }, tools, { frontierText }] = await Promise.all([
      import('@offplate/core'),
      import('./load-job.js'),
      import('./deliver.js'),
      import('../write/text/frontier-text.js'),
    ]);
    tools.formatOf(args);
    const { job, catalog, findings } = await loadJob(args, io);
    await tools.tellFindings(
      findings.filter(({ severity }) => severity !== 'note'),
      args,
      io,
    );
    const report = frontier(job, catalog);
    if (report.points.length === 0) {
      const plan = planJob({ ...job, order: { ...job.order, quantityBreaks: [] } }, catalog);
      await tools.tellDoubts(plan, args, io);
      return exitCodes.computationSaysNo;
    }
    const result = args.flags.has('json')
      ? tools.jsonText(report)
      : frontierText(report, job, tools.resultStyle(args, io));
    await tools.deliver(result, args, io);
    return exitCodes.ok;
  },
};
