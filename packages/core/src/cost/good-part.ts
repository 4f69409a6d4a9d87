/** One step of a route as the cost of scrap sees it. */
export interface ScrapStep {
  /** Cost of the step for one part that it starts with, any money unit. */
  readonly cost: number;
  /** Chance that the step scraps the part, from 0 to below 1. */
  readonly scrap: number;
  /** Share of parts that are reworked in the step, from 0 to 1; none when absent. */
  readonly rework?: number;
  /** Cost of reworking one part. */
  readonly reworkCost?: number;
}

/** Cost of one good part, and what of it is scrap. */
export interface GoodPart {
  /** Cost of one part that comes through good. */
  readonly cost: number;
  /** Sum of the steps, rework included, had nothing been scrapped. */
  readonly withoutScrap: number;
  /** Share of started parts that come through good. */
  readonly yield: number;
  /** How often each step is done for one good part, in the order of the steps. */
  readonly timesDone: readonly number[];
}

/**
 * Cost of one good part when each step may scrap it and what was spent on it is lost: each step is
 * done 1 / product of (1 - scrap) over itself and all later steps for one good part; what a part costs
 * grows the later it is lost. Rework adds its share times its cost to the step.
 *
 * @throws RangeError when a chance is out of range
 *
 * Source: expected value of independent steps; the same form is used for scrap in series production
 * (common practice, no source).
 *
 * @example
 * goodPartCost([{ cost: 100, scrap: 0 }, { cost: 50, scrap: 0.2 }]).cost // -> ~187.5
 */
export function goodPartCost(steps: readonly ScrapStep[]): GoodPart {
  for (const { scrap, rework = 0 } of steps) {
    if (!(scrap >= 0 && scrap < 1))
      throw new RangeError(`scrap must be from 0 to below 1: ${scrap}`);
    if (!(rework >= 0 && rework <= 1))
      throw new RangeError(`rework must be from 0 to 1: ${rework}`);
  }
  const timesDone: number[] = [];
  let through = 1;
  for (const { scrap } of [...steps].reverse()) {
    through *= 1 - scrap;
    timesDone.unshift(1 / through);
  }
  const each = steps.map(({ cost, rework = 0, reworkCost = 0 }) => cost + rework * reworkCost);
  return {
    cost: each.reduce((sum, cost, index) => sum + cost * (timesDone[index] ?? 1), 0),
    withoutScrap: each.reduce((sum, cost) => sum + cost, 0),
    yield: through,
    timesDone,
  };
}
