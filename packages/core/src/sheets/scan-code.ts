import type { Plan } from '../plan/types.js';
import { orderOf } from './sheet-frame.js';
import type { SheetOptions } from './types.js';

/**
 * What the symbols on a traveller say to a scanner: order (the part's number when there is none),
 * operation and revision, nothing that may change. Without an operation it names the whole traveller.
 */
export function scanCode(plan: Plan, options: SheetOptions, operation?: number): string {
  const order = orderOf(plan, options) ?? plan.job.number;
  return [order, ...(operation === undefined ? [] : [operation]), plan.job.revision].join('/');
}
