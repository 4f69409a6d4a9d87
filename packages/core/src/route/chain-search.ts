import { addRun, noRun, type RunSum, runObjective } from '../cost/charges.js';
import { stepMinutes } from '../cost/process-time.js';
import type { FeatureGeometry } from '../job/feature-geometry.js';
import type { ChainContext, ChainSubject, FoundChain, Growth, Rival } from './chain.js';
import {
  type ChainDemand,
  chainDemand,
  demandsOf,
  type LaterHeat,
  type SequenceProfile,
  type Shortfall,
} from './chain-demand.js';
import { undominated } from './chain-dominance.js';
import { finishEffect, type PlannedFinish } from './finishes.js';
import { makeChain } from './make-chain.js';
import type { PlacedSequence, Placement } from './placements.js';

export interface Found {
  readonly chains: readonly FoundChain[];
  readonly shortfalls: readonly Shortfall[];
}

/** Keeps the smaller miss of each requirement. */
export function nearest(known: Map<string, Shortfall>, shortfall: Shortfall): void {
  const other = known.get(shortfall.requirement.id);
  if (other === undefined || shortfall.distance < other.distance)
    known.set(shortfall.requirement.id, shortfall);
}

/** A placed sequence that meets the requirements, before it is written out as a chain. */
interface Candidate extends Rival {
  readonly profile: SequenceProfile;
  readonly placement: Placement;
  readonly demand: ChainDemand;
}

/** Every placed sequence that meets the requirements under some finishes, dominated ones left out. */
export function search(
  shared: ChainSubject,
  sequences: readonly PlacedSequence[],
  acting: readonly PlannedFinish[],
): Found {
  const { context, feature, geometry, requirements, start } = shared;
  const demands = demandsOf(
    feature,
    geometry,
    requirements,
    start,
    finishEffect(acting),
    context.job.policy.minimumProbability,
  );
  const shortfalls = new Map<string, Shortfall>();
  const candidates: Candidate[] = [];
  const easy: boolean[] = [];
  sequences.forEach(({ profile, carriesOn, ways }, place) => {
    // Whatever goes on after a sequence that already does it at no extra time costs more.
    if (carriesOn.some((shorter) => easy[shorter] === true)) return;
    const byGrowth = new Map<Growth | undefined, ChainDemand | Shortfall>();
    for (const placement of ways) {
      const { growth, misplaced } = placement;
      const demand =
        byGrowth.get(growth) ?? chainDemand(profile, demands, laterHeat(shared, profile, growth));
      byGrowth.set(growth, demand);
      if ('requirement' in demand) nearest(shortfalls, demand);
      else if (misplaced !== undefined) nearest(shortfalls, misplacement(placement, shared));
      else
        candidates.push({
          id: placement.route,
          ...sumUnder(profile, placement, demand, shared),
          setUps: placement.setUps,
          locating: placement.locating,
          profile,
          placement,
          demand,
        });
    }
    easy[place] =
      ways.length > 0 &&
      [...byGrowth.values()].every(
        (demand) => !('requirement' in demand) && demand.factors.every((factor) => factor === 1),
      );
  });
  return {
    chains: undominated(candidates, shared).map(({ profile, placement, demand, ...sum }) =>
      makeChain(shared, profile, placement, acting, demand, sum),
    ),
    shortfalls: [...shortfalls.values()],
  };
}

/** What the steps cost and take when each must be as fine as is asked of it. */
function sumUnder(
  { sequence }: SequenceProfile,
  { steps }: Placement,
  { factors }: ChainDemand,
  { context }: ChainSubject,
): Pick<FoundChain, 'objective' | 'leadMinutes'> {
  let sum: RunSum = noRun;
  for (const [index, { setUp, work }] of steps.entries()) {
    const factor = factors[index] ?? 1;
    const process = sequence[index];
    sum =
      factor === 1 || process === undefined
        ? {
            money: sum.money + work.usual.money,
            leadMinutes: sum.leadMinutes + work.usual.leadMinutes,
          }
        : addRun(
            sum,
            setUp.centre,
            stepMinutes(process, context, work.amount, factor * work.slowdown),
            context,
          );
  }
  return { objective: runObjective(sum, context), leadMinutes: sum.leadMinutes };
}

function misplacement(
  { locating, misplaced }: Placement,
  { start, requirements }: ChainSubject,
): Shortfall {
  const sigma = locating.setUp?.centre.positionUm ?? start.locationSigmaMm * 1000;
  return {
    requirement: misplaced ?? (requirements[0] as Shortfall['requirement']),
    best: () => `about ${((2 * 3.44 * sigma) / 1000).toFixed(3)} mm`,
    distance: sigma,
  };
}

/** Change of size in heat after the step that makes the size. */
function laterHeat(
  { nominal, chainContext, geometry }: ChainSubject,
  { sequence }: SequenceProfile,
  growth: Growth | undefined,
): LaterHeat {
  if (growth === undefined) return noHeat;
  return {
    spread: [
      {
        name: 'change of size in heat',
        sigmaMm: growth.sigmaPerMm * nominal,
        source: growth.source,
        confidence: growth.confidence,
      },
    ],
    // What is left as printed is compensated in the build model instead.
    shiftMm:
      sequence.length === 0 ? 0 : (Math.abs(growth.meanPerMm) + 3 * growth.sigmaPerMm) * nominal,
    formMm:
      growth === chainContext.ageGrowth && sequence.length > 0
        ? ageBendingMm(chainContext, geometry)
        : 0,
  };
}

export const noHeat: LaterHeat = { spread: [], shiftMm: 0, formMm: 0 };

/** How far the age bends a feature that is finished before it, mm. */
export function ageBendingMm(
  { ageFormPer100Mm }: Pick<ChainContext, 'ageFormPer100Mm'>,
  { acrossMm, extentMm }: Pick<FeatureGeometry, 'acrossMm' | 'extentMm'>,
): number {
  return (ageFormPer100Mm * Math.max(acrossMm, extentMm)) / 100;
}
