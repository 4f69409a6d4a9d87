import type { Chain } from '../route/chain.js';
import { depthRatio, reachesDepth } from '../route/process-sequences.js';
import type { SolvedJob } from './solve-job.js';

/** Holes deeper than this many diameters are worth a word (common practice, no source). */
const deepFrom = 5;

/** Says which tools a deep hole is too deep for, how it is made and how far the tool drifts. */
export function noteDeepHoles({ context, chosen }: SolvedJob): void {
  for (const chain of chosen.chains) {
    const ratio = depthRatio(chain.feature);
    if (ratio === undefined || ratio < deepFrom || chain.steps.length === 0) continue;
    const short = [...context.processes.values()].filter(
      (process) =>
        process.reach !== undefined &&
        process.row.appliesTo.includes('bore') &&
        (process.needs.holeMinMm ?? 0) <= chain.geometry.acrossMm &&
        (!process.needs.needsAxis || chain.feature.onAxis === true) &&
        process.reach.depthRatioMax < ratio &&
        !reachesDepth(process, chain.feature),
    );
    context.find({
      id: 'deep-hole',
      severity: 'note',
      message: `${ratio.toFixed(1)} diameters deep${short.length === 0 ? '' : `, too deep for ${short.map(({ row }) => row.name.toLowerCase()).join(', ')}`}: ${chain.steps.map((step) => step.process.row.name.toLowerCase()).join(', then ')}${driftText(chain)}`,
      about: chain.feature.id,
      source: chain.steps[0]?.process.reach?.source ?? 'common practice, no source',
    });
  }
}

function driftText(chain: Chain): string {
  const { process, extentMm } = chain.locating;
  const drift = (process?.reach?.wanderUmMm ?? 0) * extentMm;
  return drift > 0
    ? `; the tool drifts by about ${(3 * drift).toFixed(0)} µm (three standard deviations) over the depth`
    : '';
}
