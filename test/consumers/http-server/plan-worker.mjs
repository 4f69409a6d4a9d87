import { parentPort, workerData } from 'node:worker_threads';
import { defaultCatalog, jobVocabulary, planJob, readJob } from '@offplate/core';

const catalog = defaultCatalog();
const { job, problems } = readJob({ json: workerData }, jobVocabulary(catalog));
parentPort?.postMessage(job === undefined ? { problems } : { plan: planJob(job, catalog) });
