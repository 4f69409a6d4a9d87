import { exitCodes } from '../exit-codes.js';
import { type Command, jobOperand, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Holds the part against what its printing process can make of its alloy: walls, pins, holes, overhang, spans, powder, supports, and each tolerance against the printed one; what that changes in the route, and a list for the talk with a customer new to additive design. It does not plan.',
  operands: [jobOperand],
  options: {
    json: { about: 'print JSON (schema screen/1), lengths in mm, roughness in um' },
    out: sharedOptions.out,
    force: sharedOptions.force,
    shop: sharedOptions.shop,
  },
  examples: [
    ['offplate screen bracket', 'before a quotation'],
    ['offplate screen bracket --out talk.txt', 'keep it, or paste its list into a mail'],
  ],
  async run(args, io) {
    const [{ screenJob }, { loadJob }, tools, { screenText }] = await Promise.all([
      import('@offplate/core'),
      import('./load-job.js'),
      import('./deliver.js'),
      import('../write/text/screen-text.js'),
    ]);
    tools.formatOf(args);
    const { job, catalog, findings, measures } = await loadJob(args, io);
    const report = screenJob(job, catalog, measures);
    await tools.tellFindings(
      findings.filter(({ severity }) => severity !== 'note'),
      args,
      io,
    );
    const result = args.flags.has('json')
      ? tools.jsonText(report)
      : screenText(report, tools.resultStyle(args, io));
    await tools.deliver(result, args, io);
    return exitCodes.ok;
  },
};
