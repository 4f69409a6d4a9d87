import { type Spread, statedOffset } from './evaluate-chart.js';
import type { ChartInput, ChartLink } from './types.js';

/** What a chain of working dimensions must come to on the mean. */
export interface Equation {
  readonly chain: readonly ChartLink[];
  readonly targetMm: number;
  /** Side to which the chain may be rounded: 1 up, -1 down, 0 to the nearest. */
  readonly bias: 1 | -1 | 0;
}

/**
 * Puts the stated working dimensions on their grids. A dimension is rounded when it is the only one
 * still open in a chain, so that the rounding of those before it is made good; where each chain has
 * several open ones, the first cut of them goes to the nearest value of its grid.
 *
 * @param meansMm exact means by cut, returned as they are where there is no grid
 */
export function roundWorkingDimensions(
  input: ChartInput,
  spreads: readonly Spread[],
  equations: readonly Equation[],
  meansMm: readonly number[],
): readonly number[] {
  const grids = input.cuts.map(({ roundToMm }) => roundToMm ?? input.roundToMm);
  if (grids.every((grid) => grid === undefined)) return meansMm;
  const position = new Map(input.cuts.map(({ id }, index) => [id, index]));
  const means = [...meansMm];
  const open = new Set(means.keys());
  const chains = equations.map(({ chain }) =>
    chain.map(({ cut, sign }) => ({ cut: position.get(cut) ?? 0, sign })),
  );
  const inChains = means.map((): number[] => []);
  chains.forEach((links, index) => {
    for (const { cut } of links) inChains[cut]?.push(index);
  });
  const stillOpen = chains.map((links) => links.length);
  const settle = (cut: number, wishMm: number, bias: number): void => {
    open.delete(cut);
    for (const chain of inChains[cut] ?? []) stillOpen[chain] = (stillOpen[chain] ?? 0) - 1;
    const grid = grids[cut];
    const offset = statedOffset(input.cuts[cut]?.statedAs, spreads[cut]?.toleranceMm ?? 0);
    means[cut] = grid === undefined ? wishMm : onGrid(wishMm + offset, grid, bias) - offset;
  };
  for (let [cut] = open; cut !== undefined; [cut] = open) {
    const ready = stillOpen.indexOf(1);
    const equation = equations[ready];
    if (equation === undefined) {
      settle(cut, means[cut] ?? 0, 0);
      continue;
    }
    let rest = equation.targetMm;
    let last = { cut: 0, sign: 1 };
    for (const link of chains[ready] ?? []) {
      if (open.has(link.cut)) last = link;
      else rest -= link.sign * (means[link.cut] ?? 0);
    }
    settle(last.cut, rest * last.sign, equation.bias * last.sign);
  }
  return means;
}

/** The nearest grid value, or the next one on the side of the bias. */
function onGrid(valueMm: number, gridMm: number, bias: number): number {
  const steps = valueMm / gridMm;
  const near = Math.round(steps);
  const onIt = Math.abs(steps - near) < 1e-6;
  const chosen = onIt || bias === 0 ? near : bias > 0 ? Math.ceil(steps) : Math.floor(steps);
  return Number((chosen * gridMm).toPrecision(12));
}
