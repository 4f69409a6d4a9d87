import { skinLayerById } from '../catalog/lookup.js';
import { isPlateSide } from '../route/as-built-state.js';
import type { Chain } from '../route/chain.js';
import { actingCoatings, coatingNames } from '../route/coatings.js';
import { coatingGrowth } from '../route/finishes.js';
import { chainCleanUp } from '../route/probable-stock.js';
import { recastRemovalUm } from '../thermal/surface-skin.js';
import { noteAsBuilt } from './as-built-assumptions.js';
import type { SolvedJob } from './solve-job.js';
import type { StockFace, StockPlan } from './types.js';

/** Stock per feature for the modeller, and the height of the part off the plate. */
export function stockPlan(solved: SolvedJob): StockPlan {
  const parts = heightParts(solved);
  noteAsBuilt(solved.chosen.chains, solved.context);
  return {
    faces: solved.chosen.chains.map((chain) => faceOf(chain, solved)),
    heightOffPlateMm: Math.ceil(parts.reduce((sum, part) => sum + part.mm, 0) * 20 - 1e-9) / 20,
    heightOffPlateParts: parts,
  };
}

function faceOf(chain: Chain, { context }: SolvedJob): StockFace {
  const { feature } = chain;
  if (feature.kind === 'radius' && feature.concave === undefined && chain.steps.length > 0)
    context.find({
      id: 'radius-convex-assumed',
      severity: 'note',
      message: `taken as a convex radius (an outer edge): its stock makes it ${chain.printedSizeMm === undefined ? 'larger' : `R${chain.printedSizeMm}`} in the build model; say concave when it lies in an inner corner`,
      about: feature.id,
    });
  const cleanUp = chainCleanUp(chain, context);
  const build = chain.printedSolid
    ? [
        {
          what: `${feature.kind === 'slot' ? 'slot' : 'hole'} closed in the build model`,
          mm: chain.stockPerSideMm,
        },
      ]
    : chain.steps.flatMap((step) =>
        (step.stock?.parts ?? []).map((part) => ({
          what: `${step.process.row.name}: ${part.what}`,
          mm: part.mm,
        })),
      );
  return {
    feature: feature.id,
    what: feature.thread?.designation ?? feature.size?.text ?? feature.name ?? feature.kind,
    ...(feature.size === undefined
      ? {}
      : { finishedMm: (feature.size.lowerMm + feature.size.upperMm) / 2 }),
    printedMm: chain.printedSizeMm ?? null,
    stockPerSideMm: chain.stockPerSideMm,
    ...(cleanUp === undefined ? {} : { cleanUp }),
    build,
    why: chain.printedSolid
      ? 'smaller than what is worth keeping open under the tool'
      : chain.steps.length === 0
        ? chain.printedSizeMm !== undefined
          ? "left as printed; the model carries the printer's mean error and the growth in heat"
          : 'left as printed'
        : `${chain.steps.map((step) => step.process.row.name.toLowerCase()).join(', then ')}${coatingNote(chain)}`,
  };
}

/** Size to cut to where a coating grows on the face afterwards. */
function coatingNote(chain: Chain): string {
  const coatings = actingCoatings(chain);
  if (coatings.length === 0) return '';
  const { lowMm, highMm } = coatingGrowth(coatings);
  const size =
    chain.feature.thread !== undefined || chain.targetMm === undefined
      ? ''
      : `${chain.targetMm.toFixed(3)} mm `;
  return `; ${size}before ${coatingNames(coatings)}, which grows ${lowMm.toFixed(4)} to ${highMm.toFixed(4)} mm a side`;
}

const wireCut = 'recast-wire-one-cut';

/** Kerf, wander, recast and the stock of the plate side, from the plate up. */
function heightParts(solved: SolvedJob): readonly { readonly what: string; readonly mm: number }[] {
  const { context, chosen } = solved;
  const cut = chosen.works.find((work) => work.kind === 'part' && work.work.kind === 'cut-off');
  if (cut === undefined || cut.kind !== 'part') return [];
  const saw = cut.work.process === 'cut-off-band-saw';
  const process = context.processes.get(cut.work.process);
  const loaded = ['fatigue', 'pressure'].includes(context.job.part.endUse);
  const plateSide = chosen.chains.filter((chain) => isPlateSide(chain.feature));
  const finish = Math.max(0, ...plateSide.map((chain) => chain.stockPerSideMm));
  const machined = plateSide.some((chain) => chain.steps.length > 0);
  const recast = loaded && !saw && !machined ? recastRemovalUm(context.catalog, wireCut) / 1000 : 0;
  if (recast > 0) {
    const skin = skinLayerById(context.catalog, wireCut);
    context.assume({
      what: `${skin.what}, twice of which comes off a loaded face`,
      value: `${skin.typicalUm / 1000} mm`,
      source: skin.source,
      confidence: skin.confidence,
    });
  }
  return [
    {
      what: 'clearance to the plate',
      mm: context.defaultValue(saw ? 'saw-clearance' : 'wire-clearance'),
    },
    { what: 'kerf', mm: (process?.row.effectTypicalUm ?? 0) / 1000 },
    { what: 'wander of the cut', mm: context.defaultValue(saw ? 'saw-wander' : 'wire-wander') },
    ...(recast > 0
      ? [{ what: 'recast and heat-affected layer, taken off a loaded face', mm: recast }]
      : []),
    ...(finish > 0 ? [{ what: 'stock of the plate side', mm: finish }] : []),
  ];
}
