import { type Catalog, jobVocabulary, type Problem } from '@offplate/core';
import { workerData } from 'piscina';
import { loadCatalog, planOf } from '../commands/load-job.js';
import { fillFromMesh } from '../read/mesh-geometry.js';
import { readJobFrom } from '../read/read-job.js';
import type { BatchJob, PlannedJob, WorkerStart } from './batch-types.js';

// Runs in a thread of its own: one job in, the JSON of its outcome out.

let loaded: Catalog | undefined;

/** JSON of the {@link PlannedJob}; a string crosses threads faster than the tree. */
export default async function planInWorker(job: BatchJob): Promise<string> {
  return JSON.stringify(await planned(job, catalog()));
}

function catalog(): Catalog {
  const { shop } = workerData as WorkerStart;
  loaded ??= loadCatalog({
    operands: [],
    flags: new Set(),
    values: new Map(shop === undefined ? [] : [['shop', shop]]),
  }).catalog;
  return loaded;
}

async function planned(job: BatchJob, tables: Catalog): Promise<PlannedJob> {
  try {
    const source = job.kind === 'path' ? job.path : '-';
    const bytes = job.kind === 'line' ? job.bytes : undefined;
    if (job.kind === 'line' && bytes === undefined) return refused([tooLong()], job);
    const reading = await readJobFrom(
      source,
      jobVocabulary(tables),
      async () => bytes ?? new Uint8Array(),
    );
    if (reading.job === undefined) return refused(reading.problems, job);
    const filled = await fillFromMesh(reading.job, source);
    if (filled.job === undefined) return refused(filled.problems, job);
    const { job: complete, assumptions } = filled;
    const findings = [...reading.findings, ...filled.findings];
    const plan = planOf({ job: complete, catalog: tables, findings, assumptions });
    return { outcome: plan.feasible ? 'planned' : 'not-feasible', plan };
  } catch (error) {
    return { outcome: 'failed', failure: error instanceof Error ? error.message : String(error) };
  }
}

function tooLong(): Problem {
  const message = 'the line is too long';
  return { code: 'too-large', place: {}, message, accept: 'a job of at most 20 MB' };
}

/** The places of problems of a line are within its text: they become places in the input. */
function refused(problems: readonly Problem[], job: BatchJob): PlannedJob {
  if (job.kind === 'path') return { outcome: 'invalid', problems };
  const { file, number } = job;
  return {
    outcome: 'invalid',
    problems: problems.map((problem) => ({
      ...problem,
      place: { ...problem.place, file, line: number },
    })),
  };
}
