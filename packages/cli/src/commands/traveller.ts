import { type ExitCode, exitCodes } from '../exit-codes.js';
import { UsageError } from '../failure.js';
import type { Io } from '../io.js';
import { type Arguments, type Command, jobOperand, pageOptions, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Writes the sheet that goes with the parts through the shop: route, stock, working dimensions, hold points, cautions and sign-offs. The same job gives the same bytes: the date in the file is --issued-on, SOURCE_DATE_EPOCH, or the start of the order.',
  operands: [jobOperand],
  options: {
    out: { value: 'file.pdf', about: 'file to write, or - for the standard output; required' },
    ...pageOptions,
    incomplete: {
      about: 'write it although a requirement cannot be met; the first page then says so',
    },
    force: sharedOptions.force,
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
  },
  examples: [
    ['offplate traveller bracket --out bracket.pdf', 'A4'],
    ['offplate traveller bracket --format Letter --out - | lp', 'straight to the printer'],
  ],
  async run(args, io) {
    const path = args.values.get('out');
    if (path === undefined) throw new UsageError('traveller needs --out <file.pdf>');
    if (path === '-' && io.stdout.isTerminal)
      throw new UsageError('--out - would print a PDF on the terminal: redirect it');
    return await write(path, args, io);
  },
};

async function write(path: string, args: Arguments, io: Io): Promise<ExitCode> {
  const [
    { travellerSheet },
    { loadJob, planOf },
    { tellDoubts },
    { sheetOptions, sheetPdf, travellerExtras },
  ] = await Promise.all([
    import('@offplate/core'),
    import('./load-job.js'),
    import('./deliver.js'),
    import('./sheet-options.js'),
  ]);
  const options = sheetOptions(args);
  const loaded = await loadJob(args, io);
  const plan = planOf(loaded);
  await tellDoubts(plan, args, io);
  if (!plan.feasible && !args.flags.has('incomplete')) {
    await io.stderr.write('no traveller was written; --incomplete writes one all the same\n');
    return exitCodes.computationSaysNo;
  }
  const bytes = await sheetPdf(
    travellerSheet(plan, { ...options, ...travellerExtras(loaded) }),
    plan,
    plan.schedule.startOn,
    options,
    io,
  );
  if (path === '-') await io.stdout.write(bytes);
  else {
    await io.writeFiles([{ path, bytes }], args.flags.has('force'));
    await io.stderr.write(`wrote ${path}\n`);
  }
  return plan.feasible ? exitCodes.ok : exitCodes.computationSaysNo;
}
