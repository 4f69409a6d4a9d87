import { defaultCatalog, jobVocabulary, planJob, readJob } from '@offplate/core';

/** The plan of a job source as JSON. */
export function planSource(source) {
  const catalog = defaultCatalog();
  const { job, problems } = readJob(source, jobVocabulary(catalog));
  if (job === undefined) throw new Error(JSON.stringify(problems));
  return JSON.stringify(planJob(job, catalog));
}
