import { finenessFactor } from '../cost/process-time.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { FeatureRequirement } from '../job/requirements.js';
import { equivalentGrade, toleranceOfGradeUm } from '../limits/grades.js';
import type { FoundChain, FoundStep } from '../route/chain.js';
import { nominalOf } from '../route/chain-demand.js';
import { chainObjective } from '../route/price-chain.js';
import type { PlanOfStack } from './stack-links.js';
import { sizeRequirement, stackedProbability } from './stacked-requirement.js';

/** Steps of the search; each about halves what is left. */
const searchSteps = 14;
/** Working tolerances are stated in tenths of a micrometre, rounded to the closer side. */
const perMm = 10_000;

/**
 * Working tolerance of the last size-making step of a chain with which the size holds with the wanted
 * probability, mm; undefined when the process cannot hold it that close, or no step makes the size.
 */
export function closerToleranceMm(
  chain: FoundChain,
  requirement: Extract<FeatureRequirement, { kind: 'size' }>,
  plan: PlanOfStack,
  context: PlanningContext,
  least: number,
): number | undefined {
  const last = lastSizeOf(chain);
  const step = chain.steps[last];
  const best = step?.process.row.itBest;
  if (step === undefined || best === undefined) return undefined;
  const nominal = nominalOf(chain.feature, chain.geometry);
  const holds = (toleranceMm: number): boolean => {
    const closer = withTolerance(chain, last, toleranceMm);
    return stackedProbability(sizeRequirement(requirement, closer, plan, context)) >= least;
  };
  let low = Math.ceil(perMm * (toleranceOfGradeUm(nominal, best) / 1000) - 1e-6) / perMm;
  let high = step.toleranceMm;
  if (low >= high || !holds(low)) return undefined;
  for (let i = 0; i < searchSteps && high - low > 1 / perMm; i++) {
    const middle = Math.floor((perMm * (low + high)) / 2) / perMm;
    if (holds(middle)) low = middle;
    else high = middle;
  }
  return low;
}

/** The chain with that tolerance, its time longer for the finer grade. */
export function heldCloser(
  chain: FoundChain,
  toleranceMm: number,
  plan: PlanOfStack,
  context: PlanningContext,
): FoundChain {
  const last = lastSizeOf(chain);
  const nominal = nominalOf(chain.feature, chain.geometry);
  return retimed(withTolerance(chain, last, toleranceMm), last, nominal, plan, context);
}

function lastSizeOf({ steps }: FoundChain): number {
  return steps.findLastIndex((step) => step.toleranceMm > 0);
}

function withTolerance(chain: FoundChain, index: number, toleranceMm: number): FoundChain {
  return {
    ...chain,
    steps: chain.steps.map((step, i): FoundStep => (i === index ? { ...step, toleranceMm } : step)),
  };
}

/** The chain with time, grade and price for the tolerance that a step now holds. */
function retimed(
  chain: FoundChain,
  index: number,
  nominal: number,
  { chains }: PlanOfStack,
  context: PlanningContext,
): FoundChain {
  const steps = chain.steps.map((step, i): FoundStep => {
    if (i !== index) return step;
    const slow = chains.aged && step.stage !== 'soft' ? chains.slowdown : 1;
    const grade = equivalentGrade(nominal, 1000 * step.toleranceMm);
    const factor = slow * finenessFactor(step.process, grade, undefined);
    return { ...step, timeFactor: Math.max(step.timeFactor, factor) };
  });
  const toleranceMm = steps[index]?.toleranceMm ?? 0;
  const sigma = Math.hypot(toleranceMm / 6, ...chain.demand.spread.map((term) => term.sigmaMm));
  const closer: FoundChain = {
    ...chain,
    mark: `${chain.mark}|±${toleranceMm / 2}`,
    steps,
    demand: {
      ...chain.demand,
      tolerancesMm: chain.demand.tolerancesMm.map((mm, i) => (i === index ? toleranceMm : mm)),
      predictedToleranceMm: 6 * sigma,
      predictedGrade: equivalentGrade(nominal, 6000 * sigma),
    },
  };
  return { ...closer, objective: chainObjective(closer, context) };
}
