import { chainSummary } from '../stack/chain-summary.js';
import type { Contributor } from '../stack/types.js';
import type { SolvedJob } from './solve-job.js';
import {
  contributorsOf,
  datumsOf,
  evaluated,
  inRoundZone,
  type StackedRequirement,
  sizeRequirement,
  stackedProbability,
  zoneRequirement,
} from './stacked-requirement.js';
import type { Operation, RequirementStack } from './types.js';

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
