// Time to proven optimum of the route solver beside HiGHS (and glpsol if it is installed) on the same
// models in one run. Keep the ratios, not the milliseconds. Time is processor time of this process
// (of glpsol wall time), so that other work on the machine matters less. BENCH_SEEDS sets the models a
// size (default 9), BENCH_OTHERS=0 leaves the other solvers out.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import loadHighs from 'highs';
import { solveRouteModel } from '../../packages/core/dist/index.js';
import { makeRouteModel, modelAsLp, twinModel } from './route-models.mjs';

const seeds = Number(process.env.BENCH_SEEDS ?? 9);
const withOthers = process.env.BENCH_OTHERS !== '0';
const patience = 60_000;
const highs = await (loadHighs.default ?? loadHighs)();
const glpsol = spawnSync('glpsol', ['--version']).status === 0;

const sorted = (values) => [...values].sort((a, b) => a - b);
const quantile = (values, part) =>
  sorted(values)[Math.min(values.length - 1, Math.floor(part * values.length))];
const processorMs = () => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};
const timed = (act, clock = processorMs) => {
  const start = clock();
  const result = act();
  return { ms: clock() - start, result };
};
const show = (value, width = 9) =>
  (value === undefined ? '-' : value >= 100 ? value.toFixed(0) : value.toFixed(1)).padStart(width);

function byHighs(model) {
  const { ms, result } = timed(() =>
    highs.solve(modelAsLp(model), {
      output_flag: false,
      mip_rel_gap: 0,
      mip_abs_gap: 0,
      time_limit: patience / 1000,
    }),
  );
  return result.Status === 'Optimal' ? { ms, cost: result.ObjectiveValue } : { ms: patience };
}

function byGlpsol(model) {
  const folder = mkdtempSync(join(tmpdir(), 'offplate-bench-'));
  const file = join(folder, 'model.lp');
  writeFileSync(file, modelAsLp(model));
  const args = ['--lp', file, '--cuts', '--tmlim', String(patience / 1000)];
  const { ms, result } = timed(
    () => spawnSync('glpsol', args, { encoding: 'utf8' }),
    () => performance.now(),
  );
  rmSync(folder, { recursive: true });
  return { ms: /OPTIMAL SOLUTION FOUND/.test(result.stdout) ? ms : patience };
}

function bench(name, recipe, { others = 0, count = seeds } = {}) {
  const ours = [];
  const nodes = [];
  const theirs = [];
  const glpk = [];
  for (let seed = 1; seed <= count; seed += 1) {
    const model = makeRouteModel({ ...recipe, seed });
    const { ms, result } = timed(() => solveRouteModel(model));
    if (result.status !== 'optimal') throw new Error(`${name} seed ${seed}: ${result.status}`);
    ours.push(ms);
    nodes.push(result.nodes);
    if (!withOthers || seed > others) continue;
    const other = byHighs(model);
    theirs.push(other.ms);
    const off = Math.abs((other.cost ?? result.objective) - result.objective);
    if (off > 1e-9 * Math.abs(result.objective)) {
      throw new Error(`${name} seed ${seed}: ${result.objective}, HiGHS ${other.cost}`);
    }
    if (glpsol) glpk.push(byGlpsol(model).ms);
  }
  const median = theirs.length > 0 ? quantile(theirs, 0.5) : undefined;
  // The ratio is taken over the models that both have solved.
  const ratio = median === undefined ? undefined : median / quantile(ours.slice(0, others), 0.5);
  console.log(
    `${name.padEnd(38)}${show(quantile(ours, 0.5))}${show(quantile(ours, 0.95))}${String(quantile(nodes, 0.5)).padStart(8)}${show(median)}${show(ratio)}${glpsol ? show(quantile(glpk, 0.5)) : ''}`,
  );
}

// Warm up, so that the first sizes do not pay for compiling.
for (let seed = 1; seed <= 25; seed += 1) {
  const recipe = { features: 20, chains: 8, setups: 20, relations: 0.3, seed };
  for (const kind of ['shop', 'hard', 'drawing'])
    solveRouteModel(makeRouteModel({ kind, ...recipe }));
}

console.log(
  `node ${process.version}, ${cpus().length} x ${cpus()[0]?.model ?? 'unknown processor'}, load ${loadavg()[0]?.toFixed(1)}`,
);
console.log('processor time to proven optimum, ms (limit of the others 60 s)\n');
console.log(
  `${'class, features x chains x set-ups, plans'.padEnd(38)}   median      p95   nodes    HiGHS    ratio${glpsol ? '   glpsol' : ''}`,
);
const sizes = [
  { features: 5, chains: 4, setups: 10, plans: 4, others: 5 },
  { features: 10, chains: 6, setups: 15, plans: 4, others: 5 },
  { features: 20, chains: 8, setups: 20, plans: 6, others: 3 },
  { features: 30, chains: 8, setups: 25, plans: 6, others: 3 },
  { features: 40, chains: 8, setups: 30, plans: 6, others: 1 },
  { features: 60, chains: 12, setups: 40, plans: 6, others: 0 },
];
for (const kind of ['shop', 'hard', 'drawing']) {
  for (const { others, ...size } of sizes) {
    const name = `${kind} ${size.features} x ${size.chains} x ${size.setups}, ${size.plans}`;
    bench(name, { kind, ...size, relations: 0 }, { others });
  }
}
for (const size of [sizes[2], sizes[4], sizes[5]]) {
  const { others: _, ...shape } = size;
  const name = `shop ${shape.features} x ${shape.chains} x ${shape.setups}, ${shape.plans}, relations`;
  bench(name, { kind: 'shop', ...shape, relations: 0.5, paying: 0.3 });
}
{
  const { others: _, ...shape } = sizes[5];
  const recipe = { kind: 'hard', ...shape, relations: 0.5, paying: 0.3 };
  bench('hard 60 x 12 x 40, 6, relations', recipe, { count: Math.min(seeds, 5) });
}
const largest = { features: 120, chains: 12, setups: 60, plans: 40 };
bench('shop 120 x 12 x 60, 40', { kind: 'shop', ...largest, relations: 0 }, { count: 5 });
bench(
  'shop 120 x 12 x 60, 40, relations',
  { kind: 'shop', ...largest, relations: 0.5 },
  { count: 5 },
);
bench('drawing 120 x 12 x 60, 40', { kind: 'drawing', ...largest, relations: 0 }, { count: 5 });
bench('hard 120 x 12 x 60, 6', { kind: 'hard', ...largest, plans: 6, relations: 0 }, { count: 3 });

console.log('\ngap after 2 s, %');
for (const [name, recipe] of [
  ['shop 120 x 12 x 60, 40', { kind: 'shop', ...largest, relations: 0 }],
  ['shop 120 x 12 x 60, 40, relations', { kind: 'shop', ...largest, relations: 0.5 }],
  ['hard 120 x 12 x 60, 6', { kind: 'hard', ...largest, plans: 6, relations: 0 }],
]) {
  const gaps = [];
  for (let seed = 1; seed <= Math.min(seeds, 5); seed += 1) {
    const model = makeRouteModel({ ...recipe, seed });
    const end = processorMs() + 2000;
    gaps.push(100 * solveRouteModel(model, { shouldStop: () => processorMs() > end }).gap);
  }
  console.log(
    `${name.padEnd(38)} median ${quantile(gaps, 0.5).toFixed(2)}, worst ${quantile(gaps, 1).toFixed(2)}`,
  );
}

console.log('\nwarm: one set-up a tenth dearer, from the optimum before, ms');
for (const size of [sizes[3], sizes[5]]) {
  const cold = [];
  const warm = [];
  for (let seed = 1; seed <= seeds; seed += 1) {
    const model = makeRouteModel({ kind: 'shop', ...size, relations: 0, seed });
    const before = solveRouteModel(model);
    const used = before.setups[0];
    const setups = model.setups.map((setup) =>
      setup.id === used ? { ...setup, cost: Math.round(1.1 * setup.cost) } : setup,
    );
    const start = { partPlan: before.partPlan, chains: before.chains };
    cold.push(timed(() => solveRouteModel({ ...model, setups })).ms);
    warm.push(timed(() => solveRouteModel({ ...model, setups }, { start })).ms);
  }
  console.log(
    `${`shop ${size.features} x ${size.chains} x ${size.setups}`.padEnd(38)} cold ${show(quantile(cold, 0.5), 0)}, warm ${show(quantile(warm, 0.5), 0)}`,
  );
}

console.log('\nkept instances, ms and nodes');
const kept = JSON.parse(readFileSync(new URL('./hard/recipes.json', import.meta.url), 'utf8'));
for (const { why, optimum, twins, ...recipe } of kept) {
  const plain = makeRouteModel(recipe);
  const model = twins ? twinModel(plain) : plain;
  const { ms, result } = timed(() => solveRouteModel(model));
  if (result.objective !== optimum) throw new Error(`${why}: ${result.objective}, was ${optimum}`);
  console.log(`${show(ms)} ${String(result.nodes).padStart(7)}  ${why}`);
}
