import { exitCodes } from '../exit-codes.js';
import { InvalidInput } from '../failure.js';
import { type Command, operand, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Measures a mesh (STL or 3MF) as it stands, z up: volume, skin, sections, overhang, wall and section thickness, closed cavities, flat and round faces.',
  operands: [{ name: 'mesh', about: 'an STL or 3MF file' }],
  options: {
    units: { value: 'unit', choices: ['mm', 'in'], about: 'unit of an STL file; mm if absent' },
    json: { about: 'JSON (schema mesh-report/1)' },
    out: sharedOptions.out,
    force: sharedOptions.force,
  },
  examples: [
    ['offplate mesh part.stl', 'what the planner would take from it'],
    ['offplate mesh part.3mf --json', 'the same as data'],
  ],
  async run(args, io) {
    const [{ meshReport }, { readMeshFile }, tools, { meshText }] = await Promise.all([
      import('@offplate/core'),
      import('../read/mesh-file.js'),
      import('./deliver.js'),
      import('../write/text/mesh-text.js'),
    ]);
    const path = operand(args, 0);
    const read = await readMeshFile(path, args.values.get('units') === 'in' ? 'in' : 'mm');
    if ('problems' in read) throw new InvalidInput(read.problems);
    const report = meshReport(read.reading, path);
    const result = args.flags.has('json')
      ? tools.jsonText(report)
      : meshText(report, tools.resultStyle(args, io));
    await tools.deliver(result, args, io);
    return exitCodes.ok;
  },
};
