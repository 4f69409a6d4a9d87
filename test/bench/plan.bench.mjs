// Time to plan a job against its number of features, on the built core: the first plan of a size in
// the process and the median of five more. Jobs are read before the clock starts.
import {
  defaultCatalog,
  jobVocabulary,
  planJob,
  readJob,
  routeModel,
} from '../../packages/core/dist/index.js';
import { makePlanJob } from './plan-jobs.mjs';

const sizes = [10, 30, 60, 120];
const seeds = [1, 2];
const catalog = defaultCatalog();
const vocabulary = jobVocabulary(catalog);

/** CPU and wall time of one call, ms. */
function timed(work) {
  const cpu = process.cpuUsage();
  const wall = performance.now();
  const value = work();
  const used = process.cpuUsage(cpu);
  return { value, cpu: (used.user + used.system) / 1000, wall: performance.now() - wall };
}

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

const columns = [
  ['job', 12],
  ['chains', 7],
  ['set-ups', 8],
  ['pairs', 8],
  ['nodes', 7],
  ['status', 10],
  ['first ms', 15],
  ['warm ms', 15],
  ['growth', 7],
];
const line = (cells) => cells.map((cell, i) => String(cell).padStart(columns[i][1])).join(' ');
const ms = (cpu, wall) => `${cpu.toFixed(0)} cpu ${wall.toFixed(0)}`;

console.log('plan time, ms of CPU and of the clock; growth = warm CPU against the size before');
for (const seed of seeds) {
  console.log(line(columns.map(([name]) => name)));
  let before;
  for (const features of sizes) {
    const { job, problems } = readJob(
      { json: JSON.stringify(makePlanJob({ features, seed })) },
      vocabulary,
    );
    if (job === undefined) throw new Error(JSON.stringify(problems, null, 1));
    const first = timed(() => planJob(job, catalog));
    const warm = Array.from({ length: 5 }, () => timed(() => planJob(job, catalog)));
    const cpu = median(warm.map((run) => run.cpu));
    const wall = median(warm.map((run) => run.wall));
    const model = routeModel(job, catalog);
    const { proof } = first.value;
    console.log(
      line([
        `${features} of ${seed}`,
        model.features.reduce((sum, feature) => sum + feature.chains.length, 0),
        model.setups.length,
        model.pairs.length,
        proof.nodes,
        proof.status,
        ms(first.cpu, first.wall),
        ms(cpu, wall),
        before === undefined ? '' : `x ${(cpu / before).toFixed(1)}`,
      ]),
    );
    before = cpu;
  }
}
