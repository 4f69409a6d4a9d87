import { addCosts, addRun, noRun, type RunSum, runCost, runObjective } from '../cost/charges.js';
import { type CostReckoning, givenInput } from '../cost/inputs.js';
import { stepMinutes } from '../cost/process-time.js';
import { stepTiming } from '../cost/step-timing.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Chain, ChainContext, ChainStep, FoundChain, FoundStep, Mask } from './chain.js';

/** What a chain adds to the objective at the context's lot size. */
export function chainObjective(
  chain: Pick<FoundChain, 'steps' | 'masks'>,
  context: PlanningContext,
): number {
  return runObjective(chainRun(chain, context), context);
}

/** Money and lead time of a chain's runs at the context's lot size. */
export function chainRun(
  { steps, masks }: Pick<FoundChain, 'steps' | 'masks'>,
  context: PlanningContext,
): RunSum {
  let sum = noRun;
  for (const step of steps)
    sum = addRun(sum, step.setUp.centre, minutesOfStep(step, context), context);
  for (const mask of masks) sum = addRun(sum, mask.centre, minutesOfMask(mask, context), context);
  return sum;
}

/** The chain with its charges written out for the context's lot size. */
export function pricedChain(
  chain: FoundChain,
  chainContext: ChainContext,
  context: PlanningContext,
): Chain {
  const { feature } = chain;
  const steps = chain.steps.map((step): ChainStep => {
    const { process, setUp, amount, timeFactor } = step;
    const { minutes, from } = stepTiming(process, context, amount, timeFactor);
    const label = `${process.row.name}, ${feature.id}`;
    const id = `run.${feature.id}.${process.id}`;
    return { ...step, minutes, cost: runCost(setUp.centre, context, minutes, label, { id, from }) };
  });
  const masked = chain.masks.map((mask) => ({
    finish: mask.finish,
    centre: mask.centre,
    cost: runCost(mask.centre, context, minutesOfMask(mask, context), mask.label, {
      id: `mask.${feature.id}`,
      from: maskReckoning(mask, context),
    }),
  }));
  return {
    ...chain,
    context: chainContext,
    objective: chainObjective(chain, context),
    steps,
    masked,
    cost: addCosts(...[...steps, ...masked].map((entry) => entry.cost)),
  };
}

function minutesOfStep(
  { process, amount, timeFactor }: FoundStep,
  context: PlanningContext,
): number {
  return stepMinutes(process, context, amount, timeFactor);
}

function minutesOfMask({ minutesPerPart }: Mask, { quantity }: PlanningContext): number {
  return minutesPerPart * quantity;
}

function maskReckoning({ minutesPerPart }: Mask, { quantity }: PlanningContext): CostReckoning {
  return {
    formula: 'parts x masking of a part',
    inputs: [
      givenInput('parts', quantity, 'parts'),
      {
        name: 'masking of a part',
        value: minutesPerPart,
        unit: 'min',
        source: 'planning defaults plugging, masking and masking-rate',
        confidence: 'practice',
      },
    ],
  };
}
