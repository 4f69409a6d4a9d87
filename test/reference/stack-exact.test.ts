import { type Contributor, chainDistribution, type SumDistribution, stackUp } from '@offplate/core';
import { describe, expect, test } from 'vitest';

const ofChain = (contributors: readonly Contributor[]): SumDistribution => {
  const distribution = chainDistribution({ contributors });
  if ('reason' in distribution) throw new Error(distribution.reason);
  return distribution;
};
const relative = (value: number, expected: number): number => Math.abs(value / expected - 1);

const normal = (id: string): Contributor => ({
  id,
  nominal: 0,
  distribution: { kind: 'normal', sigma: 1 },
});
const uniform = (id: string, sd: number): Contributor => ({
  id,
  nominal: 0,
  plus: sd * Math.sqrt(3),
  minus: sd * Math.sqrt(3),
  distribution: { kind: 'uniform' },
});

describe('C1 additive model, JCGM 101:2008 clause 9.2 (memory, recomputed)', () => {
  const four = (make: (id: string, i: number) => Contributor): readonly Contributor[] =>
    ['X1', 'X2', 'X3', 'X4'].map(make);

  test('9.2.2 four normals: u 2, interval ± 3.919928', () => {
    const result = ofChain(four(normal));
    expect(result.moments.sd).toBeCloseTo(2, 14);
    expect(result.quantile(0.975)).toBeCloseTo(3.919928, 6);
    expect(result.quantile(0.025)).toBeCloseTo(-3.919928, 6);
  });

  test('9.2.3 four uniforms: exact interval ± 2 sqrt(3) (2 - (3/5)^(1/4)) = 3.879407', () => {
    const result = ofChain(four((id) => uniform(id, 1)));
    expect(result.moments.sd).toBeCloseTo(2, 14);
    const exact = 2 * Math.sqrt(3) * (2 - 0.6 ** 0.25);
    expect(exact).toBeCloseTo(3.879407, 6);
    expect(relative(result.quantile(0.975), exact)).toBeLessThan(1e-13);
    const rss = stackUp({ contributors: four((id) => uniform(id, 1)), coverage: 0.95 });
    expect(rss.inflatedRss.upper).toBeCloseTo(3.92, 2);
  });

  test('9.2.4 one uniform ten times as wide: u sqrt(103), 97.5 % point 17.015814', () => {
    const result = ofChain(four((id, i) => uniform(id, i === 3 ? 10 : 1)));
    expect(result.moments.sd).toBeCloseTo(10.148892, 6);
    expect(result.quantile(0.975)).toBeCloseTo(17.015814, 6);
    expect(1.959963984540054 * result.moments.sd).toBeCloseTo(19.891462, 6);
  });
});

describe('closed forms at the 1e-6 tail and below, to 1e-10 relative', () => {
  // Irwin-Hall: P(S > n - t) = t^n / n! for t < 1 (P. Hall, Biometrika 19 (1927) 240)
  test.each([2, 3, 4, 5, 6, 7, 8, 9, 10])('sum of %d uniforms on 0 to 1', (n) => {
    const distribution = ofChain(
      Array.from({ length: n }, (_, i) => ({
        id: `x${i}`,
        nominal: 0.5,
        lower: 0,
        upper: 1,
        distribution: { kind: 'uniform' as const },
      })),
    );
    let factorial = 1;
    for (let k = 2; k <= n; k++) factorial *= k;
    for (const tail of [1e-6, 1e-9, 1e-12]) {
      const t = Math.min(0.999, (tail * factorial) ** (1 / n));
      const x = n - t;
      const exact = (n - x) ** n / factorial;
      expect(relative(distribution.upperTail(x).tail, exact)).toBeLessThan(1e-10);
      expect(relative(distribution.lowerTail(t).tail, t ** n / factorial)).toBeLessThan(1e-10);
    }
  });

  // the contour integral, not the closed form: a normal so small that it does not count
  test('nine uniforms through the contour integral', () => {
    const n = 9;
    const distribution = ofChain(
      Array.from({ length: n }, (_, i) => ({
        id: `x${i}`,
        nominal: 0.5,
        lower: 0,
        upper: 1,
        distribution: { kind: 'uniform' as const },
      })),
    );
    expect(distribution.by).toBe('contour integral through the saddle point');
    // 362880 = 9!, all corners with a positive rest
    const irwinHall = (x: number): number => {
      let sum = 0;
      let choose = 1;
      for (let k = 0; k < x; k++) {
        sum += choose * (x - k) ** n;
        choose *= -(n - k) / (k + 1);
      }
      return sum / 362880;
    };
    for (const x of [0.3, 0.8, 1.4, 2.2, 3.1, 4.4]) {
      expect(relative(distribution.lowerTail(x).tail, irwinHall(x))).toBeLessThan(1e-12);
    }
  });

  // E Phi((v - x)/s) over a uniform v, integrated by parts
  test.each([0.01, 0.1, 0.5, 2])('uniform on ± 1 and normal of sigma %d', (sigma) => {
    const distribution = ofChain([
      { id: 'u', nominal: 0, plus: 1, minus: 1, distribution: { kind: 'uniform' } },
      { id: 'n', nominal: 0, distribution: { kind: 'normal', sigma } },
    ]);
    const { upperTail } = ofChain([
      { id: 'n', nominal: 0, distribution: { kind: 'normal', sigma: 1 } },
    ]);
    const pdf = (z: number): number => Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
    const integral = (z: number): number => pdf(z) - z * upperTail(z).tail;
    for (const z of [-2, 0, 1, 2]) {
      const x = 1 + z * sigma;
      const a = (x - 1) / sigma;
      const b = (x + 1) / sigma;
      const exact = (sigma / 2) * (integral(a) - integral(b));
      expect(relative(distribution.upperTail(x).tail, exact)).toBeLessThan(1e-10);
    }
  });

  test('any number of normals is the normal, correlated ones too', () => {
    const result = chainDistribution({
      contributors: [normal('a'), normal('b'), { ...normal('c'), coefficient: -1 }],
      correlation: [
        [1, 0.5, 0.2],
        [0.5, 1, 0],
        [0.2, 0, 1],
      ],
    });
    if ('reason' in result) throw new Error(result.reason);
    const sd = Math.sqrt(3 + 2 * 0.5 - 2 * 0.2);
    expect(result.moments.sd).toBeCloseTo(sd, 14);
    // Phi(-4.753424308822899) = 1e-6
    expect(relative(result.upperTail(4.753424308822899 * sd).tail, 1e-6)).toBeLessThan(1e-12);
    // Phi(-9.26234008979841) = 1e-20
    expect(relative(result.upperTail(9.26234008979841 * sd).tail, 1e-20)).toBeLessThan(1e-12);
  });

  test('two arcsines on ± 1 and ± 0.4 (recomputed by 30-digit quadrature)', () => {
    const distribution = ofChain([
      { id: 'a', nominal: 0, plus: 1, minus: 1, distribution: { kind: 'arcsine' } },
      { id: 'b', nominal: 0, plus: 0.4, minus: 0.4, distribution: { kind: 'arcsine' } },
    ]);
    for (const [x, exact] of [
      [0.3, 0.398007304798332],
      [0.7, 0.218851777056564],
      [1.2, 0.0527407574841205],
      [1.39, 0.00252198851793329],
    ] as const) {
      expect(relative(distribution.upperTail(x).tail, exact)).toBeLessThan(1e-12);
    }
  });

  test('a single beta: B(3, 1) is the largest of three uniforms', () => {
    const [only] = [
      ofChain([
        {
          id: 'x',
          nominal: 0,
          lower: 0,
          upper: 1,
          distribution: { kind: 'beta', alpha: 3, beta: 1 },
        },
      ]),
    ];
    expect(only?.lowerTail(0.01).tail).toBeCloseTo(1e-6, 20);
    expect(only?.upperTail(0.9).tail).toBeCloseTo(1 - 0.729, 14);
  });
});
