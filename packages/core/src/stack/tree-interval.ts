import {
  addRanges,
  everything,
  exactly,
  magnitude,
  multiplyRanges,
  overlap,
  type Range,
} from '../numeric/interval.js';
import { type PartialRanges, stepPartialRanges } from './step-partial-ranges.js';
import { type Defined, stepDefined, stepRange, worseOf } from './step-range.js';
import { rightOf } from './tree-derivative.js';
import type { TreeProgram } from './tree-program.js';

/** What is known of a function over a box: ranges that hold every value it takes there. */
export interface Enclosure {
  readonly value: Range;
  readonly defined: Defined;
  readonly gradient: () => readonly Range[];
  /** Row-major n x n. */
  readonly hessian: () => readonly Range[];
}

/** Encloses the values and, on request, the first and second derivatives of a program over a box. */
export function encloseProgram(program: TreeProgram, box: readonly Range[]): Enclosure {
  const slots: Range[] = [...box, ...program.constants.map(exactly)];
  const firstStep = slots.length;
  let defined: Defined = 'everywhere';
  for (const step of program.steps) {
    const a = slots[step.left] ?? everything;
    const b = slots[rightOf(step)] ?? everything;
    defined = worseOf(defined, stepDefined(step, a, b));
    const range = stepRange(step, a, b);
    // what may overflow may end as infinity less infinity
    if (!Number.isFinite(magnitude(range))) defined = worseOf(defined, 'partly');
    slots.push(range);
  }
  const value = slots[program.result] ?? everything;
  let swept: Sweep | undefined;
  const sweep = (): Sweep => {
    swept ??= sweepAdjoints(program, slots, firstStep);
    return swept;
  };
  return {
    value,
    defined,
    gradient: () => sweep().adjoints.slice(0, program.variables.length),
    hessian: () => hessianRanges(program, sweep(), firstStep),
  };
}

const zero = exactly(0);
const one = exactly(1);

interface Sweep {
  readonly partials: readonly PartialRanges[];
  readonly adjoints: readonly Range[];
}

function addTo(array: Range[], index: number, amount: Range): void {
  array[index] = addRanges(array[index] ?? zero, amount);
}

function sweepAdjoints(program: TreeProgram, slots: readonly Range[], firstStep: number): Sweep {
  const partials = program.steps.map((step, index) =>
    stepPartialRanges(
      step,
      slots[step.left] ?? everything,
      slots[rightOf(step)] ?? everything,
      slots[firstStep + index] ?? everything,
    ),
  );
  const adjoints: Range[] = slots.map(() => zero);
  adjoints[program.result] = one;
  for (let index = program.steps.length - 1; index >= 0; index--) {
    const step = program.steps[index];
    const partial = partials[index];
    const adjoint = adjoints[firstStep + index];
    if (step === undefined || partial === undefined || adjoint === undefined) continue;
    addTo(adjoints, step.left, multiplyRanges(adjoint, partial.byLeft));
    addTo(adjoints, rightOf(step), multiplyRanges(adjoint, partial.byRight));
  }
  return { partials, adjoints };
}

function hessianRanges(program: TreeProgram, sweep: Sweep, firstStep: number): readonly Range[] {
  const { partials, adjoints } = sweep;
  const n = program.variables.length;
  const hessian: Range[] = new Array<Range>(n * n).fill(zero);
  for (let variable = 0; variable < n; variable++) {
    const tangents: Range[] = adjoints.map(() => zero);
    tangents[variable] = one;
    program.steps.forEach((step, index) => {
      const partial = partials[index];
      if (partial === undefined) return;
      tangents[firstStep + index] = addRanges(
        multiplyRanges(partial.byLeft, tangents[step.left] ?? zero),
        multiplyRanges(partial.byRight, tangents[rightOf(step)] ?? zero),
      );
    });
    const rates: Range[] = adjoints.map(() => zero);
    for (let index = program.steps.length - 1; index >= 0; index--) {
      const step = program.steps[index];
      const partial = partials[index];
      if (step === undefined || partial === undefined) continue;
      const adjoint = adjoints[firstStep + index] ?? zero;
      const rate = rates[firstStep + index] ?? zero;
      const left = tangents[step.left] ?? zero;
      const right = tangents[rightOf(step)] ?? zero;
      const toLeft = addRanges(
        multiplyRanges(partial.byLeftLeft, left),
        multiplyRanges(partial.byLeftRight, right),
      );
      const toRight = addRanges(
        multiplyRanges(partial.byLeftRight, left),
        multiplyRanges(partial.byRightRight, right),
      );
      addTo(
        rates,
        step.left,
        addRanges(multiplyRanges(rate, partial.byLeft), multiplyRanges(adjoint, toLeft)),
      );
      addTo(
        rates,
        rightOf(step),
        addRanges(multiplyRanges(rate, partial.byRight), multiplyRanges(adjoint, toRight)),
      );
    }
    for (let other = 0; other < n; other++) {
      const entry = rates[other] ?? zero;
      // both triangles enclose the same number: keep the tighter end of each
      const mirror = hessian[other * n + variable];
      const best = other < variable && mirror !== undefined ? overlap(entry, mirror) : entry;
      hessian[variable * n + other] = best;
      hessian[other * n + variable] = best;
    }
  }
  return hessian;
}
