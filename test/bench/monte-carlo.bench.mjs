// Monte Carlo of three stack functions: our WebAssembly and plain loops against a C reference, numpy
// and mathjs, where these are present, in interleaved rounds of one run. Each computes mean, sd, the
// quantiles 0.00135 and 0.99865 and the share outside limits. Ratios are taken between the best
// rounds, which other work on the machine disturbs least.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { compileExpression } from '../../packages/core/dist/expression.js';
import {
  planSampling,
  sampleBlocks,
  summariseSampling,
  treeFunction,
} from '../../packages/core/dist/index.js';

const samples = 1_000_448;
const rounds = Number(process.env.BENCH_ROUNDS ?? 6);
const here = (file) => fileURLToPath(new URL(file, import.meta.url));

const normal = (id, nominal, sigma) => ({ id, nominal, distribution: { kind: 'normal', sigma } });
const between = (id, lower, upper, kind) => ({
  id,
  nominal: (lower + upper) / 2,
  lower,
  upper,
  distribution: { kind },
});

const cases = [
  {
    name: 'linear',
    what: '8 normals, linear',
    text: 'a - b + c - d + e - f + g - h',
    contributors: [
      normal('a', 10, 0.01),
      normal('b', 20, 0.02),
      normal('c', 30, 0.015),
      normal('d', 5, 0.01),
      normal('e', 8, 0.01),
      normal('f', 12.98, 0.02),
      normal('g', 4, 0.005),
      normal('h', 14, 0.01),
    ],
    requirement: { lower: -0.1, upper: 0.14 },
  },
  {
    name: 'angle',
    what: '4 normals, acos((a + (b + c)/2)/(e - (b + c)/2))',
    text: 'acos((a + (b + c)/2)/(e - (b + c)/2))',
    contributors: [
      normal('a', 27.645, 0.0166667),
      normal('b', 11.43, 0.0033333),
      normal('c', 11.43, 0.0033333),
      normal('e', 50.8, 0.0041667),
    ],
    requirement: { lower: 0.112, upper: 0.133 },
  },
  {
    name: 'mixed',
    what: '4 normals, 3 uniforms, 3 triangulars, linear',
    text: 'a - b + c - d + e - f + g - h + i + j',
    contributors: [
      normal('a', 10, 0.01),
      normal('b', 1, 0.02),
      normal('c', 1, 0.015),
      normal('d', 1, 0.01),
      between('e', 0.98, 1.02, 'uniform'),
      between('f', 0.97, 1.03, 'uniform'),
      between('g', 0.99, 1.01, 'uniform'),
      between('h', 0.95, 1.05, 'triangular'),
      between('i', 0.97, 1.03, 'triangular'),
      between('j', -0.02, 0.02, 'triangular'),
    ],
    requirement: { lower: 9.85, upper: 10.15 },
  },
];

const folder = mkdtempSync(join(tmpdir(), 'offplate-bench-'));
const program = join(folder, 'monte-carlo');
const compiledC =
  spawnSync('cc', ['-O3', '-o', program, here('c/monte-carlo.c'), '-lm']).status === 0;
const hasNumpy = spawnSync('python3', ['-c', 'import numpy']).status === 0;
const mathjs = await import('mathjs').catch(() => undefined);

const outside = (command, args) => {
  const done = spawnSync(command, args, { encoding: 'utf8' });
  return done.status === 0 ? JSON.parse(done.stdout) : undefined;
};

const timed = (act) => {
  const start = performance.now();
  act();
  return performance.now() - start;
};

/** mathjs evaluates the compiled text a sample at a time; drawing the samples is not counted. */
function mathjsMilliseconds({ text, contributors }) {
  const count = 50_000;
  const compiled = mathjs.compile(text);
  const rows = Array.from({ length: count }, (_, i) =>
    Object.fromEntries(
      contributors.map(({ id, nominal }, k) => [id, nominal + 1e-4 * ((i * 7 + k * 13) % 29)]),
    ),
  );
  let sum = 0;
  const spent = timed(() => {
    for (const row of rows) sum += compiled.evaluate(row);
  });
  if (!Number.isFinite(sum)) throw new Error('mathjs gave no number');
  return (spent * samples) / count;
}

const sorted = (values) => [...values].sort((a, b) => a - b);
const show = (value) => value.toFixed(1).padStart(8);

console.log(
  `node ${process.version}, ${cpus().length} x ${cpus()[0]?.model ?? 'unknown processor'}, load ${loadavg()[0]?.toFixed(1)}`,
);
console.log(`${samples} samples, best and median of ${rounds} interleaved rounds, ms`);
for (const one of cases) {
  const compiled = compileExpression(one.text);
  if (!compiled.ok) throw new Error(JSON.stringify(compiled.problems));
  const plan = planSampling(
    { ...one, function: treeFunction(compiled.tree) },
    { samples, quantiles: [0.00135, 0.99865] },
  );
  const ours = (make) => () => {
    const spent = [];
    for (let k = 0; k < 3; k++) {
      spent.push(timed(() => summariseSampling(plan, sampleBlocks(plan, 0, plan.blocks, make))));
    }
    return Math.min(...spent);
  };
  const makers = {
    'C, one thread': compiledC
      ? () => outside(program, [one.name, `${samples}`, '3'])?.best
      : undefined,
    numpy: hasNumpy
      ? () => outside('python3', [here('python/monte_carlo.py'), one.name, `${samples}`, '2'])?.best
      : undefined,
    WebAssembly: ours('wasm'),
    'plain JS': ours('js'),
    'mathjs per sample': mathjs === undefined ? undefined : () => mathjsMilliseconds(one),
  };
  const times = {};
  for (let round = 0; round < rounds; round++) {
    for (const [name, run] of Object.entries(makers)) {
      const spent = run?.();
      if (spent !== undefined) times[name] = [...(times[name] ?? []), spent];
    }
  }
  console.log(`\n${one.name}: ${one.what}`);
  const best = Object.fromEntries(
    Object.entries(times).map(([name, list]) => [name, sorted(list)[0]]),
  );
  for (const [name, list] of Object.entries(times)) {
    const ratio =
      best['C, one thread'] === undefined
        ? ''
        : `  ${(best[name] / best['C, one thread']).toFixed(2)} x C`;
    console.log(
      `  ${name.padEnd(18)}${show(best[name])}${show(sorted(list)[Math.floor(list.length / 2)])}${ratio}`,
    );
  }
  for (const other of ['numpy', 'mathjs per sample']) {
    if (best[other] !== undefined) {
      console.log(`  ${other} / WebAssembly ${(best[other] / best.WebAssembly).toFixed(1)}`);
    }
  }
  const result = summariseSampling(plan, sampleBlocks(plan, 0, plan.blocks));
  const reference = compiledC ? outside(program, [one.name, `${samples}`, '1']) : undefined;
  console.log(
    `  sd ${result.sigma.value.toPrecision(6)}${reference ? ` (C ${reference.sd.toPrecision(6)})` : ''}, quantiles ${result.quantiles
      .map((quantile) => quantile.value.toPrecision(6))
      .join(
        ' ',
      )}${reference ? ` (C ${reference.q0.toPrecision(6)} ${reference.q1.toPrecision(6)})` : ''}`,
  );
}
rmSync(folder, { recursive: true });
