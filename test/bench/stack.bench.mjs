// Exact distribution of chains of eight links and whole stack-ups: medians on the built core.
import { performance } from 'node:perf_hooks';
import { chainDistribution, stackUp } from '../../packages/core/dist/index.js';

const link = (id, tolerance, distribution) => ({
  id,
  nominal: 10,
  plus: tolerance,
  minus: tolerance,
  distribution,
});

const mixed = [
  link('a', 0.02, { kind: 'normal' }),
  link('b', 0.03, { kind: 'uniform' }),
  link('c', 0.05, { kind: 'triangular', mode: 9.98 }),
  link('d', 0.04, { kind: 'beta', alpha: 2, beta: 3.5 }),
  link('e', 0.02, { kind: 'trapezoidal', topFraction: 0.4 }),
  link('f', 0.03, { kind: 'truncated-normal', cp: 0.8 }),
  link('g', 0.02, { kind: 'semi-elliptical' }),
  link('h', 0.04, { kind: 'normal', cp: 1.33, cpk: 1 }),
];
const all = (distribution, tolerance = (i) => 0.02 + 0.004 * i) =>
  Array.from({ length: 8 }, (_v, i) => link(`x${i}`, tolerance(i), distribution));

const cases = [
  ['8 normals', all({ kind: 'normal' })],
  ['8 uniforms, equal', all({ kind: 'uniform' }, () => 0.02)],
  ['8 uniforms, unequal', all({ kind: 'uniform' })],
  ['8 triangulars, skewed', all({ kind: 'triangular', mode: 9.99 })],
  ['8 betas, one shape', all({ kind: 'beta', alpha: 2, beta: 4 })],
  ['8 truncated normals', all({ kind: 'truncated-normal' })],
  ['8 arcsines', all({ kind: 'arcsine' })],
  ['8 links, 7 shapes', mixed],
];

/** Median time of one call, ms: 41 calls, or as many as fit into two seconds. */
function median(work) {
  const end = performance.now() + 2000;
  for (let i = 0; i < 20 && performance.now() < end; i++) work();
  const times = [];
  while (times.length < 41 && (times.length < 5 || performance.now() < end)) {
    const start = performance.now();
    work();
    times.push(performance.now() - start);
  }
  return times.sort((a, b) => a - b)[times.length >> 1];
}

console.log('Exact chain: set-up, P below and P above two limits (goal for 8 links: under 2 ms).');
console.log('Figures: the same and the quantiles 0.00135, 0.5 and 0.99865. All times in ms.');
console.log('');
console.log(
  `${'chain'.padEnd(24)}${'exact'.padStart(8)}${'figures'.padStart(9)}${'stackUp'.padStart(9)}${'P outside'.padStart(12)}${'error'.padStart(10)}`,
);
for (const [name, contributors] of cases) {
  const { mean, sigma } = stackUp({ contributors }).moments;
  const requirement = { lower: mean - 3.6 * sigma, upper: mean + 3.6 * sigma };
  const outside = () => {
    const distribution = chainDistribution({ contributors });
    const below = distribution.lowerTail(requirement.lower);
    const above = distribution.upperTail(requirement.upper);
    return { distribution, below, above };
  };
  const figures = () => {
    const { distribution } = outside();
    return [0.00135, 0.5, 0.99865].map((p) => distribution.quantile(p));
  };
  const { below, above } = outside();
  const total = below.tail + above.tail;
  const error = total > 0 ? (below.tail * below.error + above.tail * above.error) / total : 0;
  console.log(
    `${name.padEnd(24)}${median(outside).toFixed(3).padStart(8)}${median(figures).toFixed(3).padStart(9)}${median(
      () => stackUp({ contributors, requirement }),
    )
      .toFixed(3)
      .padStart(9)}${total.toExponential(2).padStart(12)}${error.toExponential(0).padStart(10)}`,
  );
}
