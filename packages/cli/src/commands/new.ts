import { join } from 'node:path';
import { exitCodes } from '../exit-codes.js';
import { InvalidInput } from '../failure.js';
import type { OutputFile } from '../io.js';
import { type Arguments, type Command, operand, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Writes a small job that plans as it is: job.json, features.csv and a guide to their fields. Change it line by line into your own. Existing files are kept unless --force is given. With a mesh the job begins from the part: its figures and the flat and round faces that it shows, to be filled in from the drawing.',
  operands: [{ name: 'folder', about: 'folder to write to; it is made when there is none' }],
  options: {
    mesh: { value: 'file', about: 'begin from this STL or 3MF file; it is copied into the folder' },
    'mesh-units': {
      value: 'unit',
      choices: ['mm', 'in'],
      about: 'unit of an STL file; mm if absent',
    },
    force: sharedOptions.force,
  },
  examples: [
    ['offplate new bracket && offplate plan bracket', 'make it and plan it'],
    ['offplate new bracket --mesh bracket.stl', 'begin from a mesh'],
  ],
  async run(args, io) {
    const folder = operand(args, 0);
    const mesh = args.values.get('mesh');
    const { starterFiles } = await import('./starter-job.js');
    const begun = mesh === undefined ? undefined : await beginFromMesh(mesh, folder, args);
    const texts = { ...starterFiles, ...begun?.texts };
    const files: OutputFile[] = Object.entries(texts).map(([name, text]) => ({
      path: join(folder, name),
      bytes: new TextEncoder().encode(text),
      newFolder: true,
    }));
    if (begun !== undefined) files.push(begun.copy);
    await io.writeFiles(files, args.flags.has('force'));
    const names = files.map(({ path }) => path).join(', ');
    await io.stderr.write(`wrote ${names}\nnext: offplate plan ${folder}\n`);
    return exitCodes.ok;
  },
};

async function beginFromMesh(
  path: string,
  folder: string,
  args: Arguments,
): Promise<{ readonly texts: Readonly<Record<string, string>>; readonly copy: OutputFile }> {
  const [{ readFileSync }, { meshReport }, { readMeshFile }, { meshStarter }] = await Promise.all([
    import('node:fs'),
    import('@offplate/core'),
    import('../read/mesh-file.js'),
    import('./mesh-starter.js'),
  ]);
  const units = args.values.get('mesh-units') === 'in' ? 'in' : 'mm';
  const read = await readMeshFile(path, units);
  if ('problems' in read) throw new InvalidInput(read.problems);
  const { meshName, texts } = meshStarter(meshReport(read.reading, path), units);
  const bytes = readFileSync(path);
  return { texts, copy: { path: join(folder, meshName), bytes, newFolder: true } };
}
