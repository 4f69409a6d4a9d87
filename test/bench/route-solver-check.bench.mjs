// The route solver against HiGHS on random models of growing size: equal optima to 1e-9, equal
// verdicts on models without a choice. BENCH_MODELS sets how many (default 500).
import loadHighs from 'highs';
import { solveRouteModel } from '../../packages/core/dist/index.js';
import { makeRouteModel, modelAsLp, randomStream } from './route-models.mjs';

const count = Number(process.env.BENCH_MODELS ?? 500);
const highs = await (loadHighs.default ?? loadHighs)();

function recipe(seed) {
  const random = randomStream(seed * 2654435761);
  const pick = (values) => values[Math.floor(random() * values.length)];
  const below = (limit) => Math.floor(random() * limit);
  const growth = seed / count;
  return {
    kind: pick(['shop', 'hard', 'drawing']),
    features: 2 + below(4 + 20 * growth),
    chains: 2 + below(2 + 5 * growth),
    setups: 3 + below(4 + 14 * growth),
    plans: 1 + below(6),
    seed,
    conflict: pick([0, 0.2, 0.5]),
    forbidden: pick([0, 0.5, 1.5]),
    relations: pick([0, 0.3, 0.6]),
    paying: pick([0, 0.5]),
    floats: random() < 0.5,
  };
}

let infeasible = 0;
let unsolved = 0;
const spent = { ours: 0, highs: 0 };
for (let seed = 1; seed <= count; seed += 1) {
  const model = makeRouteModel(recipe(seed));
  if (seed % 7 === 0) {
    // Take part plans away until some models have no choice left.
    for (const feature of model.features) {
      feature.chains = feature.chains.map((chain, c) => ({
        ...chain,
        partPlans: chain.partPlans.filter((_, p) => (seed + c + p) % 3 === 0),
      }));
    }
  }
  let from = performance.now();
  const own = solveRouteModel(model);
  spent.ours += performance.now() - from;
  from = performance.now();
  const options = { output_flag: false, mip_rel_gap: 0, mip_abs_gap: 0, time_limit: 30 };
  const other = highs.solve(modelAsLp(model), options);
  spent.highs += performance.now() - from;
  if (other.Status === 'Infeasible') {
    infeasible += 1;
    if (own.status !== 'infeasible') throw new Error(`seed ${seed}: HiGHS finds no choice`);
  } else if (other.Status !== 'Optimal') {
    unsolved += 1;
  } else if (
    Math.abs(own.objective - other.ObjectiveValue) >
    1e-9 * Math.abs(other.ObjectiveValue)
  ) {
    throw new Error(`seed ${seed}: ${own.objective}, HiGHS ${other.ObjectiveValue}`);
  }
}
console.log(
  `${count} models agree (${infeasible} without a choice, ${unsolved} not solved by HiGHS in 30 s); seconds: own ${(spent.ours / 1000).toFixed(1)}, HiGHS ${(spent.highs / 1000).toFixed(1)}`,
);
