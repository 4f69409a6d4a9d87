import { describe, expect, test } from 'vitest';
import { betaLower, betaUpper } from '../../packages/core/src/numeric/beta-function.js';
import {
  chiSquaredCdf,
  chiSquaredQuantile,
  chiSquaredUpperTail,
} from '../../packages/core/src/numeric/chi-squared.js';
import { erf, erfc, erfcx } from '../../packages/core/src/numeric/error-function.js';
import { convolve, fftInPlace, twiddlesFor } from '../../packages/core/src/numeric/fft.js';
import { logGamma } from '../../packages/core/src/numeric/gamma.js';
import { gaussJacobi } from '../../packages/core/src/numeric/gauss-jacobi.js';
import {
  choleskySemidefinite,
  isPositiveSemidefinite,
  solveLinear,
} from '../../packages/core/src/numeric/linear-algebra.js';
import { noncentralCdf, noncentralQuantile } from '../../packages/core/src/numeric/noncentral-t.js';
import {
  logNormalUpperTail,
  normalBetween,
  normalCdf,
  normalQuantile,
  normalUpperQuantile,
  normalUpperTail,
} from '../../packages/core/src/numeric/normal.js';
import { curveQuantile, pearsonCurve } from '../../packages/core/src/numeric/pearson-curve.js';
import { gaussLegendre, integrate } from '../../packages/core/src/numeric/quadrature.js';
import { brentRoot, newtonInBracket } from '../../packages/core/src/numeric/roots.js';
import {
  studentCdf,
  studentQuantile,
  studentUpperTail,
} from '../../packages/core/src/numeric/student-t.js';
import { compensatedSum } from '../../packages/core/src/numeric/sum.js';

const relative = (value: number, expected: number): number => Math.abs(value / expected - 1);

// Expected values in this file: 40-digit arithmetic (mpmath 1.3), rounded to doubles.

describe('normal distribution', () => {
  test.each([
    [-37, 5.725571222524577e-300],
    [-20, 2.7536241186062337e-89],
    [-8, 6.220960574271784e-16],
    [-3, 0.0013498980316300946],
    [-1, 0.15865525393145705],
    [0.5, 0.6914624612740131],
    [3, 0.9986501019683699],
  ])('P(Z <= %d) to 1e-15 of itself', (z, expected) => {
    expect(relative(normalCdf(z), expected)).toBeLessThan(1e-15);
    expect(relative(normalUpperTail(-z), expected)).toBeLessThan(1e-15);
  });

  test('quantile and distribution function undo each other from 1e-300 to 1/2', () => {
    for (let power = -300; power < 0; power += 7) {
      const p = 10 ** power;
      const z = normalQuantile(p);
      // one ulp of z is worth z^2 ulps of p
      expect(relative(normalCdf(z), p)).toBeLessThan(4e-16 * (2 + z * z));
      expect(normalUpperQuantile(p)).toBe(-z);
    }
    expect(normalQuantile(0.5)).toBe(0);
  });

  test('ends, and outside', () => {
    expect(normalQuantile(0)).toBe(Number.NEGATIVE_INFINITY);
    expect(normalQuantile(1)).toBe(Number.POSITIVE_INFINITY);
    expect(normalQuantile(1.1)).toBeNaN();
    expect(normalUpperTail(Number.POSITIVE_INFINITY)).toBe(0);
    expect(normalUpperTail(Number.NEGATIVE_INFINITY)).toBe(1);
    expect(normalBetween(Number.NEGATIVE_INFINITY, 0)).toBe(0.5);
  });

  test('the log of the tail goes on where the tail underflows', () => {
    // log Q(50) = -1254.8313611394199...
    expect(relative(logNormalUpperTail(50), -1254.8313611394199)).toBeLessThan(1e-14);
    expect(logNormalUpperTail(-1)).toBeCloseTo(Math.log(normalCdf(1)), 15);
  });

  test('error function: odd, complementary, scaled', () => {
    expect(erf(-0.3)).toBe(-erf(0.3));
    expect(erfc(1.7) + erf(1.7)).toBeCloseTo(1, 15);
    expect(relative(erfcx(3) * Math.exp(-9), erfc(3))).toBeLessThan(1e-14);
    expect(relative(erfcx(-1), Math.E * erfc(-1))).toBeLessThan(1e-14);
  });
});

describe('other distributions', () => {
  test.each([
    [0.5, 1, 0.5204998778130465, 0.4795001221869535],
    [5, 5, 0.5841198130044921, 0.4158801869955079],
    [60, 5, 0.9999999999878454, 1.215456977718304e-11],
    [130, 100, 0.9764876021901913, 0.023512397809808676],
    [1300, 1000, 0.9999999996110263, 3.8897364994868526e-10],
  ])('chi-squared at %d with %d degrees', (x, degrees, lower, upper) => {
    expect(relative(chiSquaredCdf(x, degrees), lower)).toBeLessThan(1e-13);
    expect(relative(chiSquaredUpperTail(x, degrees), upper)).toBeLessThan(1e-13);
    if (lower < 0.99) expect(relative(chiSquaredQuantile(lower, degrees), x)).toBeLessThan(1e-12);
  });

  test.each([
    [0.5, 0.5, 0.1, 0.20483276469913345, 0.7951672353008666],
    [2, 3, 0.01, 0.00059203, 0.99940797],
    [3, 3, 0.999, 0.999999990014994, 9.985006e-9],
    [100, 200, 0.2, 3.5460073665672375e-8, 0.9999999645399263],
    [500, 500, 0.52, 0.897082472693004, 0.10291752730699592],
  ])('incomplete beta (%d, %d) at %d', (a, b, x, lower, upper) => {
    expect(relative(betaLower(a, b, x), lower)).toBeLessThan(2e-13);
    expect(relative(betaUpper(a, b, x), upper)).toBeLessThan(2e-13);
  });

  test.each([
    [2, 3, 0.0696629842794216],
    [12.7, 1, 0.02501216384467208],
    [6, 10, 6.60544301773928e-5],
    [40, 5, 9.205981085886477e-8],
  ])('Student t beyond %d with %d degrees', (t, degrees, tail) => {
    expect(relative(studentUpperTail(t, degrees), tail)).toBeLessThan(1e-13);
    expect(relative(studentQuantile(tail, degrees), -t)).toBeLessThan(1e-12);
    expect(studentCdf(-t, degrees)).toBe(studentUpperTail(t, degrees));
  });

  test.each([
    [2, 4, 1.5, 0.6189289251396547],
    [9.2, 4, 3.67, 0.9466131009897295],
    [-1, 3, 0.5, 0.09212120981435937],
    [20, 29, 12.7, 0.9961638263007727],
  ])('noncentral t at %d, %d degrees, delta %d', (t, degrees, delta, p) => {
    expect(relative(noncentralCdf(t, degrees, delta), p)).toBeLessThan(1e-12);
    expect(Math.abs(noncentralQuantile(p, degrees, delta) - t)).toBeLessThan(1e-10);
  });

  test('log gamma of halves and factorials', () => {
    expect(logGamma(0.5)).toBeCloseTo(0.5 * Math.log(Math.PI), 14);
    expect(logGamma(11)).toBeCloseTo(Math.log(3628800), 13);
    expect(logGamma(-1)).toBeNaN();
  });

  test('Pearson curves: normal, Student t, uniform, gamma and their mirror', () => {
    expect(pearsonCurve(0, 0)?.upperTail(3)).toBe(normalUpperTail(3));
    // t with 10 degrees: excess kurtosis 1, sd sqrt(10/8)
    const t = pearsonCurve(0, 1);
    expect(relative(t?.upperTail(4) ?? 0, studentUpperTail(4 * Math.sqrt(1.25), 10))).toBeLessThan(
      1e-9,
    );
    // uniform on ± sqrt 3
    expect(pearsonCurve(0, -1.2)?.upperTail(1.5)).toBeCloseTo(
      (Math.sqrt(3) - 1.5) / (2 * Math.sqrt(3)),
      12,
    );
    // exponential: skewness 2, excess kurtosis 6
    const exponential = pearsonCurve(2, 6);
    expect(relative(exponential?.upperTail(4) ?? 0, Math.exp(-5))).toBeLessThan(1e-12);
    expect(relative(pearsonCurve(-2, 6)?.lowerTail(-4) ?? 0, Math.exp(-5))).toBeLessThan(1e-12);
    expect(pearsonCurve(1, -1)).toBeUndefined();
    if (exponential === undefined) throw new Error('no curve');
    expect(curveQuantile(exponential, 0.99)).toBeCloseTo(Math.log(100) - 1, 9);
  });

  // F(5, 12): beta prime; skewness and kurtosis from its moments, tail from the incomplete beta
  test('Pearson type VI and IV have the moments asked for', () => {
    for (const [skewness, kurtosis] of [
      [1.5, 5],
      [0.5, 1.2],
      [-0.094, 0.024],
      [0.3, -0.4],
    ] as const) {
      const curve = pearsonCurve(skewness, kurtosis);
      if (curve === undefined) throw new Error('no curve');
      // E Z^n = n * integral of z^(n-1) (P(Z > z) + (-1)^n P(Z < -z)) over z > 0
      const moment = (n: number): number =>
        integrate(
          (z) => n * z ** (n - 1) * (curve.upperTail(z) + (-1) ** n * curve.lowerTail(-z)),
          0,
          400,
          [0.5, 1, 2, 4, 8, 16, 50],
          1e-9,
        ).value;
      expect(moment(1)).toBeCloseTo(0, 6);
      expect(moment(2)).toBeCloseTo(1, 6);
      expect(moment(3)).toBeCloseTo(skewness, 3);
    }
  });
});

describe('quadrature', () => {
  test('Gauss-Legendre is exact for polynomials below twice its points', () => {
    const { nodes, weights } = gaussLegendre(7);
    for (let power = 0; power < 14; power++) {
      const sum = nodes.reduce((total, x, i) => total + (weights[i] ?? 0) * x ** power, 0);
      expect(sum).toBeCloseTo(power % 2 === 0 ? 2 / (power + 1) : 0, 14);
    }
  });

  test.each([
    [0.5, 0.5],
    [2, 7],
    [30, 50],
  ])('Gauss-Jacobi gives the moments of the beta (%d, %d)', (a, b) => {
    const { nodes, weights } = gaussJacobi(24, a, b);
    let expected = 1;
    for (let power = 0; power < 8; power++) {
      const sum = nodes.reduce((total, x, i) => total + (weights[i] ?? 0) * x ** power, 0);
      expect(relative(sum, expected)).toBeLessThan(1e-13);
      expected *= (a + power) / (a + b + power);
    }
  });

  test('adaptive: a sharp peak, a kink, and the error that it states', () => {
    const peak = integrate((x) => Math.exp(-(((x - 0.3) / 0.001) ** 2)), 0, 1);
    expect(relative(peak.value, 0.001 * Math.sqrt(Math.PI))).toBeLessThan(1e-12);
    const kink = integrate((x) => Math.abs(x - 1 / 3), 0, 1, [1 / 3]);
    expect(relative(kink.value, 5 / 18)).toBeLessThan(1e-15);
    expect(kink.error).toBeLessThan(1e-13);
  });
});

describe('roots', () => {
  test('Brent: cubic, and no change of sign', () => {
    expect(brentRoot((x) => x ** 3 - 2, 0, 2)).toBeCloseTo(2 ** (1 / 3), 15);
    expect(brentRoot((x) => x * x + 1, -1, 1)).toBeNaN();
  });

  test('Newton stays in its bracket where the plain step would leave it', () => {
    let steps = 0;
    const root = newtonInBracket(
      (x) => {
        steps += 1;
        return [Math.atan(x - 5), 1 / (1 + (x - 5) ** 2)];
      },
      -100,
      100,
      -60,
    );
    expect(root).toBeCloseTo(5, 12);
    expect(steps).toBeLessThan(20);
  });
});

describe('linear algebra', () => {
  test('solves a system that needs pivoting; refuses a singular one', () => {
    const x = solveLinear(
      [
        [0, 2, 1],
        [1, 1e-20, 3],
        [2, 1, 0],
      ],
      [7, 10, 4],
    );
    expect(x?.[0]).toBeCloseTo(1, 14);
    expect(x?.[1]).toBeCloseTo(2, 14);
    expect(x?.[2]).toBeCloseTo(3, 14);
    expect(
      solveLinear(
        [
          [1, 2],
          [2, 4],
        ],
        [1, 2],
      ),
    ).toBeUndefined();
  });

  test('Cholesky of a semidefinite matrix, and what is not', () => {
    const full = [
      [1, 1, 0.5],
      [1, 1, 0.5],
      [0.5, 0.5, 1],
    ];
    const factor = choleskySemidefinite(full);
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 3; j++) {
        const product = [0, 1, 2].reduce(
          (sum, k) => sum + (factor?.[i]?.[k] ?? 0) * (factor?.[j]?.[k] ?? 0),
          0,
        );
        expect(product).toBeCloseTo(full[i]?.[j] ?? 0, 12);
      }
    }
    expect(
      isPositiveSemidefinite([
        [1, 0.9, 0],
        [0.9, 1, 0.9],
        [0, 0.9, 1],
      ]),
    ).toBe(false);
  });
});

describe('sums and transforms', () => {
  test('a sum that plain addition loses', () => {
    expect(compensatedSum([1e16, 1, -1e16, 1])).toBe(2);
  });

  test('the transform and its inverse; size must be a power of two', () => {
    const re = Float64Array.from({ length: 64 }, (_, i) => Math.sin(i * i));
    const im = Float64Array.from({ length: 64 }, (_, i) => Math.cos(3 * i));
    const re0 = re.slice();
    const im0 = im.slice();
    const twiddles = twiddlesFor(64);
    fftInPlace(re, im, twiddles);
    // one bin by the definition
    let a = 0;
    let b = 0;
    for (let j = 0; j < 64; j++) {
      const angle = (-2 * Math.PI * 5 * j) / 64;
      a += (re0[j] ?? 0) * Math.cos(angle) - (im0[j] ?? 0) * Math.sin(angle);
      b += (re0[j] ?? 0) * Math.sin(angle) + (im0[j] ?? 0) * Math.cos(angle);
    }
    expect(re[5]).toBeCloseTo(a, 12);
    expect(im[5]).toBeCloseTo(b, 12);
    fftInPlace(re, im, twiddles, true);
    re.forEach((value, i) => {
      expect(value).toBeCloseTo(re0[i] ?? 0, 13);
      expect(im[i]).toBeCloseTo(im0[i] ?? 0, 13);
    });
    expect(() => twiddlesFor(48)).toThrow(RangeError);
  });

  test('convolution of two dice', () => {
    const die = new Float64Array(6).fill(1 / 6);
    const sum = convolve(die, die);
    expect(sum).toHaveLength(11);
    expect(sum[5]).toBeCloseTo(6 / 36, 15);
    expect(sum[10]).toBeCloseTo(1 / 36, 15);
  });
});
