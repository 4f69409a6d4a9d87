import type { FeatureRequirement } from '../job/requirements.js';
import { normalBetween } from '../numeric/normal.js';
import type { Chain } from '../route/chain.js';

/** Requirements of a feature that printing alone does not meet: what its operations are for. */
export function unmetAsPrinted(
  chain: Chain,
  minimumProbability: number,
): readonly FeatureRequirement[] {
  return chain.requirements.filter((requirement) =>
    isUnmet(requirement, chain, minimumProbability),
  );
}

function isUnmet(
  requirement: FeatureRequirement,
  { start }: Chain,
  minimumProbability: number,
): boolean {
  switch (requirement.kind) {
    case 'thread':
      return true;
    case 'roughness':
      return start.raUm > requirement.raMaxUm;
    case 'size': {
      const half = (requirement.upperMm - requirement.lowerMm) / 2;
      return (
        normalBetween(-half / start.sizeSigmaMm, half / start.sizeSigmaMm) < minimumProbability
      );
    }
    case 'geometric':
      return requirement.tolerance.datums.length > 0
        ? requirement.tolerance.valueMm / 2 < 3 * start.locationSigmaMm
        : requirement.tolerance.valueMm < start.formMm;
  }
}
