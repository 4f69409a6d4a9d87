import { featureGeometry } from '../job/feature-geometry.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Feature } from '../job/types.js';
import { asBuiltState, isPlateSide } from '../route/as-built-state.js';
import type { ToleranceReality } from './screen-types.js';

/** Sizes that carry no tolerance of their own. */
const withoutTolerance = ['untoleranced', 'theoretical', 'reference'];

/** Size and roughness of each feature as printed against the drawing; the tolerance may be general. */
export function toleranceRealities(context: PlanningContext): readonly ToleranceReality[] {
  return context.job.features.flatMap((feature) => {
    const { size, thread, raMaxUm } = feature;
    const toleranced = size !== undefined && !withoutTolerance.includes(size.origin);
    if (!toleranced && thread === undefined && raMaxUm === undefined) return [];
    const geometry = featureGeometry(feature, context);
    const state = asBuiltState(feature, geometry, context, 'cut-off-wire-edm', true);
    const printedMm = 6 * state.sizeSigmaMm;
    const toleranceMm = toleranced ? size.upperMm - size.lowerMm : undefined;
    const tight = toleranceMm !== undefined && size?.open === undefined && printedMm > toleranceMm;
    const smooth = raMaxUm !== undefined && state.raUm > raMaxUm;
    const asPrinted = !tight && !smooth && thread === undefined;
    return [
      {
        feature: feature.id,
        ...(feature.name === undefined ? {} : { name: feature.name }),
        ...(thread === undefined ? {} : { size: thread.designation }),
        ...(toleranced ? { size: size.text, toleranceMm: size.upperMm - size.lowerMm } : {}),
        printedMm,
        ...(raMaxUm === undefined ? {} : { raMaxUm }),
        printedRaUm: state.raUm,
        asPrinted,
        route: asPrinted
          ? 'can stay as printed'
          : routeOf(feature, geometry.acrossMm, context, tight),
        source: state.source,
        confidence: state.confidence,
      },
    ];
  });
}

/** Made by a tool from solid metal, so that its printed shape does not matter. */
export function madeFromSolid(
  feature: Feature,
  acrossMm: number,
  context: PlanningContext,
): boolean {
  if (feature.kind === 'slot') return acrossMm < context.defaultValue('slot-closed-below');
  const hole = feature.kind === 'bore' || feature.thread?.internal === true;
  return hole && acrossMm < context.defaultValue('print-solid-below');
}

function routeOf(
  feature: Feature,
  acrossMm: number,
  context: PlanningContext,
  tight: boolean,
): string {
  if (madeFromSolid(feature, acrossMm, context)) {
    if (feature.kind === 'slot') return 'print closed, mill';
    return feature.thread === undefined ? 'print solid, drill' : 'print solid, drill and thread';
  }
  if (feature.kind === 'channel')
    return tight
      ? 'no tool gets in: ask for a wider tolerance'
      : 'finish inside: abrasive flow or chemical';
  if (feature.thread !== undefined) return 'print with stock, thread';
  if (isPlateSide(feature)) return 'add stock above the cut, machine';
  if (feature.supported && feature.kind === 'freeform' && !tight)
    return 'dress the support stubs, finish';
  if (feature.supported) return 'add stock beyond the support stubs, machine';
  if (feature.facing === 'down') return 'add stock for the rough down-facing skin, machine';
  return tight ? 'add stock, machine' : 'finish or machine for the roughness';
}
