import {
  boxExtremes,
  type FunctionTree,
  type LoopFunction,
  loopFunction,
  type TreeFunction,
  type TreeOperation,
  treeFunction,
} from '@offplate/core';
import { compileLoop } from '@offplate/core/expression';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { encloseProgram } from '../../packages/core/src/stack/tree-interval.js';
import { runProgram } from '../../packages/core/src/stack/tree-program.js';

const variables = ['a', 'b', 'c'];
const seed = 20261125;

const smooth: readonly TreeOperation[] = [
  'add',
  'subtract',
  'multiply',
  'divide',
  'negate',
  'sqrt',
  'sin',
  'cos',
  'tan',
  'asin',
  'acos',
  'atan',
  'atan2',
  'exp',
  'log',
];
const kinked: readonly TreeOperation[] = ['abs', 'min', 'max'];
const two = new Set<TreeOperation>([
  'add',
  'subtract',
  'multiply',
  'divide',
  'atan2',
  'min',
  'max',
]);

function trees(operations: readonly TreeOperation[]): fc.Arbitrary<FunctionTree> {
  const leaf = fc.oneof(
    {
      weight: 4,
      arbitrary: fc
        .constantFrom(...variables)
        .map((name): FunctionTree => ({ kind: 'variable', name })),
    },
    {
      weight: 1,
      arbitrary: fc
        .integer({ min: -30, max: 30 })
        .map((n): FunctionTree => ({ kind: 'number', value: n / 10 })),
    },
  );
  return fc.letrec<{ tree: FunctionTree }>((tie) => ({
    tree: fc.oneof(
      { maxDepth: 4, depthSize: 'large', withCrossShrink: true },
      leaf,
      fc.tuple(fc.constantFrom(...operations), tie('tree'), tie('tree')).map(
        ([operation, left, right]): FunctionTree => ({
          kind: 'apply',
          operation,
          operands: two.has(operation) ? [left, right] : [left],
        }),
      ),
      fc.tuple(tie('tree'), fc.constantFrom(-2, -1, 2, 3, 0.5, 1.5)).map(
        ([base, value]): FunctionTree => ({
          kind: 'apply',
          operation: 'power',
          operands: [base, { kind: 'number', value }],
        }),
      ),
    ),
  })).tree;
}

/** Compiles; a constant part that is not finite makes the tree no function. */
function made(tree: FunctionTree): TreeFunction | undefined {
  try {
    return treeFunction(tree, { variables });
  } catch {
    return undefined;
  }
}

/** Millionths, so that nothing overflows by dividing by 1e-300. */
const coordinate = (low: number, high: number) =>
  fc.integer({ min: low * 1e6, max: high * 1e6 }).map((n) => n / 1e6);
const triple = (low: number, high: number) =>
  fc.tuple(coordinate(low, high), coordinate(low, high), coordinate(low, high));
const points = triple(-2, 2);
const widths = triple(0, 1);
const shares = fc.array(
  points.map((point) => point.map((x) => (x + 2) / 4)),
  { minLength: 8, maxLength: 8 },
);

const shifted = (x: readonly number[], i: number, by: number) =>
  x.map((value, k) => (k === i ? value + by : value));

/** Central difference by two steps; undefined when the two disagree (a kink, a pole, rounding). */
function difference(
  f: (x: readonly number[]) => number,
  x: readonly number[],
  i: number,
): number | undefined {
  const by = (h: number) => (f(shifted(x, i, h)) - f(shifted(x, i, -h))) / (2 * h);
  const coarse = by(2e-4);
  const fine = by(1e-4);
  const size = 1 + Math.abs(fine);
  return Math.abs(coarse - fine) < 1e-6 * size ? fine : undefined;
}

describe('derivatives', () => {
  let compared = 0;
  test('gradient and Hessian agree with finite differences', () => {
    fc.assert(
      fc.property(trees(smooth), points, (tree, x) => {
        const fn = made(tree);
        if (fn === undefined || !runProgram(fn.program, x).every(Number.isFinite)) return;
        const gradient = fn.gradient(x);
        const hessian = fn.hessian(x);
        // at the edge of a domain, as sqrt(c - c), there is no derivative
        if (![...gradient, ...hessian].every(Number.isFinite)) return;
        for (let i = 0; i < 3; i++) {
          const slope = difference((at) => fn.value(at), x, i);
          if (slope === undefined || Math.abs(slope) > 1e4) continue;
          compared++;
          expect(Math.abs((gradient[i] as number) - slope)).toBeLessThan(
            1e-5 * (1 + Math.abs(slope)),
          );
          for (let j = 0; j < 3; j++) {
            const curve = difference((at) => fn.gradient(at)[i] as number, x, j);
            if (curve === undefined || Math.abs(curve) > 1e4) continue;
            compared++;
            expect(Math.abs((hessian[3 * i + j] as number) - curve)).toBeLessThan(
              1e-5 * (1 + Math.abs(curve)),
            );
          }
        }
      }),
      { seed, numRuns: 1500 },
    );
    expect(compared).toBeGreaterThan(4000);
  });
});

describe('enclosures', () => {
  test('value, gradient and Hessian at every sampled point lie within their ranges', () => {
    let compared = 0;
    fc.assert(
      fc.property(
        trees([...smooth, ...kinked]),
        points,
        widths,
        shares,
        (tree, lower, width, samples) => {
          const fn = made(tree);
          if (fn === undefined) return;
          const box = lower.map((low, i) => ({ lower: low, upper: low + (width[i] as number) }));
          const enclosure = encloseProgram(fn.program, box);
          const gradient = enclosure.gradient();
          const hessian = enclosure.hessian();
          const smoothTree = !JSON.stringify(tree).match(/"(abs|min|max)"/);
          for (const share of samples) {
            const x = box.map((range, i) =>
              Math.min(range.upper, range.lower + (width[i] as number) * (share[i] as number)),
            );
            const value = fn.value(x);
            if (enclosure.defined === 'everywhere') expect(value).not.toBeNaN();
            if (!Number.isFinite(value)) continue;
            expect(enclosure.defined).not.toBe('nowhere');
            compared++;
            expect(value).toBeGreaterThanOrEqual(enclosure.value.lower);
            expect(value).toBeLessThanOrEqual(enclosure.value.upper);
            // derivatives come in another order of operations: rounding apart
            const inside = (entry: number, range: { lower: number; upper: number }) => {
              if (!Number.isFinite(entry)) return;
              const slack = 1e-9 * (1 + Math.abs(entry));
              expect(entry).toBeGreaterThanOrEqual(range.lower - slack);
              expect(entry).toBeLessThanOrEqual(range.upper + slack);
            };
            fn.gradient(x).forEach((entry, i) => {
              inside(entry, gradient[i] as { lower: number; upper: number });
            });
            if (!smoothTree) continue;
            fn.hessian(x).forEach((entry, i) => {
              inside(entry, hessian[i] as { lower: number; upper: number });
            });
          }
        },
      ),
      { seed, numRuns: 600 },
    );
    expect(compared).toBeGreaterThan(2500);
  });
});

describe('worst case', () => {
  test('no sampled value lies beyond the extremes, and each extreme is a value of the function', () => {
    let compared = 0;
    fc.assert(
      fc.property(
        trees([...smooth, ...kinked]),
        points,
        widths,
        shares,
        (tree, lower, width, samples) => {
          const fn = made(tree);
          if (fn === undefined) return;
          const upper = lower.map((low, i) => low + (width[i] as number));
          const found = boxExtremes(fn, lower, upper, { boxLimit: 200 });
          if (!found.defined) return;
          compared++;
          expect(fn.value(found.lower.at)).toBe(found.lower.value);
          expect(fn.value(found.upper.at)).toBe(found.upper.value);
          for (const { at } of [found.lower, found.upper]) {
            at.forEach((x, i) => {
              expect(x).toBeGreaterThanOrEqual(lower[i] as number);
              expect(x).toBeLessThanOrEqual(upper[i] as number);
            });
          }
          expect(found.lower.bound).toBeLessThanOrEqual(found.lower.value);
          expect(found.upper.bound).toBeGreaterThanOrEqual(found.upper.value);
          for (const share of samples) {
            const x = lower.map((low, i) =>
              Math.min(upper[i] as number, low + (width[i] as number) * (share[i] as number)),
            );
            const value = fn.value(x);
            if (!found.proven && !Number.isFinite(value)) continue;
            expect(value).toBeGreaterThanOrEqual(found.lower.bound);
            expect(value).toBeLessThanOrEqual(found.upper.bound);
          }
        },
      ),
      { seed, numRuns: 300 },
    );
    expect(compared).toBeGreaterThan(100);
  });

  test('shrinking a tolerance never widens the result', () => {
    fc.assert(
      fc.property(
        trees(smooth),
        points,
        widths,
        fc.double({ min: 0, max: 1, noNaN: true }),
        (tree, middle, width, factor) => {
          const fn = made(tree);
          if (fn === undefined) return;
          const at = (scale: number, sign: number) =>
            middle.map((x, i) => x + (sign * scale * (width[i] as number)) / 2);
          const wide = boxExtremes(fn, at(1, -1), at(1, 1), { boxLimit: 200 });
          const narrow = boxExtremes(fn, at(factor, -1), at(factor, 1), { boxLimit: 200 });
          if (!wide.defined || !narrow.defined) return;
          expect(narrow.lower.value).toBeGreaterThanOrEqual(wide.lower.bound);
          expect(narrow.upper.value).toBeLessThanOrEqual(wide.upper.bound);
        },
      ),
      { seed, numRuns: 200 },
    );
  });
});

/** Four-bar linkage: crank, coupler, rocker, ground; the rocker angle for a crank angle. */
function fourBar(): LoopFunction {
  const compiled = compileLoop({
    loops: [
      [
        { length: 'crank', direction: 'turn' },
        { length: 'coupler', direction: 'couplerAngle' },
        { length: '-rocker', direction: 'rockerAngle' },
        { length: '-ground', direction: 0 },
      ],
    ],
    unknowns: [
      { name: 'couplerAngle', start: 0.5 },
      { name: 'rockerAngle', start: 1.3 },
    ],
    result: 'rockerAngle',
  });
  if (!compiled.ok) throw new Error(JSON.stringify(compiled.problems));
  return loopFunction(compiled.system, {
    variables: ['crank', 'turn', 'coupler', 'rocker', 'ground'],
  });
}

describe('closed loops', () => {
  const fn = fourBar();
  const dimensions = fc.tuple(
    fc.double({ min: 38, max: 42, noNaN: true }),
    fc.double({ min: 0.8, max: 1.6, noNaN: true }),
    fc.double({ min: 118, max: 122, noNaN: true }),
    fc.double({ min: 78, max: 82, noNaN: true }),
    fc.double({ min: 98, max: 102, noNaN: true }),
  );

  test('the loop closes and the angle is that of the closed form', () => {
    fc.assert(
      fc.property(dimensions, (x) => {
        const [crank, turn, coupler, rocker, ground] = x;
        const [couplerAngle, rockerAngle] = fn.unknowns(x) as [number, number];
        const px = crank * Math.cos(turn) + coupler * Math.cos(couplerAngle);
        const py = crank * Math.sin(turn) + coupler * Math.sin(couplerAngle);
        expect(px - rocker * Math.cos(rockerAngle) - ground).toBeCloseTo(0, 10);
        expect(py - rocker * Math.sin(rockerAngle)).toBeCloseTo(0, 10);
        // Freudenstein: the two triangles over the diagonal from crank pin to rocker pivot
        const dx = crank * Math.cos(turn) - ground;
        const dy = crank * Math.sin(turn);
        const diagonal = Math.hypot(dx, dy);
        const inner = Math.acos(
          (rocker ** 2 + diagonal ** 2 - coupler ** 2) / (2 * rocker * diagonal),
        );
        expect(fn.value(x)).toBeCloseTo(Math.atan2(dy, dx) - inner, 9);
      }),
      { seed, numRuns: 200 },
    );
  });

  test('gradient and Hessian by implicit differentiation agree with finite differences', () => {
    fc.assert(
      fc.property(dimensions, (x) => {
        const gradient = fn.gradient(x);
        const hessian = fn.hessian(x);
        x.forEach((_, i) => {
          const slope = difference((at) => fn.value(at), x, i) as number;
          expect(Math.abs((gradient[i] as number) - slope)).toBeLessThan(
            1e-7 * (1 + Math.abs(slope)),
          );
          x.forEach((__, j) => {
            const curve = difference((at) => fn.gradient(at)[i] as number, x, j) as number;
            expect(Math.abs((hessian[5 * i + j] as number) - curve)).toBeLessThan(1e-6);
          });
        });
      }),
      { seed, numRuns: 50 },
    );
  });

  test('enclosures hold sampled values and derivatives', () => {
    fc.assert(
      fc.property(
        dimensions,
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.array(dimensions, { minLength: 4, maxLength: 4 }),
        (middle, size, others) => {
          const half = [0.1, 0.01, 0.2, 0.1, 0.1].map((width) => width * size);
          const box = middle.map((x, i) => ({
            lower: x - (half[i] as number),
            upper: x + (half[i] as number),
          }));
          const enclosure = fn.enclose(box);
          expect(enclosure.defined).toBe('everywhere');
          const gradient = enclosure.gradient();
          const hessian = enclosure.hessian();
          for (const other of others) {
            // somewhere in the box, by where the other dimensions lie in their own ranges
            const x = box.map(
              (range, i) =>
                range.lower + (range.upper - range.lower) * (((other[i] as number) * 7.3) % 1),
            );
            const value = fn.value(x);
            expect(value).toBeGreaterThanOrEqual(enclosure.value.lower);
            expect(value).toBeLessThanOrEqual(enclosure.value.upper);
            fn.gradient(x).forEach((entry, i) => {
              expect(entry).toBeGreaterThanOrEqual((gradient[i]?.lower as number) - 1e-12);
              expect(entry).toBeLessThanOrEqual((gradient[i]?.upper as number) + 1e-12);
            });
            fn.hessian(x).forEach((entry, i) => {
              expect(entry).toBeGreaterThanOrEqual((hessian[i]?.lower as number) - 1e-12);
              expect(entry).toBeLessThanOrEqual((hessian[i]?.upper as number) + 1e-12);
            });
          }
        },
      ),
      { seed, numRuns: 60 },
    );
  });

  test('the worst case of a tolerance box is enclosed to 1e-9 of its width', () => {
    const middle = [40, 1.2, 120, 80, 100];
    const half = [0.05, 0.003, 0.1, 0.05, 0.05];
    const found = boxExtremes(
      fn,
      middle.map((x, i) => x - (half[i] as number)),
      middle.map((x, i) => x + (half[i] as number)),
    );
    if (!found.defined) throw new Error('not defined');
    expect(found.gap).toBeLessThan(1e-9 * (found.upper.value - found.lower.value));
    expect(found.upper.value).toBeGreaterThan(fn.value(middle));
  });

  test('a loop that cannot close has no value', () => {
    expect(fn.value([40, 1.2, 10, 20, 100])).toBeNaN();
    expect(boxExtremes(fn, [39, 1.2, 9, 19, 100], [40, 1.2, 10, 20, 100]).defined).toBe(false);
  });
});
