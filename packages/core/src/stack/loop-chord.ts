import { solveLinear } from '../numeric/linear-algebra.js';
import { InputError } from '../problems/problem.js';
import {
  applyTree,
  constantTree,
  type FunctionTree,
  substituteTree,
  treeProblem,
  variableTree,
} from './function-tree.js';
import {
  type CompiledLoop,
  type LoopSystem,
  loopSensitivities,
  solveLoop,
  together,
  unknownJacobian,
} from './loop-equations.js';
import { compileTree, type TreeProgram } from './tree-program.js';

const chordSteps = 6;
const unrolledNodeLimit = 200_000;

/**
 * The loop as one program without iteration, for sampling near `centre`: from the tangent at the
 * centre a fixed number of chord steps (Newton with the inverse Jacobian of the centre). Over a
 * tolerance box each step gains some digits; a sample that has not settled becomes NaN and is
 * counted as undefined.
 */
export function chordProgram(
  system: LoopSystem,
  compiled: CompiledLoop,
  equations: readonly FunctionTree[],
  centre: readonly number[],
): TreeProgram {
  const solved = solveLoop(compiled, centre, compiled.starts);
  if (solved === undefined) {
    throw new InputError([treeProblem('inconsistent', 'the loop does not close at the means')]);
  }
  const point = together(compiled, centre, solved);
  const jacobian = unknownJacobian(compiled, point);
  const inverseColumns = solved.map(
    (_, k) =>
      solveLinear(
        jacobian,
        solved.map((_, i) => Number(i === k)),
      ) ?? [],
  );
  const sensitivities = loopSensitivities(compiled, point);
  const scaled = (factor: number, tree: FunctionTree) =>
    applyTree('multiply', constantTree(factor), tree);
  const plus = (a: FunctionTree, b: FunctionTree) => applyTree('add', a, b);

  const offsets = compiled.variables.map((name, i) =>
    applyTree('subtract', variableTree(name), constantTree(centre[i] ?? 0)),
  );
  let current: readonly FunctionTree[] = solved.map((value, k) =>
    offsets.reduce((sum, offset, i) => {
      const rate = sensitivities[k]?.[i] ?? 0;
      return rate === 0 ? sum : plus(sum, scaled(rate, offset));
    }, constantTree(value)),
  );
  let moves: readonly FunctionTree[] = [];
  for (let count = 0; count < chordSteps; count++) {
    const values = new Map(
      system.unknowns.map(({ name }, k) => [name, current[k] ?? constantTree(0)]),
    );
    const residuals = equations.map((equation) => substituteTree(equation, values));
    moves = solved.map((_, k) =>
      residuals
        .map((residual, i) => scaled(inverseColumns[i]?.[k] ?? 0, residual))
        .reduce((sum, next) => plus(sum, next)),
    );
    current = current.map((value, k) => applyTree('subtract', value, moves[k] ?? constantTree(0)));
  }
  const values = new Map(
    system.unknowns.map(({ name }, k) => [name, current[k] ?? constantTree(0)]),
  );
  const unsettled = moves
    .map((move, k) => scaled(1 / (1e-10 * (1 + Math.abs(solved[k] ?? 0))), move))
    .map((move) => applyTree('abs', move))
    .reduce((most, next) => applyTree('max', most, next));
  // 0 * sqrt(negative) is NaN: an unsettled sample has no value
  const guard = applyTree(
    'multiply',
    constantTree(0),
    applyTree('sqrt', applyTree('subtract', constantTree(1), unsettled)),
  );
  const result = plus(substituteTree(system.result, values), guard);
  return compileTree(result, compiled.variables, unrolledNodeLimit);
}
