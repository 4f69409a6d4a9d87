// Operation charts and tolerance allocation: medians of repeated runs on the built core.
import { performance } from 'node:perf_hooks';
import {
  allocateLeastCost,
  allocateProportional,
  assignTolerances,
  chartText,
  checkChart,
  selectProcesses,
  solveChart,
} from '../../packages/core/dist/index.js';

/** Small seeded generator (mulberry32), so that every run measures the same problems. */
function randomFrom(seed) {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

function chartOf(surfaceCount, cutCount, random) {
  const pick = (below) => Math.floor(random() * below);
  const surfaces = Array.from({ length: surfaceCount }, (_v, index) => ({
    id: `S${index}`,
    faces: random() < 0.5 ? 'up' : 'down',
  }));
  const order = surfaces.map(({ id }) => id);
  const cuts = [];
  const add = (datum, surface, stock) =>
    cuts.push({
      id: `${10 * (cuts.length + 1)}`,
      datum: order[datum],
      surface: order[surface],
      toleranceMm: 0.01 + 0.09 * random(),
      ...(stock ? { minStockMm: 0.3 } : {}),
    });
  for (let index = 1; index < surfaceCount; index++) add(pick(index), index, false);
  while (cuts.length < cutCount) add(pick(surfaceCount), pick(surfaceCount), true);
  const blueprint = order.slice(1).map((to, index) => {
    const from = pick(index + 1);
    const length = 50 * (index + 1 - from);
    return { id: `B${index}`, from: order[from], to, lowerMm: length - 0.5, upperMm: length + 0.5 };
  });
  return { surfaces, cuts, blueprint };
}

function allocationOf(links, chainCount, random) {
  const contributors = Array.from({ length: links }, (_v, index) => ({
    id: `T${index}`,
    cost: { scale: 10 ** (2 * random() - 2), power: 0.5 + 1.5 * random() },
    lower: 0.001,
    upper: 0.3,
  }));
  const chains = Array.from({ length: chainCount }, (_v, index) => ({
    id: `chain ${index}`,
    limit: 0.05 + 0.2 * random(),
    rule: random() < 0.5 ? 'rss' : 'worst-case',
    terms: contributors
      .filter((_one, link) => link === index || random() < 0.4)
      .map(({ id }) => ({ contributor: id })),
  }));
  return { contributors, chains };
}

function selectionOf(links, processCount, chainCount, grades, random) {
  const contributors = Array.from({ length: links }, (_v, index) => ({
    id: `link ${index}`,
    processes: Array.from({ length: processCount }, (_w, process) => {
      const lower = 0.005 * 1.6 ** process * (0.8 + 0.4 * random());
      const id = `process ${process}`;
      return grades
        ? { id, tolerance: lower, cost: 1 + 0.3 * random() + (0.06 + 0.2 * random()) / lower }
        : {
            id,
            cost: {
              fixed: processCount - process + random(),
              scale: (0.1 + 5 * random()) * lower,
              power: 0.5 + random(),
            },
            lower,
            upper: lower * (1 + 5 * random()),
          };
    }),
  }));
  const chains = Array.from({ length: chainCount }, (_v, index) => ({
    id: `chain ${index}`,
    limit: 0.01 * links * (0.5 + 0.8 * random()),
    rule: random() < 0.5 ? 'rss' : 'worst-case',
    terms: contributors.filter(() => random() < 0.5).map(({ id }) => ({ contributor: id })),
  }));
  return { contributors, chains };
}

/** Runs each problem once after a warm-up; prints median, 95 % and the worst. */
function measure(name, problems, run, note = () => '') {
  for (const problem of problems.slice(0, 5)) run(problem);
  const results = problems.map((problem) => {
    const start = performance.now();
    const result = run(problem);
    return { ms: performance.now() - start, result };
  });
  const times = results.map(({ ms }) => ms).sort((a, b) => a - b);
  const at = (share) => times[Math.min(times.length - 1, Math.floor(share * times.length))];
  console.log(
    `${name.padEnd(52)}${at(0.5).toFixed(3).padStart(10)}${at(0.95).toFixed(3).padStart(10)}${at(1).toFixed(3).padStart(10)}  ${note(results.map(({ result }) => result))}`,
  );
}

const many = (count, seed, make) => {
  const random = randomFrom(seed);
  return Array.from({ length: count }, () => make(random));
};
const worstGap = (results) => {
  const solved = results.filter(({ feasible }) => feasible);
  const certificates = solved.map((result) => (result.allocation ?? result).certificate);
  const gap = Math.max(...certificates.map((certificate) => certificate.gap));
  const steps = Math.max(...certificates.map((certificate) => certificate.steps));
  return `${solved.length} feasible, gap <= ${gap.toExponential(1)}, steps <= ${steps}`;
};

console.log(
  `${'ms'.padEnd(52)}${'median'.padStart(10)}${'95 %'.padStart(10)}${'worst'.padStart(10)}`,
);
for (const [surfaces, cuts] of [
  [4, 10],
  [12, 50],
  [40, 200],
  [150, 1000],
]) {
  const charts = many(cuts >= 1000 ? 10 : 50, 1, (random) => chartOf(surfaces, cuts, random));
  const size = `${surfaces} surfaces, ${cuts} cuts`;
  measure(`solve chart, ${size}`, charts, solveChart);
  measure(`solve chart rounded to 0.01, ${size}`, charts, (chart) =>
    solveChart({ ...chart, roundToMm: 0.01 }),
  );
  const given = charts.map((chart) => ({ chart, limits: solveChart(chart).cuts }));
  measure(`check chart, ${size}`, given, ({ chart, limits }) => checkChart(chart, limits));
  if (cuts <= 200)
    measure(`chart as text, ${size}`, charts, (chart) => chartText(chart, solveChart(chart)));
  if (cuts > 200) continue;
  const costs = (chart) =>
    chart.cuts.map(({ id }) => ({ cut: id, cost: { scale: 1, power: 1 }, lower: 0.001, upper: 1 }));
  measure(
    `assign tolerances, cost curves, ${size}`,
    charts.slice(0, 20),
    (chart) => assignTolerances(chart, costs(chart)),
    worstGap,
  );
  if (cuts > 50) continue;
  const grades = (chart) =>
    chart.cuts.map(({ id }, index) => ({
      cut: id,
      processes: [0.01, 0.02, 0.05, 0.1, 0.2].map((tolerance, grade) => ({
        id: `grade ${grade}`,
        tolerance,
        cost: (1 + ((index * 7 + grade * 3) % 10) / 20) / tolerance,
      })),
    }));
  measure(
    `assign tolerances, five grades, ${size}`,
    charts.slice(0, 20),
    (chart) => assignTolerances(chart, grades(chart)),
    worstGap,
  );
}
for (const [links, chains] of [
  [7, 1],
  [20, 1],
  [20, 6],
  [60, 20],
]) {
  const problems = many(100, 2, (random) => allocationOf(links, chains, random));
  const size = `${links} links, ${chains} chains`;
  measure(`least cost, ${size}`, problems, allocateLeastCost, worstGap);
  measure(`proportional, ${size}`, problems, ({ contributors, chains: limits }) =>
    allocateProportional({
      contributors: contributors.map(({ id }) => ({ id, tolerance: 0.1, upper: 1 })),
      chains: limits,
    }),
  );
}
for (const [links, processes, chains, grades] of [
  [10, 4, 1, false],
  [20, 5, 4, false],
  [20, 6, 4, true],
  [40, 6, 3, true],
]) {
  const problems = many(30, 3, (random) => selectionOf(links, processes, chains, grades, random));
  const kind = grades ? 'grades' : 'ranges';
  measure(
    `choose processes, ${links} x ${processes} ${kind}, ${chains} chains`,
    problems,
    selectProcesses,
    worstGap,
  );
}
