import type { PlanningContext } from '../job/planning-context.js';
import { datumFeature, type FeatureRequirement } from '../job/requirements.js';
import type { GeometricTolerance } from '../job/types.js';
import type { FoundChain } from '../route/chain.js';
import { isRadial, orientations } from '../route/location.js';
import type { BoundedOffset } from '../stack/beta-average.js';
import { chainInLimits } from '../stack/chain-summary.js';
import { roundZoneProbability } from '../stack/round-zone.js';
import type { Contributor } from '../stack/types.js';
import { type PlanOfStack, type StackLink, sizeLinks, zoneLinks } from './stack-links.js';

/** A requirement with what its probability hangs on, for one feature and (a place) one datum. */
export interface StackedRequirement {
  readonly requirement: FeatureRequirement;
  readonly shape: 'interval' | 'round zone';
  readonly lowerMm: number;
  readonly upperMm: number;
  readonly links: readonly StackLink[];
}

/** The stack of a size over the steps of its chain. */
export function sizeRequirement(
  requirement: Extract<FeatureRequirement, { kind: 'size' }>,
  chain: FoundChain,
  plan: PlanOfStack,
  context: PlanningContext,
): StackedRequirement {
  return {
    requirement,
    shape: 'interval',
    lowerMm: requirement.lowerMm,
    upperMm: requirement.upperMm,
    links: sizeLinks(chain, plan, context),
  };
}

/** The stack of a zone against one of its datums: the offset along one direction, half the zone each way. */
export function zoneRequirement(
  requirement: Extract<FeatureRequirement, { kind: 'geometric' }>,
  chain: FoundChain,
  base: FoundChain,
  letter: string,
  plan: PlanOfStack,
  context: PlanningContext,
): StackedRequirement {
  const { tolerance } = requirement;
  return {
    requirement,
    shape: isRound(tolerance) ? 'round zone' : 'interval',
    lowerMm: -tolerance.valueMm / 2,
    upperMm: tolerance.valueMm / 2,
    links: zoneLinks(tolerance, chain, base, letter, plan, context),
  };
}

/** Zones round an axis, for a place and also for the direction of an axis. */
function isRound(tolerance: GeometricTolerance): boolean {
  return isRadial(tolerance) || (tolerance.diametral && orientations.includes(tolerance.kind));
}

/** Other features from which a tolerance is located, by datum letter. */
export function datumsOf<T extends FoundChain>(
  tolerance: GeometricTolerance,
  chain: FoundChain,
  chains: readonly T[],
  context: PlanningContext,
): readonly { readonly letter: string; readonly base: T }[] {
  return tolerance.datums.flatMap(({ letter }) => {
    const id = datumFeature(context.job, letter)?.id;
    const base = chains.find(({ feature }) => feature.id === id);
    return base === undefined || base.feature.id === chain.feature.id ? [] : [{ letter, base }];
  });
}

/** Probability of the limits or of the zone, by the exact distribution of the links. */
export function stackedProbability(stacked: StackedRequirement): number {
  return evaluated(stacked).inLimits;
}

/** A probability and how it was computed. */
export interface Evaluated {
  readonly inLimits: number;
  readonly by: string;
}

/** The probability with its method. */
export function evaluated(stacked: StackedRequirement): Evaluated {
  const { links, lowerMm: lower, upperMm: upper } = stacked;
  if (links.length === 0) return { inLimits: 1, by: 'nothing varies' };
  const contributors = contributorsOf(links);
  if (stacked.shape === 'round zone') return inRoundZone(contributors, upper);
  return chainInLimits({ contributors, requirement: { lower, upper } });
}

/** Ids made unique: the same finish may act twice. */
export function contributorsOf(links: readonly StackLink[]): readonly Contributor[] {
  const seen = new Map<string, number>();
  return links.map(({ contributor }) => {
    const count = (seen.get(contributor.id) ?? 0) + 1;
    seen.set(contributor.id, count);
    return count === 1 ? contributor : { ...contributor, id: `${contributor.id} ${count}` };
  });
}

/** Normal links vary alike in both directions, bounded ones along the line to the datum. */
export function inRoundZone(contributors: readonly Contributor[], radius: number): Evaluated {
  const normal: number[] = [];
  const offsets: BoundedOffset[] = [];
  for (const { coefficient = 1, distribution, plus = 0, minus = 0 } of contributors) {
    if (distribution?.kind === 'normal') normal.push(coefficient * (distribution.sigma ?? 0));
    if (distribution?.kind === 'beta')
      offsets.push({
        lower: -minus,
        upper: plus,
        alpha: distribution.alpha,
        beta: distribution.beta,
      });
  }
  return {
    inLimits: roundZoneProbability({ radius, sigma: Math.hypot(...normal), offsets }),
    by:
      offsets.length === 0
        ? 'round zone, closed form (Rayleigh)'
        : 'round zone, averaged over the change of size (Rice)',
  };
}
