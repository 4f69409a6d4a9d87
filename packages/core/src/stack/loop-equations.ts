import { solveLinear } from '../numeric/linear-algebra.js';
import { applyTree, constantTree, type FunctionTree } from './function-tree.js';
import { programGradient } from './tree-derivative.js';
import { evaluateProgram, type TreeProgram } from './tree-program.js';

/** One side of a closed loop in the plane: how long, and in which direction (radians from +x). */
export interface LoopVector {
  readonly length: FunctionTree;
  readonly direction: FunctionTree;
}

/** Something that the closed loops determine: a length or an angle (radians). */
export interface LoopUnknown {
  readonly name: string;
  /** A first guess near the solution that is meant; loops often close in two ways. */
  readonly start: number;
}

/**
 * Closed vector loops in the plane. Each loop gives two equations (its vectors sum to zero in x and
 * in y); together with the `conditions` there must be as many equations as unknowns.
 */
export interface LoopSystem {
  readonly loops: readonly (readonly LoopVector[])[];
  /** Further expressions that must be zero, e.g. a sum of angles less a full turn. */
  readonly conditions?: readonly FunctionTree[];
  readonly unknowns: readonly LoopUnknown[];
  /** What is wanted: an unknown, or an expression in unknowns and contributors. */
  readonly result: FunctionTree;
}

/** The equations and the result as programs over contributors, then unknowns. */
export interface CompiledLoop {
  readonly variables: readonly string[];
  readonly starts: readonly number[];
  readonly equations: readonly TreeProgram[];
  readonly result: TreeProgram;
}

const newtonLimit = 60;

export function loopEquations(system: LoopSystem): readonly FunctionTree[] {
  const sum = (vectors: readonly LoopVector[], part: 'cos' | 'sin') =>
    vectors
      .map(({ length, direction }) => applyTree('multiply', length, applyTree(part, direction)))
      .reduce((all, next) => applyTree('add', all, next), constantTree(0));
  return [
    ...system.loops.flatMap((vectors) => [sum(vectors, 'cos'), sum(vectors, 'sin')]),
    ...(system.conditions ?? []),
  ];
}

export function together(
  compiled: CompiledLoop,
  x: ArrayLike<number>,
  unknowns: readonly number[],
): readonly number[] {
  return [...compiled.variables.map((_, i) => x[i] ?? Number.NaN), ...unknowns];
}

/** d equations / d unknowns at a point. */
export function unknownJacobian(compiled: CompiledLoop, point: readonly number[]): number[][] {
  const first = compiled.variables.length;
  return compiled.equations.map((equation) => [...programGradient(equation, point).slice(first)]);
}

/** Newton's method from `starts`; undefined when it does not settle. */
export function solveLoop(
  compiled: CompiledLoop,
  x: ArrayLike<number>,
  starts: readonly number[],
): readonly number[] | undefined {
  let unknowns = [...starts];
  for (let count = 0; count < newtonLimit; count++) {
    const point = together(compiled, x, unknowns);
    const residuals = compiled.equations.map((equation) => -evaluateProgram(equation, point));
    const step = solveLinear(unknownJacobian(compiled, point), residuals);
    if (step === undefined || step.some((move) => !Number.isFinite(move))) return undefined;
    unknowns = unknowns.map((value, i) => value + (step[i] ?? 0));
    const rest = step.reduce(
      (most, move, i) => Math.max(most, Math.abs(move) / (1 + Math.abs(unknowns[i] ?? 0))),
      0,
    );
    // quadratic convergence: the next step would be far below rounding
    if (rest < 1e-9) return polish(compiled, x, unknowns);
  }
  return undefined;
}

function polish(
  compiled: CompiledLoop,
  x: ArrayLike<number>,
  unknowns: readonly number[],
): readonly number[] {
  const point = together(compiled, x, unknowns);
  const residuals = compiled.equations.map((equation) => -evaluateProgram(equation, point));
  const step = solveLinear(unknownJacobian(compiled, point), residuals);
  return unknowns.map((value, i) => value + (step?.[i] ?? 0));
}

/** d unknowns / d contributors, one row for each unknown. */
export function loopSensitivities(compiled: CompiledLoop, point: readonly number[]): number[][] {
  const jacobian = unknownJacobian(compiled, point);
  const slopes = compiled.equations.map((equation) => programGradient(equation, point));
  const columns = compiled.variables.map(
    (_, i) =>
      solveLinear(
        jacobian,
        slopes.map((row) => -(row[i] ?? 0)),
      ) ?? slopes.map(() => Number.NaN),
  );
  return compiled.starts.map((_, k) => columns.map((column) => column[k] ?? Number.NaN));
}
