import {
  addRanges,
  everything,
  exactly,
  isPoint,
  magnitude,
  middleOf,
  multiplyRanges,
  overlap,
  type Range,
  scaleRange,
  subtractRanges,
} from '../numeric/interval.js';
import { solveLinear } from '../numeric/linear-algebra.js';
import {
  type CompiledLoop,
  loopSensitivities,
  solveLoop,
  together,
  unknownJacobian,
} from './loop-equations.js';
import { type Defined, worseOf } from './step-range.js';
import { type Enclosure, encloseProgram } from './tree-interval.js';

type RangeMatrix = readonly (readonly Range[])[];

const inflations = 12;
const tightenings = 2;
const zero = exactly(0);

/**
 * Encloses a loop's result and derivatives over a box of contributors. The unknowns are enclosed by
 * the Krawczyk operator (Neumaier, Interval Methods for Systems of Equations, 1990, section 5.1),
 * which also proves that the loop closes all over the box, in one way near the solution.
 */
export function encloseLoop(compiled: CompiledLoop, box: readonly Range[]): Enclosure {
  const unknowns = encloseUnknowns(compiled, box);
  const n = compiled.variables.length;
  if (unknowns === undefined) {
    return {
      value: everything,
      defined: 'partly',
      gradient: () => new Array<Range>(n).fill(everything),
      hessian: () => new Array<Range>(n * n).fill(everything),
    };
  }
  const all = [...box, ...unknowns.ranges];
  const equations = compiled.equations.map((equation) => encloseProgram(equation, all));
  const result = encloseProgram(compiled.result, all);
  const slopes = equations.map((equation) => equation.gradient());
  const inner = slopes.map((row) => row.slice(n));
  const defined = equations.reduce<Defined>(
    (worst, equation) => worseOf(worst, equation.defined),
    result.defined,
  );
  const weights = () => {
    const transposed = inner.map((_, i) => inner.map((row) => row[i] ?? zero));
    return encloseSolution(transposed, result.gradient().slice(n));
  };
  return {
    value: result.value,
    defined,
    gradient: () => {
      const known = weights();
      return compiled.variables.map((_, i) =>
        known.reduce(
          (sum, weight, k) => subtractRanges(sum, multiplyRanges(weight, slopes[k]?.[i] ?? zero)),
          result.gradient()[i] ?? zero,
        ),
      );
    },
    hessian: () => {
      const known = weights();
      const size = all.length;
      const curvature = equations.reduce((sum, equation, k) => {
        const part = equation.hessian();
        const weight = known[k] ?? everything;
        return sum.map((entry, at) =>
          subtractRanges(entry, multiplyRanges(weight, part[at] ?? zero)),
        );
      }, result.hessian());
      const rates = compiled.variables.map((_, i) => {
        const right = slopes.map((row) => scaleRange(row[i] ?? zero, -1));
        const moved = encloseSolution(inner, right);
        return all.map((_, a) => (a < n ? exactly(Number(a === i)) : (moved[a - n] ?? everything)));
      });
      return rates.flatMap((left) => {
        const row = all.map((_, b) => sumOfProducts(left, (a) => curvature[a * size + b] ?? zero));
        return rates.map((right) => sumOfProducts(right, (b) => row[b] ?? zero));
      });
    },
  };
}

const sumOfProducts = (factors: readonly Range[], other: (index: number) => Range): Range =>
  factors.reduce((sum, factor, at) => addRanges(sum, multiplyRanges(factor, other(at))), zero);

function encloseUnknowns(
  compiled: CompiledLoop,
  box: readonly Range[],
): { readonly ranges: readonly Range[] } | undefined {
  const centre = box.map(middleOf);
  const solved = solveLoop(compiled, centre, compiled.starts);
  if (solved === undefined) return undefined;
  const point = together(compiled, centre, solved);
  const inverse = invert(unknownJacobian(compiled, point));
  if (inverse === undefined) return undefined;
  const n = centre.length;
  const sensitivities = loopSensitivities(compiled, point);
  let ranges: readonly Range[] = solved.map((value, k) => {
    const reach = box.reduce(
      (sum, range, i) => sum + Math.abs(sensitivities[k]?.[i] ?? 0) * (range.upper - range.lower),
      0,
    );
    return around(value, 0.6 * reach + 1e-13 * (1 + Math.abs(value)));
  });
  let proven = 0;
  for (let count = 0; count < inflations; count++) {
    const all = [...box, ...ranges];
    const slopes = compiled.equations.map((equation) => encloseProgram(equation, all).gradient());
    const moved = slopes.map((row) => row.slice(n));
    const left = apply(inverse, moved);
    const residuals = compiled.equations.map((equation, k) =>
      box.reduce(
        (sum, range, i) =>
          isPoint(range)
            ? sum
            : addRanges(
                sum,
                multiplyRanges(
                  slopes[k]?.[i] ?? everything,
                  subtractRanges(range, exactly(centre[i] ?? 0)),
                ),
              ),
        encloseProgram(equation, point.map(exactly)).value,
      ),
    );
    const next = solved.map((value, k) => {
      const step = sumOfProducts(residuals, (i) => exactly(inverse[k]?.[i] ?? 0));
      const spread = ranges.reduce((sum, range, j) => {
        const rest = subtractRanges(exactly(Number(k === j)), left[k]?.[j] ?? everything);
        return addRanges(sum, multiplyRanges(rest, subtractRanges(range, exactly(solved[j] ?? 0))));
      }, zero);
      return addRanges(subtractRanges(exactly(value), step), spread);
    });
    const inside = next.every((range, k) => {
      const old = ranges[k] ?? everything;
      return range.lower > old.lower && range.upper < old.upper;
    });
    if (inside || proven > 0) {
      ranges = next.map((range, k) => overlap(range, ranges[k] ?? range));
      if (++proven > tightenings) break;
    } else {
      ranges = next.map((range, k) =>
        around(solved[k] ?? 0, 1.2 * magnitude(subtractRanges(range, exactly(solved[k] ?? 0)))),
      );
    }
  }
  return proven > 0 ? { ranges } : undefined;
}

const around = (value: number, reach: number): Range => ({
  lower: value - reach,
  upper: value + reach,
});

function invert(matrix: readonly (readonly number[])[]): number[][] | undefined {
  const columns: (number[] | undefined)[] = matrix.map((_, k) =>
    solveLinear(
      matrix,
      matrix.map((_, i) => Number(i === k)),
    ),
  );
  if (columns.includes(undefined)) return undefined;
  return matrix.map((_, i) => columns.map((column) => column?.[i] ?? Number.NaN));
}

const apply = (left: readonly (readonly number[])[], right: RangeMatrix): RangeMatrix =>
  left.map((row) =>
    (right[0] ?? []).map((_, j) =>
      row.reduce(
        (sum, factor, k) => addRanges(sum, scaleRange(right[k]?.[j] ?? zero, factor)),
        zero,
      ),
    ),
  );

/** Holds every solution of A x = b with A and b within their ranges; everything when A may be singular. */
function encloseSolution(matrix: RangeMatrix, right: readonly Range[]): readonly Range[] {
  const unknown = right.map(() => everything);
  const inverse = invert(matrix.map((row) => row.map(middleOf)));
  if (inverse === undefined) return unknown;
  const rest = apply(inverse, matrix).map((row, i) =>
    row.map((entry, j) => subtractRanges(exactly(Number(i === j)), entry)),
  );
  const first = inverse.map((row) => sumOfProducts(right, (i) => exactly(row[i] ?? 0)));
  const norm = rest.reduce(
    (most, row) =>
      Math.max(
        most,
        row.reduce((sum, entry) => sum + magnitude(entry), 0),
      ),
    0,
  );
  if (!(norm < 0.99)) return unknown;
  const reach =
    (first.reduce((most, entry) => Math.max(most, magnitude(entry)), 0) * (1 + 1e-12)) / (1 - norm);
  let solution: readonly Range[] = first.map(() => around(0, reach));
  for (let count = 0; count <= tightenings; count++) {
    const next = rest.map((row, i) =>
      addRanges(
        first[i] ?? zero,
        sumOfProducts(row, (j) => solution[j] ?? everything),
      ),
    );
    solution = next.map((range, i) => overlap(range, solution[i] ?? range));
  }
  return solution;
}
