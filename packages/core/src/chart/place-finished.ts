import type { BlueprintDimension, ChartInput, ChartLoop } from './types.js';

/** Mean coordinates of the finished surfaces, and the loops that cannot be closed in limits. */
export interface FinishedPlaces {
  readonly coordinatesMm: readonly number[];
  readonly loops: readonly ChartLoop[];
}

/** coordinate[to] - coordinate[from] <= bound + stretch * share. */
interface Span {
  readonly from: number;
  readonly to: number;
  readonly bound: number;
  readonly share: number;
  readonly blueprint: string;
}

/**
 * Lays the means of the finished surfaces so that every blueprint dimension stands where it aims.
 * When the drawing has more dimensions than that allows, each is moved by the same share of the room
 * between its aim and its limits (less the variation), the smallest share that closes every loop;
 * shares are found exactly by the loops that do not close (negative cycles of the difference
 * constraints). A share above 1 means that no choice of means works.
 *
 * @param variationMm by blueprint dimension: ± that must stay inside the limits
 */
export function placeFinished(input: ChartInput, variationMm: readonly number[]): FinishedPlaces {
  const indexOf = new Map(input.surfaces.map(({ id }, index) => [id, index]));
  const spans = input.blueprint.flatMap((dimension, index): Span[] => {
    const a = indexOf.get(dimension.from) ?? 0;
    const b = indexOf.get(dimension.to) ?? 0;
    const [from, to] = a < b ? [a, b] : [b, a];
    const { aim, below, above } = aimOf(dimension, variationMm[index] ?? 0);
    const blueprint = dimension.id;
    return [
      { from, to, bound: aim, share: above, blueprint },
      { from: to, to: from, bound: -aim, share: below, blueprint },
    ];
  });
  const count = input.surfaces.length;
  if (input.blueprint.length === count - 1)
    return { coordinatesMm: alongTree(count, spans), loops: [] };

  let stretch = 0;
  for (let round = 0; round <= 4 * spans.length; round++) {
    const { distance, cycle } = shortest(count, spans, stretch);
    if (cycle === undefined) return { coordinatesMm: fromFirst(distance), loops: [] };
    const gap = -cycle.reduce((sum, { bound }) => sum + bound, 0);
    const room = cycle.reduce((sum, { share }) => sum + share, 0);
    if (gap > room + 1e-9) {
      const blueprint = [...new Set(cycle.map((span) => span.blueprint))];
      return {
        coordinatesMm: alongTree(count, spans),
        loops: [{ blueprint, excessMm: gap - room }],
      };
    }
    if (room <= 0) break;
    stretch = Math.max(stretch * (1 + 1e-15), gap / room);
  }
  return { coordinatesMm: alongTree(count, spans), loops: [] };
}

/** Target of a dimension, and how far it may move from there. */
export function aimOf(
  { lowerMm, upperMm, aim }: BlueprintDimension,
  variationMm: number,
): { readonly aim: number; readonly below: number; readonly above: number } {
  const middle = (lowerMm + upperMm) / 2;
  const room = Math.max(0, (upperMm - lowerMm) / 2 - variationMm);
  if (aim === 'maximum') return { aim: middle + room, below: 2 * room, above: 0 };
  if (aim === 'minimum') return { aim: middle - room, below: 0, above: 2 * room };
  return { aim: middle, below: room, above: room };
}

/** Coordinates by the first dimensions that reach each surface, in the order of the drawing. */
function alongTree(count: number, spans: readonly Span[]): number[] {
  const coordinates: (number | undefined)[] = new Array(count).fill(undefined);
  coordinates[0] = 0;
  for (let round = 0; round < count; round++) {
    let any = false;
    for (const { from, to, bound } of spans) {
      const at = coordinates[from];
      if (at === undefined || coordinates[to] !== undefined) continue;
      coordinates[to] = at + bound;
      any = true;
    }
    if (!any) break;
  }
  return coordinates.map((at) => at ?? 0);
}

function fromFirst(distance: readonly number[]): number[] {
  const first = distance[0] ?? 0;
  return distance.map((at) => at - first);
}

/** Bellman-Ford over all surfaces at once; a cycle of negative length, when there is one. */
function shortest(
  count: number,
  spans: readonly Span[],
  stretch: number,
): { readonly distance: readonly number[]; readonly cycle: readonly Span[] | undefined } {
  const distance = new Array<number>(count).fill(0);
  const by: (Span | undefined)[] = new Array(count).fill(undefined);
  let changed: number | undefined;
  for (let round = 0; round < count; round++) {
    changed = undefined;
    for (const span of spans) {
      const reach = (distance[span.from] ?? 0) + span.bound + stretch * span.share;
      if (reach < (distance[span.to] ?? 0) - 1e-10) {
        distance[span.to] = reach;
        by[span.to] = span;
        changed = span.to;
      }
    }
    if (changed === undefined) return { distance, cycle: undefined };
  }
  // walk back into the cycle, then round it
  let at = changed ?? 0;
  for (let step = 0; step < count; step++) at = by[at]?.from ?? at;
  const cycle: Span[] = [];
  let back = at;
  do {
    const span = by[back];
    if (span === undefined) return { distance, cycle: undefined };
    cycle.push(span);
    back = span.from;
  } while (back !== at && cycle.length <= count);
  return { distance, cycle };
}
