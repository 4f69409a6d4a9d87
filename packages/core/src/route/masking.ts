import { threadBeforeCoating } from '../allowance/thread-coating.js';
import { featureGeometry } from '../job/feature-geometry.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Feature } from '../job/types.js';
import type { ChainContext, ChainSubject, FoundChain, Mask } from './chain.js';
import { coatingGrowth, type PlannedFinish } from './finishes.js';
import { chainObjective } from './price-chain.js';

/** How a feature meets the part-wide finishes of its part plan. */
export interface Exposure {
  /** Finishes that act on the finished surface. */
  readonly acting: readonly PlannedFinish[];
  readonly masked: readonly PlannedFinish[];
}

/** A feature under the part-wide finishes of a part plan. */
export type Exposed = Pick<ChainSubject, 'feature' | 'context'> & {
  readonly chainContext: Pick<ChainContext, 'finishes'>;
};

/** Finishes before machining act only on what is left as printed; later ones act or are masked. */
export function exposures(shared: Exposed, asPrinted: boolean): readonly Exposure[] {
  const { finishes } = shared.chainContext;
  const { allowedFinishes } = shared.feature;
  const before = asPrinted
    ? finishes.filter((finish) => finish.placement === 'before-machining')
    : [];
  const after = finishes.filter((finish) => finish.placement !== 'before-machining');
  const barred = (finish: PlannedFinish): boolean =>
    (allowedFinishes !== undefined && !allowedFinishes.includes(finish.process.id)) ||
    !leavesThread(finish, shared);
  const reach = (finish: PlannedFinish): boolean => reaches(finish, shared.feature, asPrinted);
  const maskable = after.filter((finish) => finish.process.needs.maskable);
  const options: Exposure[] = [];
  if (!after.some(barred) && !before.some(barred))
    options.push({ acting: [...before, ...after].filter(reach), masked: [] });
  if (
    maskable.length > 0 &&
    isMaskable(shared.feature, maskable) &&
    !before.some(barred) &&
    after.every((finish) => finish.process.needs.maskable || !barred(finish))
  )
    options.push({
      acting: [...before, ...after.filter((finish) => !finish.process.needs.maskable)].filter(
        reach,
      ),
      masked: maskable,
    });
  return options;
}

/**
 * Whether a thread stands the finish: what hardly moves a size, and a coating that the job names for it
 * and that leaves pitch diameter limits to cut to before it.
 */
function leavesThread(finish: PlannedFinish, { feature, context }: Exposed): boolean {
  const { row, id } = finish.process;
  if (feature.thread === undefined || (row.effectHighUm ?? 0) <= 2) return true;
  return (
    row.effect === 'growth' &&
    feature.allowedFinishes?.includes(id) === true &&
    threadBeforeCoating(context.catalog, feature.thread, coatingGrowth([finish])) !== undefined
  );
}

/** A curved outside is what part-wide finishes are for: masked only when the job bars the finish. */
function isMaskable(feature: Feature, finishes: readonly PlannedFinish[]): boolean {
  const { kind, allowedFinishes } = feature;
  return (
    kind !== 'freeform' ||
    (allowedFinishes !== undefined &&
      finishes.every(({ process }) => !allowedFinishes.includes(process.id)))
  );
}

/**
 * Whether a part-wide finish acts on a feature. Inside a channel only what is meant for channels does;
 * blasting and media go no deeper than the width of a hole left as printed (a finished hole counts as
 * hit all the same, because its mouth is).
 */
export function reaches({ process }: PlannedFinish, feature: Feature, asPrinted: boolean): boolean {
  if (feature.kind === 'channel') return process.row.appliesTo.includes('channel');
  const hole = feature.kind === 'bore' || feature.thread?.internal === true;
  if (!hole || !asPrinted || process.row.family !== 'media-finishing') return true;
  const across = feature.size?.nominalMm ?? feature.thread?.majorMm ?? 0;
  return (feature.depthMm ?? feature.lengthMm ?? 0) <= across;
}

/** The chain with the masks that its exposure asks for. */
export function withMasks(
  chain: FoundChain,
  masks: readonly Mask[],
  context: PlanningContext,
): FoundChain {
  if (masks.length === 0) return chain;
  return {
    ...chain,
    id: `${chain.id}:masked`,
    mark: `${chain.mark}:${masks.map((mask) => mask.minutesPerPart).join('+')}`,
    masks,
    objective: chainObjective({ steps: chain.steps, masks }, context),
    leadMinutes: masks.reduce(
      (sum, { centre, minutesPerPart }) =>
        sum + (centre.sourcing === 'in-house' ? minutesPerPart * context.quantity : 0),
      chain.leadMinutes,
    ),
  };
}

/** Masking one feature against one finish. */
export function maskOf(finish: PlannedFinish, feature: Feature, context: PlanningContext): Mask {
  const centre =
    context.workCentres.find((entry) => entry.processes.includes('support-removal-hand')) ??
    context.workCentres.find((entry) => entry.processes.includes(finish.process.id));
  if (centre === undefined)
    throw new RangeError(`no work centre for masking against ${finish.process.id}`);
  const plugged = feature.kind === 'bore' || feature.thread?.internal === true;
  const each = plugged
    ? context.defaultValue('plugging')
    : context.defaultValue('masking') +
      featureGeometry(feature, context).areaMm2 / 100 / context.defaultValue('masking-rate');
  return {
    finish,
    centre,
    minutesPerPart: each * feature.count,
    label: `mask ${feature.id} against ${finish.process.row.name.toLowerCase()}`,
  };
}
