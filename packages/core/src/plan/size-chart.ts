import { solveChart } from '../chart/solve-chart.js';
import type { ChartCut, ChartInput, ChartResult, MmRange } from '../chart/types.js';
import { type Chain, type Growth, isInternal } from '../route/chain.js';
import { sides } from '../route/chain-demand.js';
import { sizeShift } from '../route/finishes.js';
import { actingFinishes } from './stack-links.js';

/** The operation chart of one size: where it is laid out, and which cut is which step. */
export interface SizeChart {
  readonly chart: ChartResult;
  /** Working dimension of a step of the chain; undefined when it makes no size. */
  dimension(step: number): (MmRange & { readonly meanMm: number }) | undefined;
  /** Stock per side that a step finds, worst case; undefined when it makes the surface. */
  stock(step: number): (MmRange & { readonly meanMm: number }) | undefined;
}

const surface = 'surface';
const stepId = (index: number): string => `step ${index + 1}`;

/**
 * Lays a size out on an operation chart from the print through heat, cuts, polishing and part-wide
 * finishes to the drawing: a diameter or width from its axis, a face from the side that it is measured
 * from, which is taken to be there already. Working dimensions follow from the drawing backwards; the
 * stock of each cut is that of the plan on the mean. Undefined for a thread and for a size that no step
 * makes.
 */
export function sizeChart(chain: Chain): SizeChart | undefined {
  const known = charts.get(chain);
  if (known !== undefined) return known;
  const made = madeChart(chain);
  if (made !== undefined) charts.set(chain, made);
  return made;
}

/** Every step of a chain asks for its chart. */
const charts = new WeakMap<Chain, SizeChart>();

function madeChart(chain: Chain): SizeChart | undefined {
  const { feature, steps, targetMm, geometry } = chain;
  const last = steps.findLastIndex(({ toleranceMm }) => toleranceMm > 0);
  if (feature.thread !== undefined || feature.size === undefined) return undefined;
  if (last < 0 || targetMm === undefined) return undefined;
  const per = 1 / sides(geometry);
  const { lowerMm, upperMm } = limitsOf(feature.size, steps[last]?.toleranceMm ?? 0);
  const { cuts, excessMm } = cutsOf(chain, last, targetMm, per);
  const input: ChartInput = {
    surfaces: [{ id: 'base' }, { id: surface, faces: isInternal(feature) ? 'down' : 'up' }],
    cuts,
    blueprint: [
      { id: 'size', from: 'base', to: surface, lowerMm: per * lowerMm, upperMm: per * upperMm },
    ],
  };
  const chart = solveChart(input);
  const outward = isInternal(feature) ? -1 : 1;
  const moved = (range: MmRange & { readonly meanMm: number }, by: number, scale: number) => ({
    lowerMm: scale * (range.lowerMm - by),
    upperMm: scale * (range.upperMm - by),
    meanMm: scale * (range.meanMm - by),
  });
  return {
    chart,
    dimension(step) {
      const cut = chart.cuts.find((entry) => entry.cut === stepId(step));
      if (cut === undefined || cut.datum === surface) return undefined;
      const excess = excessMm.slice(step + 1).reduce((sum, mm) => sum + mm, 0);
      return moved(cut, outward * excess, 1 / per);
    },
    stock(step) {
      const found = chart.stocks.find((entry) => entry.cut === stepId(step));
      if (found === undefined) return undefined;
      return moved({ ...found.range, meanMm: found.meanMm }, excessMm[step] ?? 0, 1);
    },
  };
}

/** The limits of the drawing; about a size without limits what the last cut holds. */
function limitsOf({ lowerMm, upperMm }: MmRange, toleranceMm: number): MmRange {
  if (lowerMm < upperMm) return { lowerMm, upperMm };
  return { lowerMm: lowerMm - toleranceMm / 2, upperMm: lowerMm + toleranceMm / 2 };
}

/**
 * The cuts with, by step, how much more stock the chart gives than the plan: a tool that takes next to
 * nothing (roller burnishing) may meet less than the tolerances before it vary by, which a chart does
 * not lay out.
 */
function cutsOf(
  chain: Chain,
  last: number,
  targetMm: number,
  per: number,
): { readonly cuts: readonly ChartCut[]; readonly excessMm: readonly number[] } {
  const { steps, context, start, printedSolid } = chain;
  const cuts: ChartCut[] = [];
  const excessMm = steps.map(() => 0);
  /** Worst-case variation of the surface since it was made, mm. */
  let open: number | undefined;
  const cut = (id: string, toleranceMm: number, stockMm = 0, step?: number): void => {
    const leastMm = open === undefined ? undefined : stockMm - open - toleranceMm;
    if (step !== undefined) excessMm[step] = Math.max(0, -(leastMm ?? 0));
    const stock = leastMm === undefined ? {} : { minStockMm: Math.max(0, leastMm) };
    cuts.push({ id, datum: 'base', surface, toleranceMm, ...stock });
    open = toleranceMm;
  };
  /** A set depth off the surface; what adds material counts negative. */
  const depth = (id: string, meanMm: number, sigmaMm: number): void => {
    if (open === undefined || (meanMm === 0 && sigmaMm === 0)) return;
    const toleranceMm = Math.max(3 * sigmaMm, 1e-9);
    cuts.push({
      id,
      datum: surface,
      surface,
      toleranceMm,
      minStockMm: meanMm - toleranceMm,
    });
    open += toleranceMm;
  };
  // a larger bore has less metal, a larger shaft more
  const grows = isInternal(chain.feature) ? per : -per;
  const heat = (id: string, { meanPerMm, sigmaPerMm }: Growth): void =>
    depth(id, grows * meanPerMm * targetMm, per * sigmaPerMm * targetMm);
  const firstSoft = context.aged && steps[0]?.stage === 'soft';
  if (!printedSolid) {
    cut('print', 3 * per * start.sizeSigmaMm);
    heat('heat', firstSoft ? without(context.growth, context.ageGrowth) : context.growth);
  }
  const surplus = printedSolid ? 0 : roundingMm(chain, per);
  const drawn = chain.requirements.find(({ kind }) => kind === 'size');
  const widthMm = drawn?.kind === 'size' ? drawn.upperMm - drawn.lowerMm : Number.POSITIVE_INFINITY;
  steps.forEach((step, index) => {
    const id = stepId(index);
    const toleranceMm = index === last ? Math.min(step.toleranceMm, widthMm) : step.toleranceMm;
    if (toleranceMm > 0)
      cut(id, (per * toleranceMm) / 2, step.stock.nominalMm + (index === 0 ? surplus : 0), index);
    else {
      const { meanMm, sigmaMm } = sizeShift(step.process);
      depth(id, meanMm, sigmaMm);
    }
    const next = steps[index + 1];
    if (context.aged && step.stage === 'soft' && next?.stage !== 'soft')
      heat('age', context.ageGrowth);
  });
  for (const { process } of actingFinishes(chain, { chains: context })) {
    const { meanMm, sigmaMm } = sizeShift(process);
    depth(`finish ${process.id}`, meanMm, sigmaMm);
  }
  return { cuts, excessMm };
}

function without(all: Growth, age: Growth): Growth {
  return {
    ...all,
    meanPerMm: all.meanPerMm - age.meanPerMm,
    sigmaPerMm: Math.sqrt(Math.max(0, all.sigmaPerMm ** 2 - age.sigmaPerMm ** 2)),
  };
}

/** Stock that the rounding of the printed size adds per side, mm. */
function roundingMm(chain: Chain, per: number): number {
  const { feature, printedSizeMm, start, context, targetMm = 0, steps } = chain;
  if (printedSizeMm === undefined) return 0;
  const outward = isInternal(feature) ? -1 : 1;
  const last = steps.findLastIndex(({ toleranceMm }) => toleranceMm > 0);
  const stockMm = steps
    .slice(0, last + 1)
    .reduce((sum, step) => sum + (step.toleranceMm > 0 ? step.stock.nominalMm : 0), 0);
  const met = (printedSizeMm + start.sizeMeanMm) * (1 + context.growth.meanPerMm);
  return Math.max(0, per * outward * (met - targetMm) - stockMm);
}
