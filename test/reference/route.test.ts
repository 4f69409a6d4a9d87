import { type PairCost, type RouteModel, solveRouteModel } from '@offplate/core';
import { describe, expect, test } from 'vitest';

// Network of teaching slides on shortest routes (read; arc costs reconstructed from the printed
// cumulative tables): from node 1 to node 7. Published labels 2:16, 3:9, 4:24, 5:38, 6:31, 7:43.
const arcs: readonly (readonly [from: number, to: number, cost: number])[] = [
  [1, 2, 16],
  [1, 3, 9],
  [1, 4, 35],
  [2, 4, 12],
  [2, 5, 25],
  [3, 4, 15],
  [3, 6, 22],
  [4, 5, 14],
  [4, 6, 17],
  [4, 7, 19],
  [5, 7, 8],
  [6, 7, 14],
];
const nodes = [1, 2, 3, 4, 5, 6, 7];
const stages = [0, 1, 2, 3, 4, 5];

/** At every stage the route is at one node; it moves along an arc, or waits once it has arrived. */
function routeTo(goal: number): RouteModel {
  const at = (stage: number, node: number): string => `s${stage}:${node}`;
  const places = (stage: number): readonly number[] =>
    stage === 0 ? [1] : stage === stages.length - 1 ? [goal] : nodes;
  const pairs = stages.slice(1).flatMap((stage): PairCost[] =>
    places(stage - 1).flatMap((from) =>
      places(stage).map((to): PairCost => {
        const arc = arcs.find(([a, b]) => a === from && b === to);
        const cost = from === to && to === goal ? 0 : (arc?.[2] ?? null);
        return { a: at(stage - 1, from), b: at(stage, to), cost };
      }),
    ),
  );
  return {
    schema: 'route-model/1',
    partPlans: [{ id: 'P', cost: 0 }],
    setups: [],
    features: stages.map((stage) => ({
      id: `stage${stage}`,
      chains: places(stage).map((node) => ({
        id: at(stage, node),
        cost: 0,
        setups: [],
        partPlans: ['P'],
      })),
    })),
    pairs,
  };
}

describe('J1: least-cost route through a network of seven nodes, teaching slides (read)', () => {
  test.each([
    [2, 16],
    [3, 9],
    [4, 24],
    [5, 38],
    [6, 31],
    [7, 43],
  ])('label of node %i is %i', (goal, label) => {
    const solution = solveRouteModel(routeTo(goal));
    expect(solution.status).toBe('optimal');
    expect(solution.objective).toBe(label);
  });

  test('the route of 43 is 1-3-4-7 (recomputed)', () => {
    const { chains } = solveRouteModel(routeTo(7));
    const way = stages.map((stage) => Number(chains[`stage${stage}`]?.split(':')[1]));
    expect([...new Set(way)]).toEqual([1, 3, 4, 7]);
  });
});
