import type { PlanningContext } from '../job/planning-context.js';

/**
 * Mean run time of a part in a lot by Wright's law, relative to that of a lot of one:
 * quantity ^ log2(percent / 100).
 *
 * @param quantity parts in the lot, at least 1
 * @param percent mean after each doubling of the lot, per cent of the mean before, above 0
 * @returns factor, 1 for one part and for 100 per cent
 * @throws RangeError when a number is out of range
 *
 * Source: Wright, T. P., Factors affecting the cost of airplanes, Journal of the Aeronautical
 * Sciences 3 (1936) 122-128: cumulative average.
 *
 * @example
 * learningFactor(4, 80) // -> ~0.64
 */
export function learningFactor(quantity: number, percent: number): number {
  if (!(quantity >= 1)) throw new RangeError(`quantity must be at least 1: ${quantity}`);
  if (!(percent > 0)) throw new RangeError(`learning rate must be above 0 %: ${percent}`);
  return quantity ** Math.log2(percent / 100);
}

/** The learning factor of one process in a job: 1 unless the policy gives a curve that holds for it. */
export function learningOf(process: string, context: PlanningContext): number {
  const { learning } = context.job.policy;
  if (learning === undefined) return 1;
  const held = learning.processes?.includes(process) ?? true;
  return held ? learningFactor(context.quantity, learning.percent) : 1;
}
