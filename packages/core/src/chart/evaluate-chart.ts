import { normalBetween, normalUpperTail } from '../numeric/normal.js';
import { formatMm } from '../quantity/format.js';
import { type ChartGraph, chainBetween, outwards } from './chart-graph.js';
import type {
  Accumulated,
  BlueprintDimension,
  ChartFault,
  ChartInput,
  ChartLink,
  ChartLoop,
  ChartResult,
  ChartResultant,
  ChartRule,
  ChartStock,
  SolvedCut,
  StatedLimit,
  SurfaceHistory,
} from './types.js';

/** Excess that is put down to rounding, mm. */
const roundingMm = 1e-9;

/** How a working dimension varies. */
export interface Spread {
  readonly toleranceMm: number;
  readonly sigmaMm: number;
}

export interface ChartFrame {
  readonly input: ChartInput;
  readonly graph: ChartGraph;
  readonly rule: ChartRule;
  readonly sigmas: number;
  /** Index of a cut by its id. */
  readonly position: ReadonlyMap<string, number>;
  /** By cut. */
  readonly spreads: readonly Spread[];
}

/** Chain of a blueprint dimension: its value as a sum of working dimensions. */
export function blueprintChain(
  input: ChartInput,
  graph: ChartGraph,
  { from, to }: BlueprintDimension,
): ChartLink[] {
  const a = input.surfaces.findIndex(({ id }) => id === from);
  const b = input.surfaces.findIndex(({ id }) => id === to);
  return chainBetween(
    graph,
    input.cuts,
    graph.finished[a] ?? 0,
    graph.finished[b] ?? 0,
    a < b ? 1 : -1,
  );
}

/** Chain of the stock that a cut takes off; undefined when it forms the surface. */
export function stockChain(
  input: ChartInput,
  graph: ChartGraph,
  cut: number,
): ChartLink[] | undefined {
  const before = graph.removed[cut];
  if (before === undefined) return undefined;
  const after = cut + 1;
  const side = outwards(input, graph.states[after]?.surface ?? 0);
  return chainBetween(graph, input.cuts, after, before, side);
}

/** ± of a chain in the worst case, and its standard deviation. */
export function variationOf(
  frame: ChartFrame,
  chain: readonly ChartLink[],
): { readonly worstMm: number; readonly sigmaMm: number; readonly usedMm: number } {
  const { position } = frame;
  let worstMm = 0;
  let variance = 0;
  for (const { cut } of chain) {
    const spread = frame.spreads[position.get(cut) ?? 0];
    worstMm += spread?.toleranceMm ?? 0;
    variance += (spread?.sigmaMm ?? 0) ** 2;
  }
  const sigmaMm = Math.sqrt(variance);
  const usedMm = frame.rule === 'worst-case' ? worstMm : frame.sigmas * sigmaMm;
  return { worstMm, sigmaMm, usedMm };
}

/** Everything that follows from the means and spreads of the working dimensions. */
export function evaluateChart(
  frame: ChartFrame,
  meansMm: readonly number[],
  loops: readonly ChartLoop[],
): ChartResult {
  const { input, graph, rule, sigmas } = frame;
  const resultants = input.blueprint.map((dimension): ChartResultant => {
    const sum = accumulate(frame, blueprintChain(input, graph, dimension), meansMm);
    const limits = { lowerMm: dimension.lowerMm, upperMm: dimension.upperMm };
    const marginMm = Math.min(
      sum.range.lowerMm - limits.lowerMm,
      limits.upperMm - sum.range.upperMm,
    );
    return {
      blueprint: dimension.id,
      ...sum,
      limits,
      marginMm,
      inLimits: shareBetween(sum, limits.lowerMm, limits.upperMm),
      holds: marginMm >= -roundingMm,
    };
  });
  const stocks = input.cuts.flatMap((cut, index): ChartStock[] => {
    const chain = stockChain(input, graph, index);
    if (chain === undefined) return [];
    const sum = accumulate(frame, chain, meansMm);
    const minMm = cut.minStockMm ?? 0;
    const { maxStockMm: maxMm } = cut;
    const above = maxMm === undefined ? Number.POSITIVE_INFINITY : maxMm - sum.range.upperMm;
    const marginMm = Math.min(sum.range.lowerMm - minMm, above);
    return [
      {
        cut: cut.id,
        surface: cut.surface,
        ...sum,
        minMm,
        ...(maxMm === undefined ? {} : { maxMm }),
        marginMm,
        inLimits: shareBetween(sum, minMm, maxMm ?? Number.POSITIVE_INFINITY),
        holds: marginMm >= -roundingMm,
      },
    ];
  });
  const faults = faultsOf(frame, resultants, stocks);
  return {
    schema: 'chart-result/1',
    ...(input.title === undefined ? {} : { title: input.title }),
    ...(input.axis === undefined ? {} : { axis: input.axis }),
    rule,
    sigmas,
    feasible: faults.length === 0 && loops.length === 0,
    cuts: input.cuts.map((cut, index): SolvedCut => {
      const meanMm = meansMm[index] ?? 0;
      const toleranceMm = tidy(frame.spreads[index]?.toleranceMm ?? 0);
      return {
        cut: cut.id,
        datum: cut.datum,
        surface: cut.surface,
        meanMm,
        toleranceMm,
        lowerMm: tidy(meanMm - toleranceMm),
        upperMm: tidy(meanMm + toleranceMm),
        statedMm: tidy(meanMm + statedOffset(cut.statedAs, toleranceMm)),
      };
    }),
    resultants,
    stocks,
    surfaces: histories(frame, meansMm),
    faults,
    loops,
  };
}

/** Takes off the last digits, where sums of decimal numbers carry binary noise. */
export function tidy(valueMm: number): number {
  const rounded = Math.round(valueMm * 1e9) / 1e9;
  return Math.abs(rounded - valueMm) < 1e-12 * Math.max(1, Math.abs(valueMm)) ? rounded : valueMm;
}

export function statedOffset(statedAs: StatedLimit | undefined, toleranceMm: number): number {
  return statedAs === 'maximum' ? toleranceMm : statedAs === 'minimum' ? -toleranceMm : 0;
}

function accumulate(
  frame: ChartFrame,
  chain: readonly ChartLink[],
  meansMm: readonly number[],
): Accumulated {
  const { position } = frame;
  let sum = 0;
  for (const { cut, sign } of chain) sum += sign * (meansMm[position.get(cut) ?? 0] ?? 0);
  const meanMm = tidy(sum);
  const { worstMm, sigmaMm, usedMm } = variationOf(frame, chain);
  return {
    chain,
    meanMm,
    worstMm: tidy(worstMm),
    statisticalMm: frame.sigmas * sigmaMm,
    sigmaMm,
    range: { lowerMm: tidy(meanMm - usedMm), upperMm: tidy(meanMm + usedMm) },
  };
}

function shareBetween({ meanMm, sigmaMm }: Accumulated, lowerMm: number, upperMm: number): number {
  if (sigmaMm === 0)
    return meanMm >= lowerMm - roundingMm && meanMm <= upperMm + roundingMm ? 1 : 0;
  if (upperMm === Number.POSITIVE_INFINITY) return normalUpperTail((lowerMm - meanMm) / sigmaMm);
  return normalBetween((lowerMm - meanMm) / sigmaMm, (upperMm - meanMm) / sigmaMm);
}

function faultsOf(
  frame: ChartFrame,
  resultants: readonly ChartResultant[],
  stocks: readonly ChartStock[],
): ChartFault[] {
  const faults: ChartFault[] = [];
  const judge = (
    kind: ChartFault['kind'],
    id: string,
    sum: Accumulated,
    lowerMm: number,
    upperMm: number,
  ): void => {
    for (const side of ['below', 'above'] as const) {
      const limitMm = side === 'below' ? lowerMm : upperMm;
      const valueMm = side === 'below' ? sum.range.lowerMm : sum.range.upperMm;
      const byMm = tidy(side === 'below' ? limitMm - valueMm : valueMm - limitMm);
      if (!(byMm > roundingMm)) continue;
      const what = kind === 'blueprint' ? `blueprint dimension ${id}` : `stock of cut ${id}`;
      const message = `${what} comes to ${formatMm(valueMm)}, ${formatMm(byMm)} ${side} its ${
        side === 'below' ? 'least' : 'most'
      } of ${formatMm(limitMm)}; chain ${chainText(sum.chain)}`;
      const links = sharesOf(frame, sum.chain);
      faults.push({ kind, id, side, limitMm, valueMm, byMm, links, message });
    }
  };
  for (const resultant of resultants)
    judge(
      'blueprint',
      resultant.blueprint,
      resultant,
      resultant.limits.lowerMm,
      resultant.limits.upperMm,
    );
  for (const stock of stocks)
    judge('stock', stock.cut, stock, stock.minMm, stock.maxMm ?? Number.POSITIVE_INFINITY);
  return faults.sort((a, b) => b.byMm - a.byMm);
}

/** `+ 10 - 20 + 40`, cuts by id. */
export function chainText(chain: readonly ChartLink[]): string {
  const text = chain.map(({ cut, sign }) => `${sign === 1 ? '+' : '-'} ${cut}`).join(' ');
  return text.startsWith('+ ') ? text.slice(2) : text;
}

function sharesOf(frame: ChartFrame, chain: readonly ChartLink[]): ChartFault['links'] {
  const { position } = frame;
  const parts = chain.map(({ cut }) => {
    const spread = frame.spreads[position.get(cut) ?? 0];
    const toleranceMm = spread?.toleranceMm ?? 0;
    const part = frame.rule === 'worst-case' ? toleranceMm : (spread?.sigmaMm ?? 0) ** 2;
    return { cut, toleranceMm, part };
  });
  const whole = parts.reduce((sum, { part }) => sum + part, 0);
  return parts
    .map(({ cut, toleranceMm, part }) => ({
      cut,
      toleranceMm,
      sharePercent: whole > 0 ? (100 * part) / whole : 0,
    }))
    .sort((a, b) => b.sharePercent - a.sharePercent);
}

function histories(frame: ChartFrame, meansMm: readonly number[]): SurfaceHistory[] {
  const { input, graph } = frame;
  const coordinates: number[] = [0];
  meansMm.forEach((mean, cut) => {
    coordinates.push(
      (coordinates[graph.datum[cut] ?? 0] ?? 0) + (graph.direction[cut] ?? 1) * mean,
    );
  });
  const zero = coordinates[graph.finished[0] ?? 0] ?? 0;
  return input.surfaces.map(({ id }, surface) => {
    const states = graph.states.flatMap((state, index) => {
      if (state.surface !== surface) return [];
      const cut = state.cut === undefined ? undefined : input.cuts[state.cut]?.id;
      const meanMm = tidy((coordinates[index] ?? 0) - zero);
      return [cut === undefined ? { meanMm } : { cut, meanMm }];
    });
    const first = states[0]?.meanMm ?? 0;
    const last = states.at(-1)?.meanMm ?? 0;
    const side = states.length > 1 ? outwards(input, surface) : 1;
    return { surface: id, states, stockMm: tidy(side * (first - last)) };
  });
}
