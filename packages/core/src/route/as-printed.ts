import { featureGeometry } from '../job/feature-geometry.js';
import type { PlanningContext } from '../job/planning-context.js';
import { requirementsOf } from '../job/requirements.js';
import { asBuiltState } from './as-built-state.js';
import { chainDemand, demandsOf, nominalOf, sequenceProfile } from './chain-demand.js';
import { noHeat } from './chain-search.js';
import { finishEffect, type PlannedFinish } from './finishes.js';
import { probabilityInZone } from './location.js';
import { exposures } from './masking.js';

/**
 * Which features can stay as printed, relieved and cut off by wire, under some part-wide finishes. One
 * answer for each feature whose place allows it; heat is left out of the question.
 */
export function stayAsPrinted(
  context: PlanningContext,
): (finishes: readonly PlannedFinish[]) => readonly boolean[] {
  const { minimumProbability } = context.job.policy;
  const surfaces = context.job.features.flatMap((feature) => {
    if (feature.thread !== undefined) return [];
    const geometry = featureGeometry(feature, context);
    const start = asBuiltState(feature, geometry, context, 'cut-off-wire-edm', true);
    const locating = { start, extentMm: geometry.extentMm };
    const misplaced = feature.geometric.some(
      (tolerance) =>
        tolerance.datums.length > 0 &&
        probabilityInZone(tolerance, locating, locating) < minimumProbability - 1e-9,
    );
    if (misplaced) return [];
    const requirements = requirementsOf(feature, () => context.defaultValue('rz-per-ra'));
    const profile = sequenceProfile([], start, geometry, nominalOf(feature, geometry));
    return [{ feature, geometry, start, requirements, profile }];
  });
  return (finishes) =>
    surfaces.map(({ feature, geometry, start, requirements, profile }) =>
      exposures({ feature, context, chainContext: { finishes } }, true).some(({ acting }) => {
        const effect = finishEffect(acting);
        const demands = demandsOf(
          feature,
          geometry,
          requirements,
          start,
          effect,
          minimumProbability,
        );
        return !('requirement' in chainDemand(profile, demands, noHeat));
      }),
    );
}
