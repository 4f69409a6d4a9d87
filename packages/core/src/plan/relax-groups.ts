import type { Job } from '../job/types.js';
import { type ChangedRequirement, neighbours } from './looser.js';
import type { SolvedJob } from './solve-job.js';

/** Most requirements that are loosened together. */
export const togetherLimit = 4;

/**
 * Sets of requirements that may pay only together, each in its loosest practical class: all of one
 * feature, and all of the two to four features that share a set-up, a part-wide finish or another
 * operation of the route. What does not help is taken out of a set afterwards.
 */
export function togetherCandidates(
  { chosen }: SolvedJob,
  job: Job,
): readonly (readonly ChangedRequirement[])[] {
  const loosest = new Map(
    job.features.map((feature) => {
      const byRequirement = new Map<string, ChangedRequirement>();
      for (const change of neighbours(feature, 'looser', 2, job.generalTolerance))
        byRequirement.set(change.requirement, change);
      return [feature.id, [...byRequirement.values()]] as const;
    }),
  );
  const groups = new Map<string, readonly ChangedRequirement[]>();
  const add = (features: Iterable<string>): void => {
    const ids = [...new Set(features)].sort();
    const changes = ids.flatMap((id) => loosest.get(id) ?? []);
    if (changes.length > 1) groups.set(ids.join('|'), changes);
  };
  for (const { id } of job.features) add([id]);
  const sharing = new Map<string, Set<string>>();
  for (const chain of chosen.chains)
    for (const id of [...chain.setUps, ...chain.steps.map((step) => step.process.id)])
      sharing.set(id, (sharing.get(id) ?? new Set()).add(chain.feature.id));
  for (const features of sharing.values())
    if (features.size > 1 && features.size <= togetherLimit) add(features);
  return [...groups].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, changes]) => changes);
}
