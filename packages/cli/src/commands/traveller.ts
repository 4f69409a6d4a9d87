import { type ExitCode, exitCodes } from '../exit-codes.js';
import { UsageError } from '../failure.js';
import type { Io } from '../io.js';
import { type Arguments, type Command, jobOperand, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Writes the sheet that goes with the parts through the shop: route, stock, working dimensions, hold points, cautions and sign-offs. The same job gives the same bytes: the date in the file is --issued-on, SOURCE_DATE_EPOCH, or the start of the order.',
  operands: [jobOperand],
  options: {
    out: { value: 'file.pdf', about: 'file to write, or - for the standard output; required' },
    format: { value: 'size', choices: ['A4', 'Letter'], about: 'size of the pages; A4 if absent' },
    'issued-on': { value: 'date', about: 'day of issue YYYY-MM-DD; else a line to fill in' },
    'issued-by': { value: 'name', about: 'who issues it' },
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
  const [{ isCalendarDate, travellerSheet }, { loadPlan }, { tellDoubts }] = await Promise.all([
    import('@offplate/core'),
    import('./load-job.js'),
    import('./deliver.js'),
  ]);
  const issuedOn = args.values.get('issued-on');
  const issuedBy = args.values.get('issued-by');
  if (issuedOn !== undefined && !isCalendarDate(issuedOn))
    throw new UsageError(
      `--issued-on cannot be ${JSON.stringify(issuedOn)}; accepted: a day YYYY-MM-DD`,
    );
  const plan = await loadPlan(args, io);
  await tellDoubts(plan, args, io);
  if (!plan.feasible && !args.flags.has('incomplete')) {
    await io.stderr.write('no traveller was written; --incomplete writes one all the same\n');
    return exitCodes.computationSaysNo;
  }
  const sheet = travellerSheet(plan, {
    format: args.values.get('format') === 'Letter' ? 'Letter' : 'A4',
    ...(issuedOn === undefined ? {} : { issuedOn }),
    ...(issuedBy === undefined ? {} : { issuedBy }),
  });
  const { writeTravellerPdf } = await import('../write/pdf/traveller.js');
  const findings: string[] = [];
  const bytes = await writeTravellerPdf(sheet, {
    createdOn: dateOfFile(issuedOn ?? plan.schedule.startOn, io.env.SOURCE_DATE_EPOCH),
    onFinding: ({ message }) => findings.push(`warning: ${message}\n`),
  });
  if (findings.length > 0) await io.stderr.write(findings.join(''));
  if (path === '-') await io.stdout.write(bytes);
  else {
    await io.writeFiles([{ path, bytes }], args.flags.has('force'));
    await io.stderr.write(`wrote ${path}\n`);
  }
  return plan.feasible ? exitCodes.ok : exitCodes.computationSaysNo;
}

/** Never the clock, so that the same input gives the same bytes. */
function dateOfFile(day: string | undefined, epochSeconds: string | undefined): Date {
  if (epochSeconds !== undefined && /^\d{1,11}$/.test(epochSeconds))
    return new Date(Number(epochSeconds) * 1000);
  return new Date(`${day ?? '2000-01-01'}T00:00:00Z`);
}
