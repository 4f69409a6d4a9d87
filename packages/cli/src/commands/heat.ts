import type { SheetOptions } from '@offplate/core';
import { exitCodes } from '../exit-codes.js';
import { UsageError } from '../failure.js';
import { type Command, jobOperand, pageOptions, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Writes the request to the heat treater: state of the parts, every step with temperatures, times, gas and cooling, furnace and sensors, checks, certificate. It asks for the steps that go outside; when none does, for all heat.',
  operands: [jobOperand],
  options: {
    'work-centre': { value: 'id', about: 'ask only for what this work centre does' },
    json: { about: 'print JSON (schema heat/1): the thermal route with its cycles' },
    out: sharedOptions.outOrPdf,
    ...pageOptions,
    force: sharedOptions.force,
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
  },
  examples: [
    ['offplate heat bracket', 'read it'],
    ['offplate heat bracket --out request.pdf', 'send it'],
  ],
  async run(args, io) {
    const [core, { loadJob, planOf }, { deliverPart, formatOf, jsonText, resultStyle }, texts] =
      await Promise.all([
        import('@offplate/core'),
        import('./load-job.js'),
        import('./deliver.js'),
        import('../write/text/sheet-text.js'),
      ]);
    formatOf(args);
    const loaded = await loadJob(args, io);
    const plan = planOf(loaded);
    const { job, thermal } = plan;
    if (plan.feasible && thermal.cycles.length === 0) {
      await io.stderr.write('the plan has no heat treatment: there is nothing to ask for\n');
      return exitCodes.ok;
    }
    const workCentre = args.values.get('work-centre');
    const centres = plan.operations
      .filter(({ kind }) => kind === 'thermal')
      .map((operation) => operation.workCentre.id);
    if (workCentre !== undefined && plan.feasible && !centres.includes(workCentre))
      throw new UsageError(
        `--work-centre cannot be ${JSON.stringify(workCentre)}; accepted: ${[...new Set(centres)].join(', ')}`,
      );
    const sheet = (options: SheetOptions) =>
      core.heatRequest(
        plan,
        workCentre === undefined ? options : { ...options, workCentre },
        loaded.job,
      );
    const forms = {
      text: () => texts.sheetText(sheet({ format: 'A4' }), resultStyle(args, io)),
      json: () => jsonText({ schema: 'heat/1', job, thermal }),
      sheet,
    };
    return await deliverPart(plan, forms, args, io);
  },
};
