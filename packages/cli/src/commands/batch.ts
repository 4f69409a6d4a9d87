import { type Command, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Plans many jobs on all cores. Jobs come one a line as JSON with their features inline, or from a folder of job folders and job files. Each gives one line of JSON (schema batch-line/1) in the order of the input, with its plan, or with what is wrong in it; a bad job does not stop the others. Progress goes to the standard error.',
  operands: [
    {
      name: 'jobs',
      about: 'file with one job a line, folder of jobs, or - for the standard input',
    },
  ],
  options: {
    out: { value: 'file', about: 'write to a file; it bears .part until it is complete' },
    resume: { about: 'go on where a stopped run with the same --out has left off' },
    force: sharedOptions.force,
    workers: { value: 'n', about: 'jobs at once; as many as there are cores if absent' },
    seconds: { value: 'n', about: 'give up a job that takes longer; 60 if absent' },
    shop: sharedOptions.shop,
  },
  examples: [
    ['offplate batch jobs --out plans.ndjson', 'every job in the folder jobs'],
    ['offplate batch jobs --out plans.ndjson --resume', 'go on after an interruption'],
    ['cat jobs.ndjson | offplate batch - | jq .plan.cost.perPart', 'in a pipe'],
  ],
  async run(args, io) {
    const { runBatch } = await import('../batch/run-batch.js');
    return await runBatch(args, io);
  },
};
