import { everything, isPoint, middleOf, type Range } from '../numeric/interval.js';
import {
  endBySlope,
  facesOf,
  halveBox,
  isConvex,
  meanValueBound,
  signed,
  tangentBound,
} from './box-bounds.js';
import { descend, type Point } from './box-descent.js';
import { boxOf, type EnclosedFunction } from './tree-function.js';
import type { Enclosure } from './tree-interval.js';
import type { StackFunction } from './types.js';

/** One end of a function's range over a box. */
export interface BoxExtreme {
  /** The most extreme value found. */
  readonly value: number;
  /** Where it is taken, in the order of the variables. */
  readonly at: readonly number[];
  /** Proven: no value of the function lies beyond it. Equal to `value` but for the gap. */
  readonly bound: number;
}

export type BoxExtremes =
  | {
      readonly defined: true;
      readonly lower: BoxExtreme;
      readonly upper: BoxExtreme;
      /** Larger distance between a value found and its proven bound. */
      readonly gap: number;
      /** Proven to have a value all over the box; false when only no point without one was found. */
      readonly proven: boolean;
      /** Boxes looked at. */
      readonly boxes: number;
    }
  /** The function has no (finite) value at or next to this point of the box. */
  | { readonly defined: false; readonly at: readonly number[] };

export interface BoxExtremesOptions {
  /** Gap to reach, as a share of the range of the values; 1e-9 when absent. */
  readonly gapShare?: number;
  /** Boxes to look at, at most, for each end; 4000 when absent. Then the gap reached is reported. */
  readonly boxLimit?: number;
}

/**
 * Extremes of a function over the box lower <= x <= upper, also inside the box and on its faces,
 * not only at corners. Branch and bound with interval enclosures of the value, gradient and Hessian:
 * a variable in which the function rises or falls all over a box goes to that end, one in which it
 * is concave goes to both ends, a convex box is closed by its tangent plane at the local minimum,
 * anything else is bounded by the mean value form and halved (Hansen & Walster, Global Optimization
 * Using Interval Analysis, 2nd ed. 2004). Units are those of the function.
 *
 * @example
 * boxExtremes(treeFunction(compileExpression('x^2').tree), [-1], [2]).lower.value // -> 0
 */
export function boxExtremes(
  fn: StackFunction | EnclosedFunction,
  lower: ArrayLike<number>,
  upper: ArrayLike<number>,
  options: BoxExtremesOptions = {},
): BoxExtremes {
  const box = boxOf(fn.variables.length, lower, upper);
  const enclosed = 'enclose' in fn ? fn : withoutDerivatives(fn);
  const domain = searchDomain(enclosed, box);
  if ('undefinedAt' in domain) return { defined: false, at: domain.undefinedAt };
  const low = searchMinimum(enclosed, 1, box, options);
  if ('undefinedAt' in low) return { defined: false, at: low.undefinedAt };
  const high = searchMinimum(enclosed, -1, box, options);
  if ('undefinedAt' in high) return { defined: false, at: high.undefinedAt };
  const upperEnd = { value: -high.best.value, at: high.best.at, bound: -high.bound };
  return {
    defined: true,
    lower: { value: low.best.value, at: low.best.at, bound: low.bound },
    upper: upperEnd,
    gap: Math.max(low.best.value - low.bound, upperEnd.bound - upperEnd.value),
    proven: domain.proven,
    boxes: low.boxes + high.boxes,
  };
}

/** A function of which only `bounds` is known. */
function withoutDerivatives(fn: StackFunction): EnclosedFunction {
  const n = fn.variables.length;
  return {
    ...fn,
    enclose: (box) => ({
      value: fn.bounds(
        box.map((range) => range.lower),
        box.map((range) => range.upper),
      ),
      defined: 'everywhere',
      gradient: () => new Array<Range>(n).fill(everything),
      hessian: () => new Array<Range>(n * n).fill(everything),
    }),
  };
}

const domainBoxLimit = 500;

/** Halves the box until the function is known to have a value all over each part, or a part has none. */
function searchDomain(
  fn: EnclosedFunction,
  whole: readonly Range[],
): { readonly proven: boolean } | { readonly undefinedAt: readonly number[] } {
  const waiting: (readonly Range[])[] = [whole];
  for (let count = 0; count < domainBoxLimit; count++) {
    const box = waiting.shift();
    if (box === undefined) return { proven: true };
    const middle = box.map(middleOf);
    const { defined } = fn.enclose(box);
    if (defined === 'nowhere' || !Number.isFinite(fn.value(middle))) return { undefinedAt: middle };
    if (defined === 'everywhere') continue;
    const parts = halveBox(box, whole, undefined);
    if (parts.length === 0) return { proven: false };
    waiting.push(...parts);
  }
  return { proven: waiting.length === 0 };
}

interface Waiting {
  readonly box: readonly Range[];
  /** Proven lower bound of `sign * fn` over the box. */
  readonly bound: number;
}

type Minimum =
  | { readonly best: Point; readonly bound: number; readonly boxes: number }
  | { readonly undefinedAt: readonly number[] };

/** What one look at a box yields: nothing left to search in it (`closed`), or smaller boxes. */
interface Look {
  readonly bound: number;
  readonly parts: readonly (readonly Range[])[];
  readonly undefinedAt?: readonly number[];
}

function searchMinimum(
  fn: EnclosedFunction,
  sign: 1 | -1,
  whole: readonly Range[],
  options: BoxExtremesOptions,
): Minimum {
  const { gapShare = 1e-9, boxLimit = 4000 } = options;
  const middle = whole.map(middleOf);
  const firstValue = fn.value(middle);
  if (!Number.isFinite(firstValue)) return { undefinedAt: middle };
  const slopes = fn.gradient(middle);
  const corner = whole.map((range, i) => (sign * (slopes[i] ?? 0) > 0 ? range.lower : range.upper));
  let best = descend(fn, sign, whole, middle);
  const offer = (point: Point): void => {
    // from a better point the walk goes on; without one it would only end where others did
    if (point.value < best.value) best = descend(fn, sign, whole, point.at);
  };
  offer(descend(fn, sign, whole, corner));
  const gap = () => gapShare * Math.abs(best.value - sign * firstValue);

  const queue: Waiting[] = [{ box: whole, bound: Number.NEGATIVE_INFINITY }];
  let closedBound = Number.POSITIVE_INFINITY;
  let unboundedBox: readonly Range[] | undefined;
  let boxes = 0;
  while (boxes < boxLimit) {
    const next = queue.pop();
    if (next === undefined) break;
    if (next.bound >= best.value - gap()) {
      queue.push(next);
      break;
    }
    boxes++;
    const look = lookAtBox(fn, sign, next, whole, best.value - gap(), offer);
    if (look.undefinedAt !== undefined) return { undefinedAt: look.undefinedAt };
    if (look.parts.length === 0) {
      closedBound = Math.min(closedBound, look.bound);
      if (look.bound === Number.NEGATIVE_INFINITY) unboundedBox = next.box;
    }
    for (const box of look.parts) insert(queue, { box, bound: look.bound });
  }
  const waiting = queue[queue.length - 1];
  const bound = Math.min(best.value, closedBound, waiting?.bound ?? Number.POSITIVE_INFINITY);
  // no bound at all: a pole, or the edge of the domain, that no point has hit
  if (bound === Number.NEGATIVE_INFINITY) {
    if (best.value === bound) return { undefinedAt: best.at };
    return { undefinedAt: (waiting?.box ?? unboundedBox ?? whole).map(middleOf) };
  }
  return { best, bound, boxes };
}

/** Keeps the queue falling, so that the lowest bound is popped first. */
function insert(queue: Waiting[], item: Waiting): void {
  let low = 0;
  let high = queue.length;
  while (low < high) {
    const at = (low + high) >> 1;
    if ((queue[at]?.bound ?? 0) >= item.bound) low = at + 1;
    else high = at;
  }
  queue.splice(low, 0, item);
}

function lookAtBox(
  fn: EnclosedFunction,
  sign: 1 | -1,
  waiting: Waiting,
  whole: readonly Range[],
  enough: number,
  offer: (point: Point) => void,
): Look {
  let box = waiting.box;
  let bound = waiting.bound;
  let enclosure: Enclosure;
  let slopes: readonly Range[] = [];
  for (;;) {
    enclosure = fn.enclose(box);
    bound = Math.max(bound, signed(enclosure.value, sign).lower);
    const middle = box.map(middleOf);
    if (enclosure.defined === 'nowhere') return { bound, parts: [], undefinedAt: middle };
    const value = sign * fn.value(middle);
    if (!Number.isFinite(value)) return { bound, parts: [], undefinedAt: middle };
    offer({ at: middle, value });
    if (bound >= enough || box.every(isPoint)) return { bound, parts: [] };
    if (enclosure.defined === 'partly') return { bound, parts: halveBox(box, whole, undefined) };
    slopes = enclosure.gradient().map((slope) => signed(slope, sign));
    const ends = box.map((range, i) => endBySlope(range, slopes[i] ?? everything));
    if (ends.every((range, i) => range === box[i])) break;
    box = ends;
  }
  bound = Math.max(bound, meanValueBound(fn, sign, box, slopes));
  if (bound >= enough) return { bound, parts: [] };
  const hessian = enclosure.hessian().map((entry) => signed(entry, sign));
  const free = box.flatMap((range, i) => (isPoint(range) ? [] : [i]));
  const concave = free.find((i) => (hessian[i * box.length + i] ?? everything).upper <= 0);
  if (concave !== undefined) return { bound, parts: facesOf(box, concave) };
  if (isConvex(hessian, box, free)) {
    const lowest = descend(fn, sign, box, box.map(middleOf));
    offer(lowest);
    bound = Math.max(bound, tangentBound(fn, sign, box, lowest.at));
    // a convex box has no other minimum: what is left between bound and value is rounding
    return { bound, parts: [] };
  }
  return { bound, parts: halveBox(box, whole, slopes) };
}
