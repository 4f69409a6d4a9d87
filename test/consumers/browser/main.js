import { planSource } from './plan-source.js';

const source = await (await fetch('./demo-source.json')).json();
const page = planSource(source);
const worker = new Worker(new URL('./worker.js', import.meta.url), { type: 'module' });
worker.addEventListener('message', ({ data }) => {
  globalThis.plans = { page, worker: data };
});
worker.addEventListener('error', ({ message }) => {
  globalThis.plans = { page, failed: message ?? 'the worker did not start' };
});
worker.postMessage(source);
