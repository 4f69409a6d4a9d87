import { checkChart } from '../chart/solve-chart.js';
import type { ChartCut, ChartResult, ChartStock, WorkingLimits } from '../chart/types.js';
import type { PlanningContext } from '../job/planning-context.js';
import { datumFeature } from '../job/requirements.js';
import type { Direction, Feature, Job } from '../job/types.js';
import type { Chain, ChainStep } from '../route/chain.js';
import { sizeShift } from '../route/finishes.js';
import { accessOf } from '../route/set-ups.js';
import { sizeChart } from './size-chart.js';
import type { SolvedJob } from './solve-job.js';
import { actingFinishes } from './stack-links.js';
import type { Operation, PlannedChart } from './types.js';

/**
 * The operation charts along the axes of the part, one for each datum face with the faces that are
 * measured from it: faces that refer to the datum by parallelism, position or profile and have a size.
 * The cuts are those of the route in their order. A face is cut from the datum face in the state that
 * it has then; the datum face is first cut from the printed face that is farthest from it. What the
 * chart adds to the sizes alone: the stock of a face also varies with the cut of its datum.
 */
export function axisCharts(
  { chosen, context }: SolvedJob,
  operations: readonly Operation[],
): readonly PlannedChart[] {
  return chosen.chains.flatMap((datum): readonly PlannedChart[] => {
    const axis = outwardOf(datum.feature);
    const { letter, members } = membersOf(datum, chosen.chains, context.job);
    if (axis === undefined || letter === undefined || members.length === 0) return [];
    const laid = layOut(datum, members, operations);
    const chart = checkChart(
      {
        axis: axis.slice(1),
        rule: 'statistical',
        coverage: context.job.policy.minimumProbability,
        surfaces: [
          { id: datum.feature.id, faces: 'down' },
          ...members.map(({ feature }) => ({
            id: feature.id,
            faces: outwardOf(feature) === axis ? ('down' as const) : ('up' as const),
          })),
        ],
        cuts: laid.map(({ cut }) => cut),
        blueprint: members.map(({ feature }) => ({
          id: `${feature.id}.size`,
          from: datum.feature.id,
          to: feature.id,
          lowerMm: feature.size?.lowerMm ?? 0,
          upperMm: feature.size?.upperMm ?? 0,
        })),
      },
      laid.map(({ cut, meanMm }): WorkingLimits => {
        const { id, toleranceMm = 0 } = cut;
        return { cut: id, lowerMm: meanMm - toleranceMm, upperMm: meanMm + toleranceMm };
      }),
    );
    noteThinStock(chart, laid, context);
    return [written(chart, laid, letter, axis)];
  });
}

/** Direction in which a flat face looks. */
function outwardOf(feature: Feature): Direction | undefined {
  if (feature.kind !== 'plane') return undefined;
  if (feature.facing === 'up') return '+z';
  if (feature.facing === 'down') return '-z';
  const [only, another] = accessOf(feature);
  return another === undefined ? only : undefined;
}

const parallelKinds: readonly string[] = [
  'parallelism',
  'position',
  'profile-surface',
  'profile-line',
];

/** Letter of the datum face from which a parallel face is measured. */
export function measuredFrom(feature: Feature, job: Job): string | undefined {
  const axis = outwardOf(feature)?.slice(1);
  if (axis === undefined || feature.size === undefined) return undefined;
  return feature.geometric
    .filter(({ kind }) => parallelKinds.includes(kind))
    .flatMap(({ datums }) => datums.map(({ letter }) => letter))
    .find((letter) => {
      const base = datumFeature(job, letter);
      return base !== undefined && base.id !== feature.id && outwardOf(base)?.slice(1) === axis;
    });
}

/** Faces measured from a datum face, nearest first. */
function membersOf(
  datum: Chain,
  chains: readonly Chain[],
  job: Job,
): { readonly letter: string | undefined; readonly members: readonly Chain[] } {
  const letter = datum.feature.datum;
  const members = chains.filter(
    (chain) =>
      letter !== undefined &&
      chain.printedSizeMm !== undefined &&
      chain.requirements.some(({ kind }) => kind === 'size') &&
      measuredFrom(chain.feature, job) === letter,
  );
  const nominal = ({ feature }: Chain): number => feature.size?.nominalMm ?? 0;
  return {
    letter,
    members: members.sort(
      (a, b) => nominal(a) - nominal(b) || (a.feature.id < b.feature.id ? -1 : 1),
    ),
  };
}

/** A cut of the chart with its working dimension and where it comes from. */
interface LaidCut {
  readonly cut: ChartCut;
  readonly meanMm: number;
  readonly chain: Chain;
  /** Absent for printing, heat and part-wide finishes. */
  readonly step?: ChainStep;
  readonly operation?: number;
}

function layOut(
  datum: Chain,
  members: readonly Chain[],
  operations: readonly Operation[],
): readonly LaidCut[] {
  const far = members.at(-1) ?? datum;
  const outward = outwardOf(datum.feature);
  const laid: LaidCut[] = [];
  /** A set depth off a face by itself; what adds material is negative. */
  const depth = (chain: Chain, id: string, meanMm: number, toleranceMm: number): void => {
    if (meanMm === 0 && toleranceMm === 0) return;
    const { id: surface } = chain.feature;
    const tolerance = Math.max(toleranceMm, 1e-9);
    laid.push({
      cut: {
        id: `${id} ${surface}`,
        datum: surface,
        surface,
        toleranceMm: tolerance,
        minStockMm: meanMm - 2 * tolerance,
      },
      meanMm,
      chain,
    });
  };
  const printedMm = ({ printedSizeMm = 0, start }: Chain): number =>
    printedSizeMm + start.sizeMeanMm + datum.stockPerSideMm;
  // how the part was cut off the plate shifts all faces alike, so one is measured from the foot
  for (const chain of [far, ...members.filter((entry) => entry !== far)]) {
    const { start, feature } = chain;
    const from = chain === far ? datum : far;
    const meanMm = printedMm(chain);
    laid.push({
      cut: {
        id: `print ${feature.id}`,
        datum: from.feature.id,
        surface: feature.id,
        toleranceMm: 3 * Math.hypot(start.sizeSigmaMm, from.start.sizeSigmaMm),
      },
      meanMm: chain === far ? meanMm : printedMm(far) - meanMm,
      chain,
    });
  }
  for (const chain of members) {
    const { meanPerMm, sigmaPerMm } = chain.context.growth;
    const away = outwardOf(chain.feature) === outward ? 1 : -1;
    const sizeMm = printedMm(chain);
    depth(chain, 'heat', away * meanPerMm * sizeMm, 3 * sigmaPerMm * sizeMm);
  }
  let cutDatum: ChainStep | undefined;
  for (const { chain, step, index, operation } of stepsInOrder([datum, ...members], operations)) {
    const { id: surface } = chain.feature;
    const least = step.stock.minimumMm;
    const base = { chain, step, operation };
    const cut = { id: `${operation} ${surface}.${index + 1}`, surface, minStockMm: least };
    if (chain === datum) {
      const left = remaining(chain, index);
      laid.push(
        cutDatum === undefined
          ? {
              ...base,
              cut: { ...cut, datum: far.feature.id, toleranceMm: settingMm(step) },
              meanMm: presentSize(laid, far) - datum.stockPerSideMm + left,
            }
          : {
              ...base,
              cut: {
                ...cut,
                datum: surface,
                toleranceMm: (cutDatum.toleranceMm + step.toleranceMm) / 2,
              },
              meanMm: step.stock.nominalMm,
            },
      );
      cutDatum = step;
      continue;
    }
    const dimension = sizeChart(chain)?.dimension(index);
    if (dimension === undefined) continue;
    laid.push({
      ...base,
      cut: {
        ...cut,
        datum: datum.feature.id,
        toleranceMm: (dimension.upperMm - dimension.lowerMm) / 2,
      },
      meanMm: dimension.meanMm,
    });
  }
  for (const chain of members) {
    const last = chain.steps.findLastIndex(({ toleranceMm }) => toleranceMm > 0);
    const finishes = actingFinishes(chain, { chains: chain.context });
    const later = [...chain.steps.slice(last + 1), ...finishes].map(({ process }) => process);
    for (const [index, process] of later.entries()) {
      const { meanMm, sigmaMm } = sizeShift(process);
      depth(chain, `after ${index + 1}`, meanMm, 3 * sigmaMm);
    }
  }
  return laid;
}

/** Size-making steps in the order of the operations, the datum face first within one. */
function stepsInOrder(
  chains: readonly Chain[],
  operations: readonly Operation[],
): readonly {
  readonly chain: Chain;
  readonly step: ChainStep;
  readonly index: number;
  readonly operation: number;
}[] {
  return chains
    .flatMap((chain, place) =>
      chain.steps.flatMap((step, index) => {
        const operation = operations.find(({ setup }) => setup === step.setUp.id)?.seq ?? 0;
        return step.toleranceMm > 0 ? [{ chain, step, index, operation, place }] : [];
      }),
    )
    .sort((a, b) => a.operation - b.operation || a.place - b.place || a.index - b.index);
}

/** Distance of a printed face from the printed datum face, heat in it. */
function presentSize(laid: readonly LaidCut[], { feature }: Chain): number {
  return laid
    .filter(({ cut }) => cut.surface === feature.id)
    .reduce((sum, { cut, meanMm }) => (cut.datum === cut.surface ? sum - meanMm : meanMm), 0);
}

/** Stock left on a face after a step, mm. */
function remaining(chain: Chain, index: number): number {
  return chain.steps.slice(index + 1).reduce((sum, step) => sum + step.stock.nominalMm, 0);
}

/** ± of a first cut on a part that is set on printed faces, 3 sigma, mm. */
function settingMm({ setUp }: ChainStep): number {
  return (3 * Math.hypot(setUp.centre.positionUm, setUp.centre.roughRelocationUm)) / 1000;
}

/** Says when a face has less than its least stock more often than the policy bears. */
function noteThinStock(
  chart: ChartResult,
  laid: readonly LaidCut[],
  context: PlanningContext,
): void {
  for (const stock of machined(chart, laid)) {
    const { chain, operation } = stock.laid;
    if (stock.found.inLimits >= context.job.policy.minimumProbability) continue;
    const links = stock.found.chain
      .map(({ cut }) => laid.find((entry) => entry.cut.id === cut)?.chain.feature.id)
      .filter((id) => id !== undefined && id !== chain.feature.id);
    context.find({
      id: 'stock-by-chart',
      severity: 'note',
      message: `operation ${operation} finds less than ${stock.found.minMm.toFixed(2)} mm on ${(100 * (1 - stock.found.inLimits)).toFixed(1)} % of parts, because it also moves with ${[...new Set(links)].join(' and ')}: best fit the part before the first cut`,
      about: chain.feature.id,
    });
  }
}

function machined(
  chart: ChartResult,
  laid: readonly LaidCut[],
): readonly { readonly found: ChartStock; readonly laid: LaidCut }[] {
  return chart.stocks.flatMap((found) => {
    const here = laid.find(({ cut }) => cut.id === found.cut);
    return here?.step === undefined ? [] : [{ found, laid: here }];
  });
}

function written(
  chart: ChartResult,
  laid: readonly LaidCut[],
  letter: string,
  axis: Direction,
): PlannedChart {
  return {
    axis: axis.slice(1),
    datum: letter,
    features: [...new Set(laid.map(({ chain }) => chain.feature.id))],
    cuts: laid.flatMap(({ cut, meanMm, chain, step, operation }) =>
      step === undefined || operation === undefined || cut.datum === cut.surface
        ? []
        : [
            {
              operation,
              feature: chain.feature.id,
              process: step.process.id,
              from: cut.datum,
              meanMm,
              lowerMm: meanMm - (cut.toleranceMm ?? 0),
              upperMm: meanMm + (cut.toleranceMm ?? 0),
            },
          ],
    ),
    dimensions: chart.resultants.map(({ blueprint, meanMm, range, inLimits, holds }) => ({
      requirement: blueprint,
      meanMm,
      lowerMm: range.lowerMm,
      upperMm: range.upperMm,
      inLimits,
      holds,
    })),
    stocks: machined(chart, laid).map(({ found, laid: { chain, operation = 0 } }) => ({
      operation,
      feature: chain.feature.id,
      meanMm: found.meanMm,
      leastMm: found.range.lowerMm,
      mostMm: found.range.upperMm,
      neededMm: found.minMm,
      inLimits: found.inLimits,
    })),
  };
}
