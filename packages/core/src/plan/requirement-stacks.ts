import type { PlanningContext } from '../job/planning-context.js';
import { datumFeature, type FeatureRequirement } from '../job/requirements.js';
import type { GeometricTolerance } from '../job/types.js';
import type { FoundChain } from '../route/chain.js';
import { isRadial, orientations } from '../route/location.js';
import type { BoundedOffset } from '../stack/beta-average.js';
import { chainSummary } from '../stack/chain-summary.js';
import { roundZoneProbability } from '../stack/round-zone.js';
import type { Contributor } from '../stack/types.js';
import type { SolvedJob } from './solve-job.js';
import { type PlanOfStack, type StackLink, sizeLinks, zoneLinks } from './stack-links.js';
import type { Operation, RequirementStack } from './types.js';

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

interface Evaluated {
  readonly inLimits: number;
  readonly by: string;
}

function evaluated(stacked: StackedRequirement): Evaluated {
  const { links, lowerMm: lower, upperMm: upper } = stacked;
  if (links.length === 0) return { inLimits: 1, by: 'nothing varies' };
  const contributors = contributorsOf(links);
  if (stacked.shape === 'round zone') return inRoundZone(contributors, upper);
  const { inLimits = 1, by } = chainSummary({ contributors, requirement: { lower, upper } });
  return { inLimits, by };
}

/** Ids made unique: the same finish may act twice. */
function contributorsOf(links: readonly StackLink[]): readonly Contributor[] {
  const seen = new Map<string, number>();
  return links.map(({ contributor }) => {
    const count = (seen.get(contributor.id) ?? 0) + 1;
    seen.set(contributor.id, count);
    return count === 1 ? contributor : { ...contributor, id: `${contributor.id} ${count}` };
  });
}

/** Normal links vary alike in both directions, bounded ones along the line to the datum. */
function inRoundZone(contributors: readonly Contributor[], radius: number): Evaluated {
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

/** How each size and located requirement adds up over the planned operations. */
export function requirementStacks(
  { chosen, context }: SolvedJob,
  operations: readonly Operation[],
): readonly RequirementStack[] {
  const { plan, chains } = chosen;
  if (plan === undefined) return [];
  return chains.flatMap((chain) =>
    chain.requirements.flatMap((requirement): RequirementStack[] => {
      if (requirement.kind === 'size')
        return [
          written(sizeRequirement(requirement, chain, plan, context), chain.feature.id, operations),
        ];
      if (requirement.kind !== 'geometric') return [];
      const [worst] = datumsOf(requirement.tolerance, chain, chains, context)
        .map(({ letter, base }) => zoneRequirement(requirement, chain, base, letter, plan, context))
        .map((stacked) => ({ stacked, inLimits: stackedProbability(stacked) }))
        .sort((a, b) => a.inLimits - b.inLimits);
      return worst === undefined ? [] : [written(worst.stacked, chain.feature.id, operations)];
    }),
  );
}

function written(
  stacked: StackedRequirement,
  feature: string,
  operations: readonly Operation[],
): RequirementStack {
  const { links, requirement, lowerMm, upperMm } = stacked;
  const contributors = contributorsOf(links);
  const limits = { lower: lowerMm, upper: upperMm };
  const isInterval = stacked.shape === 'interval';
  const summary =
    contributors.length === 0
      ? undefined
      : chainSummary({ contributors, ...(isInterval ? { requirement: limits } : {}) });
  const { inLimits, by } =
    summary?.inLimits === undefined
      ? evaluated(stacked)
      : { inLimits: summary.inLimits, by: summary.by };
  const first = summary?.tightenFirst;
  return {
    requirement: requirement.id,
    feature,
    unit: 'mm',
    shape: stacked.shape,
    ...limits,
    mean: summary?.mean ?? 0,
    sigma: summary?.sigma ?? 0,
    worstLower: summary?.worst.lower ?? 0,
    worstUpper: summary?.worst.upper ?? 0,
    inLimits,
    method: by,
    contributors: contributors.map((contributor, index) => {
      const share = summary?.contributions[index];
      const link = links[index];
      return {
        name: contributor.id,
        ...operationOf(link?.at, operations),
        mean: contributor.nominal,
        sensitivity: contributor.coefficient ?? 1,
        sigma: share?.sigma ?? 0,
        distribution: contributor.distribution?.kind ?? 'normal',
        sharePercent: share?.sharePercent ?? 0,
        source: link?.source ?? '',
        confidence: link?.confidence ?? 'practice',
      };
    }),
    ...(first === undefined
      ? {}
      : {
          tightenFirst: {
            contributor: first.id,
            inLimits: first.inLimits ?? tightened(stacked, contributors, first.id),
          },
        }),
  };
}

/** P(in the round zone) with 10 % less spread on one contributor. */
function tightened(
  stacked: StackedRequirement,
  contributors: readonly Contributor[],
  id: string,
): number {
  const changed = contributors.map((entry) =>
    entry.id === id ? { ...entry, ...narrower(entry) } : entry,
  );
  return inRoundZone(changed, stacked.upperMm).inLimits;
}

function narrower({ plus = 0, minus = 0, distribution }: Contributor): Partial<Contributor> {
  if (distribution?.kind === 'normal' && distribution.sigma !== undefined)
    return { distribution: { ...distribution, sigma: 0.9 * distribution.sigma } };
  return { plus: 0.9 * plus, minus: 0.9 * minus };
}

/** Number of the operation that brings a link in. */
export function operationOf(
  at: string | undefined,
  operations: readonly Operation[],
): { readonly operation?: number } {
  if (at === undefined) return {};
  const found = operations.find(
    ({ setup, process }) => setup === at || (setup === undefined && process === at),
  );
  return found === undefined ? {} : { operation: found.seq };
}
