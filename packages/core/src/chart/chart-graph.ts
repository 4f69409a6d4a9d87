import type { ChartCut, ChartInput, ChartLink } from './types.js';

/** A surface between two cuts on it. */
export interface SurfaceState {
  /** Index of the surface. */
  readonly surface: number;
  /** Cut that made it; absent for the surface that the first cut is located from. */
  readonly cut?: number;
}

/**
 * Working dimensions as a tree: each cut makes one new state of its surface, located from a state
 * that exists. State 0 is the first datum; the state that cut i makes is i + 1.
 */
export interface ChartGraph {
  readonly states: readonly SurfaceState[];
  /** By cut: state of the datum. */
  readonly datum: readonly number[];
  /** By cut: state that it removes, if any. */
  readonly removed: readonly (number | undefined)[];
  /** By cut: working dimension = direction * (coordinate of the cut state - that of the datum). */
  readonly direction: readonly (1 | -1)[];
  /** By surface: its last state. */
  readonly finished: readonly number[];
}

/** Builds the tree; the input must have passed `checkChartInput`. */
export function chartGraph(input: ChartInput): ChartGraph {
  const indexOf = new Map(input.surfaces.map(({ id }, index) => [id, index]));
  const states: SurfaceState[] = [];
  const last = new Map<number, number>();
  const first = indexOf.get(input.cuts[0]?.datum ?? '') ?? 0;
  states.push({ surface: first });
  last.set(first, 0);
  const datum: number[] = [];
  const removed: (number | undefined)[] = [];
  const direction: (1 | -1)[] = [];
  input.cuts.forEach((cut, index) => {
    const from = indexOf.get(cut.datum) ?? 0;
    const to = indexOf.get(cut.surface) ?? 0;
    datum.push(last.get(from) ?? 0);
    removed.push(last.get(to));
    // a cut measured from its own surface goes inwards
    direction.push(from === to ? inwards(input, to) : to > from ? 1 : -1);
    states.push({ surface: to, cut: index });
    last.set(to, index + 1);
  });
  const finished = input.surfaces.map((_surface, index) => last.get(index) ?? 0);
  return { states, datum, removed, direction, finished };
}

function inwards(input: ChartInput, surface: number): 1 | -1 {
  return input.surfaces[surface]?.faces === 'up' ? -1 : 1;
}

/** Direction out of the material: stock = outwards * (coordinate before - coordinate after). */
export function outwards(input: ChartInput, surface: number): 1 | -1 {
  return input.surfaces[surface]?.faces === 'up' ? 1 : -1;
}

/** Signed working dimensions that lead from one state to another, in the order of working. */
export function chainBetween(
  graph: ChartGraph,
  cuts: readonly ChartCut[],
  from: number,
  to: number,
  sign: 1 | -1,
): ChartLink[] {
  const signs = new Map<number, 1 | -1>();
  const climb = (state: number, by: 1 | -1): number => {
    const cut = state - 1;
    const along = graph.direction[cut] ?? 1;
    signs.set(cut, along === by ? 1 : -1);
    return graph.datum[cut] ?? 0;
  };
  // a state's datum always has a smaller number, so the larger of the two climbs
  let a = from;
  let b = to;
  while (a !== b) {
    if (a > b) a = climb(a, sign === 1 ? -1 : 1);
    else b = climb(b, sign);
  }
  return [...signs.entries()]
    .sort(([x], [y]) => x - y)
    .map(([cut, along]) => ({ cut: cuts[cut]?.id ?? '', sign: along }));
}
