import { evaluateDual } from './dual.js';
import type { LocalProblem } from './local-problem.js';

export interface AscentRule {
  /** Most steps. */
  readonly steps: number;
  /** First step length as a part of the Polyak step to the target. */
  readonly length: number;
}

/** Steps without a gain worth naming before the step is shortened, and how much shorter it gets. */
const patience = 2;
const shrink = 0.6;
/** A gain worth naming, as a part of what is missing to the target. */
const worth = 1e-3;
/** The search gives up below this step length. */
const shortest = 0.02;
/** Part of the last direction that is kept. */
const memory = 0.6;
/** Weight of the last bound in the open rate of set-ups. */
const freshness = 0.1;

/**
 * Raises the bound by subgradient steps on shares, messages and budgets until it passes `target`,
 * the step gets short or the steps run out; `look` is called at every step, and may find a choice
 * that lowers the target. Leaves the best multipliers in the local problem and
 * returns their bound.
 */
export function raiseBound(
  local: LocalProblem,
  target: () => number,
  rule: AscentRule,
  look: (step: number) => void,
): number {
  const { share, budget, bestShare, bestBudget } = local;
  let best = Number.NEGATIVE_INFINITY;
  let length = rule.length;
  let idle = 0;
  local.shareStep.fill(0, 0, local.multipliers);
  local.budgetStep.fill(0, 0, local.features);
  for (let step = 0; step < rule.steps; step += 1) {
    const bound = evaluateDual(local);
    if (bound === Number.POSITIVE_INFINITY) return bound;
    recordOpen(local, step);
    look(step);
    const goal = target();
    // Without any choice known yet, aim somewhat higher than the bound.
    const aim = Number.isFinite(goal) ? goal : bound + 0.2 * Math.abs(bound) + 1;
    if (bound > best) {
      idle = bound > best + worth * (aim - bound) ? 0 : idle + 1;
      best = bound;
      for (let l = 0; l < local.multipliers; l += 1) bestShare[l] = share[l] as number;
      for (let f = 0; f < local.features; f += 1) bestBudget[f] = budget[f] as number;
      if (bound > goal) return best;
    } else {
      idle += 1;
    }
    if (idle >= patience) {
      length *= shrink;
      idle = 0;
      if (length < shortest) break;
    }
    if (!takeStep(local, length * (aim - bound))) break;
  }
  return best;
}

function takeStep(local: LocalProblem, distance: number): boolean {
  const { share, shareSlope, shareStep, budget, budgetSlope, budgetStep, links } = local;
  const { linkCluster, linkMask, subset } = local;
  let norm = 0;
  for (let l = 0; l < links; l += 1) {
    const open = (subset[linkCluster[l] as number] as number) & (linkMask[l] as number);
    const slope = (shareSlope[l] as number) - (open === 0 ? 0 : 1);
    const direction = memory * (shareStep[l] as number) + slope;
    shareStep[l] = direction;
    if (direction < 0 && (share[l] as number) <= 0) continue;
    norm += direction * direction;
  }
  for (let l = links; l < local.multipliers; l += 1) {
    const direction = memory * (shareStep[l] as number) + (shareSlope[l] as number);
    shareStep[l] = direction;
    norm += direction * direction;
  }
  for (let f = 0; f < local.features; f += 1) {
    const direction = memory * (budgetStep[f] as number) + (budgetSlope[f] as number);
    budgetStep[f] = direction;
    norm += direction * direction;
  }
  if (norm === 0) return false;
  const move = distance / norm;
  for (let l = 0; l < links; l += 1) {
    share[l] = Math.max(0, (share[l] as number) + move * (shareStep[l] as number));
  }
  for (let l = links; l < local.multipliers; l += 1) {
    share[l] = (share[l] as number) + move * (shareStep[l] as number);
  }
  for (let f = 0; f < local.features; f += 1) {
    budget[f] = (budget[f] as number) + move * (budgetStep[f] as number);
  }
  return true;
}

/** Keeps for every undecided set-up how often the bound opened it lately: a guide for branching. */
function recordOpen(local: LocalProblem, step: number): void {
  const { clusters, subset, openRate } = local;
  const weight = Math.max(freshness, 1 / (step + 1));
  for (let k = 0; k < clusters.length; k += 1) {
    const members = clusters[k] as readonly number[];
    const chosen = subset[k] as number;
    for (let b = 0; b < members.length; b += 1) {
      const s = members[b] as number;
      openRate[s] = (1 - weight) * (openRate[s] as number) + ((chosen >> b) & 1 ? weight : 0);
    }
  }
}
