import { nearMatch } from '../problems/near-match.js';
import type { CostLine, CostPlan } from './types.js';

/** Money lines that were asked for, or the ids that come near when there is none. */
export interface ExplainedCost {
  readonly lines: readonly CostLine[];
  /** Ids of lines that may be meant, best first; empty when lines were found. */
  readonly near: readonly string[];
}

/** Most ids that are proposed in place of a wrong one. */
const mostNear = 6;

/**
 * Finds money lines of a plan: one by its id, or all of an operation by its number. Each line carries
 * its rule in words, its inputs with value, unit and source, and its amount in minor units. Case does
 * not count. It throws nothing.
 *
 * @example
 * explainCost({ lines: [{ id: '40.set-up', operation: 40 }, { id: '40.run.B1.boring', operation: 40 }] }, '40.setup').near // -> ["40.set-up"]
 */
export function explainCost(cost: Pick<CostPlan, 'lines'>, what: string): ExplainedCost {
  const wanted = what.trim().toLowerCase();
  const one = cost.lines.filter(({ id }) => id.toLowerCase() === wanted);
  if (one.length > 0) return { lines: one, near: [] };
  const ofOperation = cost.lines.filter(({ operation }) => String(operation) === wanted);
  if (ofOperation.length > 0) return { lines: ofOperation, near: [] };
  const ids = cost.lines.map(({ id }) => id);
  const best = nearMatch(wanted, ids);
  const holding = ids.filter(
    (id) => id !== best && wanted.length > 1 && id.toLowerCase().includes(wanted),
  );
  return {
    lines: [],
    near: [...(best === undefined ? [] : [best]), ...holding].slice(0, mostNear),
  };
}
