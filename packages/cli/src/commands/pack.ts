import { type ExitCode, exitCodes } from '../exit-codes.js';
import { UsageError } from '../failure.js';
import type { Io } from '../io.js';
import { type Arguments, type Command, jobOperand, pageOptions, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Writes all documents of a job into a folder: traveller, request to the heat treater when there is heat, quote, inspection sheet, stock map and the tolerances on the route as PDF, inspection and stock also as CSV, the plan as JSON, and a manifest with the SHA-256 of each file. All files or none.',
  operands: [jobOperand],
  options: {
    out: { value: 'folder', about: 'folder to write to; it is made when there is none; required' },
    ...pageOptions,
    questions: {
      about: 'plan anew with looser requirements for the questions of the quote; takes a while',
    },
    incomplete: { about: 'write it although a requirement cannot be met; the sheets then say so' },
    force: {
      about: 'replace existing files, and remove what an earlier pack left and nobody changed',
    },
    quantity: sharedOptions.quantity,
    shop: sharedOptions.shop,
  },
  examples: [
    ['offplate pack bracket --out bracket-pack', 'everything for the order'],
    ['offplate pack bracket --out p --shop our-shop --questions', 'own rates, with questions'],
  ],
  async run(args, io) {
    const folder = args.values.get('out');
    if (folder === undefined || folder === '-') throw new UsageError('pack needs --out <folder>');
    return await pack(folder, args, io);
  },
};

async function pack(folder: string, args: Arguments, io: Io): Promise<ExitCode> {
  const [
    { relaxJob },
    { loadJob, planOf },
    { tellDoubts },
    { sheetOptions },
    { packFiles },
    { earlierFiles, removeEarlier },
  ] = await Promise.all([
    import('@offplate/core'),
    import('./load-job.js'),
    import('./deliver.js'),
    import('./sheet-options.js'),
    import('./pack-files.js'),
    import('../write/earlier-pack.js'),
  ]);
  const options = sheetOptions(args);
  const loaded = await loadJob(args, io);
  const tell = (text: string): Promise<void> => io.stderr.write(`${text}\n`);
  await tell('planning');
  const plan = planOf(loaded);
  await tellDoubts(plan, args, io);
  if (!plan.feasible && !args.flags.has('incomplete')) {
    await tell('no pack was written; --incomplete writes one all the same');
    return exitCodes.computationSaysNo;
  }
  if (args.flags.has('questions') && plan.feasible) await tell('planning with looser requirements');
  const relax =
    args.flags.has('questions') && plan.feasible ? relaxJob(loaded.job, loaded.catalog) : undefined;
  const files = await packFiles({ ...loaded, plan, relax }, options, io, tell);
  const force = args.flags.has('force');
  const names = new Set(files.map(({ name }) => name));
  // read before the new manifest takes the place of the old one
  const earlier = force ? await earlierFiles(folder, names) : [];
  await io.writeFiles(
    files.map(({ name, bytes }) => ({ path: `${folder}/${name}`, bytes, newFolder: true })),
    force,
  );
  for (const { name, untouched } of earlier) {
    if (untouched) await removeEarlier(folder, name);
    else await tell(`warning: ${name} of an earlier pack was changed since and stays`);
  }
  const removed = earlier.filter(({ untouched }) => untouched).map(({ name }) => name);
  if (removed.length > 0) await tell(`removed of the earlier pack: ${removed.join(', ')}`);
  await tell(`wrote ${files.length} files to ${folder}`);
  return plan.feasible ? exitCodes.ok : exitCodes.computationSaysNo;
}
