import { InputError } from '../problems/problem.js';
import { treeProblem, treeText, treeVariables } from './function-tree.js';
import { chordProgram } from './loop-chord.js';
import { loopGradient, loopHessian } from './loop-derivative.js';
import {
  type CompiledLoop,
  type LoopSystem,
  loopEquations,
  solveLoop,
  together,
} from './loop-equations.js';
import { encloseLoop } from './loop-interval.js';
import { boxOf, type EnclosedFunction, type SampledFunction } from './tree-function.js';
import { compileTree, evaluateProgram } from './tree-program.js';

export interface LoopFunction extends EnclosedFunction, SampledFunction {
  readonly kind: 'loop';
  readonly system: LoopSystem;
  /** The unknowns at `x` in their order; undefined when the loop does not close. */
  unknowns(x: ArrayLike<number>): readonly number[] | undefined;
}

/**
 * Makes a stack function of closed vector loops: Newton's method with the exact Jacobian of the
 * loop equations, sensitivities and second derivatives by implicit differentiation, enclosures by
 * the Krawczyk operator. `variables` gives the order of x; by default the order in which names
 * occur. Throws `InputError` when equations and unknowns do not match in number.
 *
 * @example
 * loopFunction(compileLoop({ loops: [[{ length: 'a', direction: 0 }, { length: 'b', direction: '90 * deg' }, { length: 'c', direction: 'turn' }]], unknowns: [{ name: 'c', start: 4 }, { name: 'turn', start: 4 }], result: 'c' }).system).value([3, 4]) // -> ~5.0000
 */
export function loopFunction(
  system: LoopSystem,
  options: { readonly variables?: readonly string[]; readonly text?: string } = {},
): LoopFunction {
  const equations = loopEquations(system);
  const names = system.unknowns.map((unknown) => unknown.name);
  if (equations.length !== names.length || new Set(names).size !== names.length) {
    const message = `the loops give ${equations.length} equations for ${new Set(names).size} unknowns`;
    throw new InputError([treeProblem('inconsistent', message)]);
  }
  const variables =
    options.variables ??
    [...new Set([...equations, system.result].flatMap(treeVariables))].filter(
      (name) => !names.includes(name),
    );
  const all = [...variables, ...names];
  const compiled: CompiledLoop = {
    variables,
    starts: system.unknowns.map((unknown) => unknown.start),
    equations: equations.map((equation) => compileTree(equation, all)),
    result: compileTree(system.result, all),
  };
  const unknowns = (x: ArrayLike<number>) => solveLoop(compiled, x, compiled.starts);
  const enclose: EnclosedFunction['enclose'] = (box) => encloseLoop(compiled, box);
  return {
    kind: 'loop',
    system,
    variables,
    text: options.text ?? `${treeText(system.result)} of ${system.loops.length} closed loop(s)`,
    unknowns,
    value: (x) => {
      const found = unknowns(x);
      return found === undefined
        ? Number.NaN
        : evaluateProgram(compiled.result, together(compiled, x, found));
    },
    gradient: (x) => loopGradient(compiled, x, unknowns(x)),
    hessian: (x) => loopHessian(compiled, x, unknowns(x)),
    bounds: (lower, upper) => enclose(boxOf(variables.length, lower, upper)).value,
    enclose,
    samplingProgram: (centre) => chordProgram(system, compiled, equations, centre),
  };
}
