import type { Range } from '../numeric/interval.js';
import { solveLinear } from '../numeric/linear-algebra.js';
import type { StackFunction } from './types.js';

const stepLimit = 60;
const halvingLimit = 40;

export interface Point {
  readonly at: readonly number[];
  /** `sign` times the function's value. */
  readonly value: number;
}

/**
 * Walks down `sign * fn` from `start` to a local minimum of the box: Newton steps in the variables
 * that are not pressed against a bound, steepest descent (scaled by the widths of the box) where
 * Newton does not descend, halved until the value falls.
 */
export function descend(
  fn: StackFunction,
  sign: 1 | -1,
  box: readonly Range[],
  start: readonly number[],
): Point {
  let at = [...start];
  let value = sign * fn.value(at);
  for (let count = 0; count < stepLimit && Number.isFinite(value); count++) {
    const gradient = Array.from(fn.gradient(at), (slope) => sign * slope);
    const free = box.flatMap((range, i) => {
      const slope = gradient[i] ?? 0;
      const here = at[i] ?? 0;
      const pressed = slope > 0 ? here <= range.lower : here >= range.upper;
      return slope === 0 || pressed || range.upper === range.lower ? [] : [i];
    });
    if (free.length === 0) break;
    const next =
      halve(fn, sign, box, at, value, newtonStep(fn, sign, at, gradient, free)) ??
      halve(fn, sign, box, at, value, steepestStep(box, gradient, free));
    if (next === undefined) break;
    at = [...next.at];
    value = next.value;
  }
  return { at, value };
}

function newtonStep(
  fn: StackFunction,
  sign: 1 | -1,
  at: readonly number[],
  gradient: readonly number[],
  free: readonly number[],
): number[] | undefined {
  const hessian = fn.hessian(at);
  const rows = free.map((i) => free.map((j) => sign * (hessian[i * at.length + j] ?? 0)));
  const moves = solveLinear(
    rows,
    free.map((i) => -(gradient[i] ?? 0)),
  );
  if (moves === undefined) return undefined;
  const step = at.map(() => 0);
  let fall = 0;
  free.forEach((i, place) => {
    step[i] = moves[place] ?? 0;
    fall += (gradient[i] ?? 0) * (moves[place] ?? 0);
  });
  return fall < 0 ? step : undefined;
}

/** The longest step down the gradient crosses the whole box in its steepest variable. */
function steepestStep(
  box: readonly Range[],
  gradient: readonly number[],
  free: readonly number[],
): number[] {
  const width = (i: number) => (box[i]?.upper ?? 0) - (box[i]?.lower ?? 0);
  let steepest = 0;
  for (const i of free) steepest = Math.max(steepest, Math.abs(gradient[i] ?? 0) * width(i));
  const step = box.map(() => 0);
  for (const i of free) step[i] = (-(gradient[i] ?? 0) * width(i) * width(i)) / steepest;
  return step;
}

function halve(
  fn: StackFunction,
  sign: 1 | -1,
  box: readonly Range[],
  at: readonly number[],
  value: number,
  step: readonly number[] | undefined,
): Point | undefined {
  if (step === undefined) return undefined;
  for (let count = 0, share = 1; count < halvingLimit; count++, share /= 2) {
    const moved = at.map((x, i) =>
      Math.min(box[i]?.upper ?? x, Math.max(box[i]?.lower ?? x, x + share * (step[i] ?? 0))),
    );
    const reached = sign * fn.value(moved);
    if (reached < value) return { at: moved, value: reached };
  }
  return undefined;
}
