import { join } from 'node:path';
import { exitCodes } from '../exit-codes.js';
import { type Command, operand, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Writes a small job that plans as it is: job.json, features.csv and a guide to their fields. Change it line by line into your own. Existing files are kept unless --force is given.',
  operands: [{ name: 'folder', about: 'folder to write to; it is made when there is none' }],
  options: { force: sharedOptions.force },
  examples: [['offplate new bracket && offplate plan bracket', 'make it and plan it']],
  async run(args, io) {
    const { starterFiles } = await import('./starter-job.js');
    const folder = operand(args, 0);
    const files = Object.entries(starterFiles).map(([name, text]) => ({
      path: join(folder, name),
      bytes: new TextEncoder().encode(text),
      newFolder: true,
    }));
    await io.writeFiles(files, args.flags.has('force'));
    const names = files.map(({ path }) => path).join(', ');
    await io.stderr.write(`wrote ${names}\nnext: offplate plan ${folder}\n`);
    return exitCodes.ok;
  },
};
