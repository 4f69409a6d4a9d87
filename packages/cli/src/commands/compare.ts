import { exitCodes } from '../exit-codes.js';
import { UsageError } from '../failure.js';
import { type Arguments, type Command, jobOperand, operand, sharedOptions } from './command.js';
import type { LoadedJob } from './load-job.js';

export const command: Command = {
  about:
    'Puts two plans side by side: what they cost, when they are ready, which operations come in or fall away, and what asks for each difference. The second plan is another job, or the same one under another shop, lot size or objective.',
  operands: [
    jobOperand,
    { name: 'other', optional: true, about: 'the job to compare with; the same job if absent' },
  ],
  options: {
    json: { about: 'print JSON (schema comparison/1), money in minor units' },
    out: sharedOptions.out,
    force: sharedOptions.force,
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
    'other-quantity': { value: 'n', about: 'lot size of the second plan' },
    'other-shop': { value: 'folder', about: "shop's tables for the second plan" },
    'other-objective': {
      value: 'aim',
      choices: ['cost', 'days'],
      about: 'what the second plan minimises',
    },
  },
  examples: [
    ['offplate compare bracket bracket-rev-c', 'what the new revision changes'],
    ['offplate compare bracket --other-shop our-rates', 'two shops'],
    ['offplate compare bracket --other-objective days', 'cheapest against fastest'],
    ['offplate compare bracket bracket/job-in-house.json', 'two policies, one features table'],
  ],
  async run(args, io) {
    const [{ comparePlans }, { loadJob, planOf }, tools, { comparisonText }] = await Promise.all([
      import('@offplate/core'),
      import('./load-job.js'),
      import('./deliver.js'),
      import('../write/text/compare-text.js'),
    ]);
    tools.formatOf(args);
    const others = otherArguments(args);
    const first = await loadJob(args, io);
    const loaded = await loadJob(others, io);
    const objective = args.values.get('other-objective') === 'days' ? 'days' : 'cost';
    const { policy } = loaded.job;
    const second = args.values.has('other-objective')
      ? { ...loaded, job: { ...loaded.job, policy: { ...policy, objective } as const } }
      : loaded;
    const [a, b] = [planOf(withoutBreaks(first)), planOf(withoutBreaks(second))];
    const report = comparePlans(a, b, { a: first, b: second });
    for (const plan of [a, b]) if (!plan.feasible) await tools.tellDoubts(plan, args, io);
    const result = args.flags.has('json')
      ? tools.jsonText(report)
      : comparisonText(report, tools.resultStyle(args, io));
    await tools.deliver(result, args, io);
    return a.feasible && b.feasible ? exitCodes.ok : exitCodes.computationSaysNo;
  },
};

/** Plans at other quantities take their time and are not compared. */
function withoutBreaks(loaded: LoadedJob): LoadedJob {
  const { job } = loaded;
  return { ...loaded, job: { ...job, order: { ...job.order, quantityBreaks: [] } } };
}

/** The command line as it would be for the second plan alone. */
function otherArguments(args: Arguments): Arguments {
  const [job, other] = [operand(args, 0), args.operands[1]];
  const own = ['quantity', 'shop', 'objective'].filter((name) => args.values.has(`other-${name}`));
  if ((other === undefined || other === job) && own.length === 0)
    throw new UsageError(
      'nothing to compare with: name a second job, or give --other-shop, --other-quantity or --other-objective',
    );
  if (job === '-' && (other === undefined || other === '-'))
    throw new UsageError('compare reads its jobs from files: the standard input is gone after one');
  const values = new Map(args.values);
  for (const name of own) values.set(name, args.values.get(`other-${name}`) ?? '');
  return { ...args, operands: [other ?? job], values };
}
