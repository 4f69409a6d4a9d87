import { exitCodes } from '../exit-codes.js';
import { UsageError } from '../failure.js';
import { type Command, jobOperand, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Counts the parts to start so that enough end good, from what each process spoils or does again (table process-yields; its shares are invented, bring your own with --shop), and what the spare parts cost.',
  operands: [jobOperand],
  options: {
    enough: {
      value: 'share',
      about: "wanted probability of enough good parts, in place of the policy's",
    },
    json: { about: 'print JSON (schema parts-to-start/1), money in minor units' },
    out: sharedOptions.out,
    force: sharedOptions.force,
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
  },
  examples: [
    ['offplate start bracket', 'how many to start'],
    ['offplate start bracket --enough 0.99 --quantity 50', 'surer, for 50 good ones'],
  ],
  async run(args, io) {
    const [{ parseNumber, planJob, planStart }, { loadJob }, tools, { startText }] =
      await Promise.all([
        import('@offplate/core'),
        import('./load-job.js'),
        import('./deliver.js'),
        import('../write/text/start-text.js'),
      ]);
    tools.formatOf(args);
    const text = args.values.get('enough');
    const reading = text === undefined ? undefined : parseNumber(text);
    if (reading !== undefined && !(reading.ok && reading.value > 0 && reading.value < 1))
      throw new UsageError(
        `--enough cannot be ${JSON.stringify(text)}; accepted: a share between 0 and 1, e.g. 0.95`,
      );
    const { job, catalog } = await loadJob(args, io);
    const plan = planJob({ ...job, order: { ...job.order, quantityBreaks: [] } }, catalog);
    if (!plan.feasible) {
      await tools.tellDoubts(plan, args, io);
      return exitCodes.computationSaysNo;
    }
    const report = planStart(job, catalog, reading?.ok === true ? { target: reading.value } : {});
    const result = args.flags.has('json')
      ? tools.jsonText(report)
      : startText(report, plan, tools.resultStyle(args, io));
    await tools.deliver(result, args, io);
    return exitCodes.ok;
  },
};
