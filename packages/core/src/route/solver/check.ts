import type { Problem, ProblemCode } from '../../problems/problem.js';
import type { RouteModel } from '../model.js';

/**
 * Every reason why a route model cannot be solved as written; an empty list means that
 * `solveRouteModel` accepts it. Allowed: part plan, chain and pair costs of any sign, set-up costs
 * from 0, all finite; a pair cost of null; several rows for one pair (they add up, null wins); a
 * set-up or part plan named twice in one chain (counts once); features without chains, and chains
 * that no part plan allows (the model is then infeasible, not wrong). Not allowed: an id twice in
 * its list (chain ids: in the whole model), an id that nothing defines, a pair of a chain with
 * itself, NaN or infinite costs, negative set-up costs (they would pay for using a set-up that
 * nothing needs).
 *
 * @example
 * checkRouteModel({ schema: 'route-model/1', partPlans: [], setups: [{ id: 'S', cost: -1 }], features: [], pairs: [] })[0].place.path // -> "setups[0].cost"
 */
export function checkRouteModel(model: RouteModel): Problem[] {
  return [...inspectModel(model).problems];
}

/** What a look at every row of a model yields. */
export interface Inspection {
  readonly problems: readonly Problem[];
  /** Both chains of every pair, counted in the order of the model; -1 if unknown. */
  readonly pairEnds: Int32Array;
}

/** Checks a model, see `checkRouteModel`, and finds the chains of its pairs on the way. */
export function inspectModel(model: RouteModel): Inspection {
  const problems: Problem[] = [];
  const report = (
    code: ProblemCode,
    path: string,
    message: string,
    value: unknown,
    accept: string,
  ): void => {
    problems.push({ code, place: { path }, message, value: String(value), accept });
  };
  const checkCost = (cost: number, path: string, what: string): void => {
    if (typeof cost !== 'number' || !Number.isFinite(cost)) {
      report('out-of-range', path, `${what} must be a finite number`, cost, 'a finite number');
    }
  };
  const collect = (rows: readonly { readonly id: string }[], path: string): Set<string> => {
    const seen = new Set<string>();
    rows.forEach((row, index) => {
      if (seen.has(row.id)) {
        report('duplicate-id', `${path}[${index}].id`, 'the id is used twice', row.id, 'a new id');
      }
      seen.add(row.id);
    });
    return seen;
  };

  const partPlans = collect(model.partPlans, 'partPlans');
  model.partPlans.forEach((plan, index) => {
    checkCost(plan.cost, `partPlans[${index}].cost`, 'a part plan cost');
  });
  const setups = collect(model.setups, 'setups');
  model.setups.forEach((setup, index) => {
    const path = `setups[${index}].cost`;
    checkCost(setup.cost, path, 'a set-up cost');
    if (setup.cost < 0 && Number.isFinite(setup.cost)) {
      report('out-of-range', path, 'a set-up cost must not be negative', setup.cost, '0 or more');
    }
  });
  collect(model.features, 'features');

  const chains = new Map<string, number>();
  model.features.forEach((feature, featureIndex) => {
    feature.chains.forEach((chain, chainIndex) => {
      const path = (): string => `features[${featureIndex}].chains[${chainIndex}]`;
      if (chains.has(chain.id)) {
        const message = 'the chain id is used twice in the model';
        report('duplicate-id', `${path()}.id`, message, chain.id, 'a new id');
      }
      chains.set(chain.id, chains.size);
      // Models hold many rows: no text is made for a sound one.
      if (!Number.isFinite(chain.cost)) checkCost(chain.cost, `${path()}.cost`, 'a chain cost');
      chain.setups.forEach((id, index) => {
        if (setups.has(id)) return;
        const message = 'no set-up has this id';
        report('unknown-id', `${path()}.setups[${index}]`, message, id, 'the id of a set-up');
      });
      chain.partPlans.forEach((id, index) => {
        if (partPlans.has(id)) return;
        const message = 'no part plan has this id';
        report('unknown-id', `${path()}.partPlans[${index}]`, message, id, 'the id of a part plan');
      });
    });
  });

  const pairEnds = new Int32Array(2 * model.pairs.length);
  model.pairs.forEach((pair, index) => {
    const a = chains.get(pair.a) ?? -1;
    const b = chains.get(pair.b) ?? -1;
    pairEnds[2 * index] = a;
    pairEnds[2 * index + 1] = b;
    if (a >= 0 && b >= 0 && a !== b && (pair.cost === null || Number.isFinite(pair.cost))) return;
    const path = `pairs[${index}]`;
    for (const end of ['a', 'b'] as const) {
      if (chains.has(pair[end])) continue;
      const message = 'no chain has this id';
      report('unknown-id', `${path}.${end}`, message, pair[end], 'the id of a chain');
    }
    if (pair.a === pair.b) {
      const message = 'a pair must name two chains';
      report('inconsistent', `${path}.b`, message, pair.b, 'the id of another chain');
    }
    if (pair.cost !== null) checkCost(pair.cost, `${path}.cost`, 'a pair cost');
  });
  return { problems, pairEnds };
}
