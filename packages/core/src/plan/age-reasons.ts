import type { Chain } from '../route/chain.js';
import { bendsInHeat } from '../route/chain-demand.js';
import { ageBendingMm } from '../route/chain-search.js';
import type { Reason } from './types.js';

/**
 * Why a feature is finished after the age rather than before it: the age moves its size, or bends its
 * form or direction, by more than half of the tolerance.
 */
export function afterAgeReasons(chain: Chain): readonly Reason[] {
  const { context, feature, geometry, requirements } = chain;
  if (!context.aged) return [];
  const nominal = feature.size?.nominalMm ?? geometry.acrossMm;
  const { meanPerMm, sigmaPerMm } = context.ageGrowth;
  const movedMm = (Math.abs(meanPerMm) + 3 * sigmaPerMm) * nominal;
  const bentMm = ageBendingMm(context, geometry);
  return requirements.flatMap((requirement): readonly Reason[] => {
    const because = (what: string, mm: number): readonly Reason[] => [
      {
        text: `${feature.id}: ${requirement.text} is made after the age, which ${what} by up to ${mm.toFixed(3)} mm`,
        requirement: { feature: feature.id, text: requirement.text },
      },
    ];
    if (requirement.kind === 'size' && movedMm > (requirement.upperMm - requirement.lowerMm) / 2)
      return because('moves the size', movedMm);
    if (
      requirement.kind === 'geometric' &&
      bendsInHeat(requirement.tolerance.kind) &&
      bentMm > requirement.tolerance.valueMm / 2
    )
      return because('bends the part', bentMm);
    return [];
  });
}
