import { normalUpperQuantile } from '../numeric/normal.js';
import { InputError } from '../problems/problem.js';
import { chartGraph, outwards } from './chart-graph.js';
import { checkChartInput } from './check-chart-input.js';
import {
  blueprintChain,
  type ChartFrame,
  evaluateChart,
  type Spread,
  stockChain,
  variationOf,
} from './evaluate-chart.js';
import { aimOf, placeFinished } from './place-finished.js';
import { type Equation, roundWorkingDimensions } from './round-working-dimensions.js';
import type { ChartCut, ChartInput, ChartResult, WorkingLimits } from './types.js';

/**
 * Works out an operation chart: the working dimension of every cut so that each blueprint dimension
 * stands where it aims in its limits and each stock is, on the mean, its least plus its variation
 * (worst case or statistical, as the chart's rule says). Reports every resultant and every stock
 * with its chain, range and probability, and as faults what the tolerances do not allow: those name
 * the binding chains.
 *
 * Method: cuts form a tree of surface states; blueprint dimensions and stocks form another, so the
 * means follow by addition and every chain is the path between two states. Working dimensions are
 * rounded, when asked, from the finished part back to the blank, each in the direction that gives
 * stock or keeps its blueprint dimension in limits.
 * Source: O. R. Wade, Tolerance Control in Design and Manufacturing, 1967; K. Whybrew, G. A. Britton,
 * D. F. Robinson and Y. Sermsuti-anuwat, Int. J. Adv. Manuf. Technol. 5 (1990) 191 (graph form). From
 * memory. Statistical: independent normal working dimensions, sigma = T / (3 cp).
 *
 * @throws InputError with every problem of the input
 * @example
 * solveChart({ surfaces: [{ id: 'A' }, { id: 'B', faces: 'up' }], cuts: [{ id: 'print', datum: 'A', surface: 'B', toleranceMm: 0.2 }, { id: 'mill', datum: 'A', surface: 'B', toleranceMm: 0.05, minStockMm: 0.3 }], blueprint: [{ id: 'h', from: 'A', to: 'B', lowerMm: 19.9, upperMm: 20.1 }] }).cuts[0].meanMm // -> ~20.55
 */
export function solveChart(input: ChartInput): ChartResult {
  const frame = chartFrame(input);
  const { graph } = frame;
  const blueprint = input.blueprint.map((dimension) => ({
    dimension,
    chain: blueprintChain(input, graph, dimension),
  }));
  const variations = blueprint.map(({ chain }) => variationOf(frame, chain).usedMm);
  const { coordinatesMm: finished, loops } = placeFinished(input, variations);

  const coordinates = new Array<number>(graph.states.length).fill(0);
  graph.finished.forEach((state, surface) => {
    coordinates[state] = finished[surface] ?? 0;
  });
  const equations: Equation[] = blueprint.map(({ dimension, chain }, index) => {
    const at = (id: string): number => input.surfaces.findIndex((one) => one.id === id);
    const { aim = 'middle' } = dimension;
    const { aim: wanted } = aimOf(dimension, variations[index] ?? 0);
    const placed = Math.abs(
      (finished[at(dimension.to)] ?? 0) - (finished[at(dimension.from)] ?? 0),
    );
    const bias = aim === 'maximum' ? -1 : aim === 'minimum' ? 1 : 0;
    // a dimension that a loop has moved off its aim has room on both sides
    return { chain, targetMm: placed, bias: Math.abs(placed - wanted) < 1e-9 ? bias : 0 };
  });
  // the last cut on a surface is placed, so going back every state after the one removed is known
  for (let cut = input.cuts.length - 1; cut >= 0; cut--) {
    const chain = stockChain(input, graph, cut);
    const before = graph.removed[cut];
    if (chain === undefined || before === undefined) continue;
    const stock = (input.cuts[cut]?.minStockMm ?? 0) + variationOf(frame, chain).usedMm;
    const side = outwards(input, graph.states[before]?.surface ?? 0);
    coordinates[before] = (coordinates[cut + 1] ?? 0) + side * stock;
    equations.push({ chain, targetMm: stock, bias: 1 });
  }
  const means = input.cuts.map((_cut, index) => {
    const from = coordinates[graph.datum[index] ?? 0] ?? 0;
    return (graph.direction[index] ?? 1) * ((coordinates[index + 1] ?? 0) - from);
  });
  const rounded = roundWorkingDimensions(input, frame.spreads, equations, means);
  return evaluateChart(frame, rounded, loops);
}

/**
 * Checks a given chart: every resultant outside its blueprint limits and every stock below its least
 * (or above its most) is a fault, with the chain that makes it. Worst case from the given limits;
 * statistical by normal working dimensions about the middle of their limits, sigma as in
 * `solveChart`. Tolerances of the input are not used.
 *
 * @param workingDimensions limits of every cut's working dimension, mm
 * @throws InputError with every problem of the input
 * @example
 * checkChart({ surfaces: [{ id: 'A' }, { id: 'B' }], cuts: [{ id: 'cut', datum: 'A', surface: 'B' }], blueprint: [{ id: 'h', from: 'A', to: 'B', lowerMm: 19.9, upperMm: 20.1 }] }, [{ cut: 'cut', lowerMm: 19.95, upperMm: 20.15 }]).faults[0].byMm // -> ~0.05
 */
export function checkChart(
  input: ChartInput,
  workingDimensions: readonly WorkingLimits[],
): ChartResult {
  const frame = chartFrame(input, workingDimensions);
  const limits = new Map(workingDimensions.map((one) => [one.cut, one]));
  const means = input.cuts.map(({ id }) => {
    const given = limits.get(id);
    return ((given?.lowerMm ?? 0) + (given?.upperMm ?? 0)) / 2;
  });
  return evaluateChart(frame, means, []);
}

/** The chart as a tree with its spreads; throws when the input has problems. */
export function chartFrame(input: ChartInput, given?: readonly WorkingLimits[]): ChartFrame {
  const problems = checkChartInput(input, given);
  if (problems.length > 0) throw new InputError(problems);
  const limits = new Map((given ?? []).map((one) => [one.cut, one]));
  return {
    input,
    graph: chartGraph(input),
    position: new Map(input.cuts.map(({ id }, index) => [id, index])),
    rule: input.rule ?? 'worst-case',
    sigmas: input.coverage === undefined ? 3 : normalUpperQuantile((1 - input.coverage) / 2),
    spreads: input.cuts.map((cut) => spreadOf(cut, limits.get(cut.id))),
  };
}

function spreadOf(cut: ChartCut, given: WorkingLimits | undefined): Spread {
  const perSigma = 3 * (cut.cp ?? 1);
  const toleranceMm =
    given === undefined
      ? (cut.toleranceMm ?? perSigma * (cut.sigmaMm ?? 0))
      : (given.upperMm - given.lowerMm) / 2;
  return { toleranceMm, sigmaMm: cut.sigmaMm ?? toleranceMm / perSigma };
}
