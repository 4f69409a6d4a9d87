import { exitCodes } from '../exit-codes.js';
import { type Command, jobOperand, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Prints the choice problem behind the plan as JSON (schema route-model/1), with every constraint that the planner added, so that any solver can check the optimum. Costs are minor units of money a lot.',
  operands: [jobOperand],
  options: {
    out: sharedOptions.out,
    force: sharedOptions.force,
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
  },
  examples: [['offplate model bracket --out model.json', 'keep it for a solver']],
  async run(args, io) {
    const [{ routeModel }, { loadJob }, { deliver, jsonText, tellFindings }] = await Promise.all([
      import('@offplate/core'),
      import('./load-job.js'),
      import('./deliver.js'),
    ]);
    const { job, catalog, findings } = await loadJob(args, io);
    await tellFindings(findings, args, io);
    await deliver(jsonText(routeModel(job, catalog)), args, io);
    return exitCodes.ok;
  },
};
