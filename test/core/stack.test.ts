import {
  chainDistribution,
  InputError,
  type Problem,
  resolveStack,
  type StackInput,
  sampleStack,
  stackUp,
  treeFunction,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

const problemsOf = (input: StackInput): readonly Problem[] => {
  try {
    stackUp(input);
  } catch (error) {
    if (error instanceof InputError) return error.problems;
    throw error;
  }
  throw new Error('nothing was refused');
};

const chainOf = (input: StackInput) => {
  const distribution = chainDistribution(input);
  if ('reason' in distribution) throw new Error(distribution.reason);
  return distribution;
};

describe('what is refused', () => {
  test('all problems at once, each with its place', () => {
    const problems = problemsOf({
      requirement: { lower: 2, upper: 1 },
      coverage: 1,
      contributors: [
        { id: 'a', nominal: 1, lower: 2, upper: 1 },
        { id: 'a', nominal: Number.NaN, plus: 1, minus: 1 },
        { id: 'b', nominal: 1, plus: 1 },
        { id: 'c', nominal: 1, plus: 1, minus: 1, lower: 0, upper: 2 },
        { id: 'd', nominal: 1, distribution: { kind: 'uniform' } },
        { id: 'e', nominal: 1, plus: 1, minus: 1, distribution: { kind: 'triangular', mode: 3 } },
        { id: 'f', nominal: 1, plus: 1, minus: 1, meanShift: 1.5 },
      ],
    });
    expect(problems.map(({ code, place }) => `${code} ${place.path}`)).toEqual([
      'inconsistent contributors[0].upper',
      'wrong-type contributors[1].nominal',
      'duplicate-id contributors[1].id',
      'missing-field contributors[2].minus',
      'inconsistent contributors[3].plus',
      'missing-field contributors[4].lower',
      'out-of-range contributors[5].distribution.mode',
      'out-of-range contributors[6].meanShift',
      'inconsistent requirement',
      'out-of-range coverage',
    ]);
  });

  test.each([
    ['sigma and cp', { kind: 'normal', sigma: 1, cp: 1 }, 'distribution.cp'],
    ['cpk above cp', { kind: 'normal', cp: 1, cpk: 1.2 }, 'distribution.cpk'],
    ['sigma 0', { kind: 'normal', sigma: 0 }, 'distribution.sigma'],
    [
      'a top wider than the base',
      { kind: 'trapezoidal', topFraction: 2 },
      'distribution.topFraction',
    ],
    ['beta 0', { kind: 'beta', alpha: 1, beta: 0 }, 'distribution.beta'],
    [
      'two degrees of freedom',
      { kind: 'student-t', sigma: 1, degreesOfFreedom: 2 },
      'distribution.degreesOfFreedom',
    ],
    ['an empty sample', { kind: 'empirical', values: [] }, 'distribution.values'],
  ] as const)('%s', (_, distribution, path) => {
    const problems = problemsOf({
      contributors: [{ id: 'a', nominal: 0, plus: 1, minus: 1, distribution }],
    });
    expect(problems.map(({ place }) => place.path)).toEqual([`contributors[0].${path}`]);
  });

  test.each([
    ['size', [[1]]],
    [
      'symmetry',
      [
        [1, 0.5],
        [0.4, 1],
      ],
    ],
    [
      'diagonal',
      [
        [1, 0],
        [0, 2],
      ],
    ],
    [
      'range',
      [
        [1, 1.5],
        [1.5, 1],
      ],
    ],
  ])('a correlation matrix of wrong %s', (_, correlation) => {
    const contributors = ['a', 'b'].map((id) => ({ id, nominal: 0, plus: 1, minus: 1 }));
    const paths = problemsOf({ contributors, correlation }).map(({ place }) => place.path ?? '');
    expect(paths.length).toBeGreaterThan(0);
    for (const path of paths) expect(path).toMatch(/^correlation/);
  });

  test('correlations that no variables can have', () => {
    const contributors = ['a', 'b', 'c'].map((id) => ({ id, nominal: 0, plus: 1, minus: 1 }));
    const correlation = [
      [1, 0.9, 0],
      [0.9, 1, 0.9],
      [0, 0.9, 1],
    ];
    expect(() => stackUp({ contributors, correlation })).toThrow(/positive semidefinite/);
  });

  test('no contributors', () => {
    expect(() => stackUp({ contributors: [] })).toThrow(/needs contributors/);
  });
});

describe('contributors', () => {
  test('deviations keep their half width exactly', () => {
    const [link] = resolveStack({
      contributors: [{ id: 'a', nominal: 8, plus: 0.008, minus: 0.008 }],
    }).contributors;
    expect(link?.halfWidth).toBe(0.008);
    expect(link?.middle).toBe(8);
  });

  test('missing limits: 3 sigma, or the extremes of the sample, and a note', () => {
    const { notes, worst } = stackUp({
      contributors: [
        { id: 'a', nominal: 10, distribution: { kind: 'normal', sigma: 0.1 } },
        { id: 'b', nominal: 5, distribution: { kind: 'empirical', values: [5.1, 4.9, 5] } },
      ],
    });
    expect(worst.lower).toBeCloseTo(14.6, 12);
    expect(worst.upper).toBeCloseTo(15.4, 12);
    expect(notes).toEqual([
      'limits of a: nominal ± 3 sigma stand in',
      'limits of b: the extremes of its sample stand in',
    ]);
  });

  test('unequal limits: methods centre on their middle', () => {
    const result = stackUp({ contributors: [{ id: 'a', nominal: 40, plus: 0.1, minus: 0 }] });
    expect(result.nominal).toBe(40);
    expect(result.rss.mean).toBeCloseTo(40.05, 12);
    expect(result.rss.sigma).toBeCloseTo(0.05 / 3, 14);
  });

  test('a mean shift moves the exact mean, and counts as spread in the Cp/k form', () => {
    const result = stackUp({
      contributors: [{ id: 'a', nominal: 0, plus: 0.3, minus: 0.3, meanShift: 0.06 }],
    });
    expect(result.rss.mean).toBe(0);
    expect(result.moments.mean).toBeCloseTo(0.06, 14);
    expect(result.sixSigma.sigma).toBeCloseTo(0.1 / 0.8, 14);
  });

  test('a truncated normal stays within its limits when shifted, other shapes move', () => {
    const support = (kind: 'truncated-normal' | 'uniform') =>
      chainOf({
        contributors: [
          { id: 'a', nominal: 0, plus: 1, minus: 1, meanShift: 0.2, distribution: { kind } },
        ],
      }).support;
    expect(support('truncated-normal')).toEqual({ lower: -1, upper: 1 });
    expect(support('uniform')).toEqual({ lower: -0.8, upper: 1.2 });
  });

  test('a shift that takes a bounded shape over its limits is noted', () => {
    const notes = (meanShift: number) =>
      stackUp({
        contributors: [
          { id: 'a', nominal: 0, plus: 1, minus: 1, meanShift, distribution: { kind: 'uniform' } },
        ],
      }).notes;
    expect(notes(0)).toEqual([]);
    expect(notes(0.2)).toEqual([
      'a varies beyond its limits: worst case counts on parts outside being sorted out',
    ]);
  });

  test('a fixed dimension adds nothing but its value', () => {
    const result = stackUp({
      requirement: { lower: 4.9, upper: 5 },
      contributors: [{ id: 'a', nominal: 5, plus: 0, minus: 0 }],
    });
    expect(result.rss.sigma).toBe(0);
    expect(result.rss.conformity?.inLimits).toBe(1);
    expect(result.worst.holds).toBe(true);
    if ('reason' in result.exact) throw new Error(result.exact.reason);
    expect(result.exact.conformity?.inLimits).toBe(1);
    expect(result.exact.upper).toBe(5);
  });
});

describe('exact distribution', () => {
  test('samples: every combination, a value on the limit is in', () => {
    // two dice
    const die = [1, 2, 3, 4, 5, 6];
    const input: StackInput = {
      requirement: { lower: 3, upper: 10 },
      contributors: ['a', 'b'].map((id) => ({
        id,
        nominal: 3.5,
        distribution: { kind: 'empirical' as const, values: die },
      })),
    };
    const { exact } = stackUp(input);
    if ('reason' in exact) throw new Error(exact.reason);
    expect(exact.by).toBe('every combination of the samples');
    expect(exact.conformity?.inLimits).toBeCloseTo(1 - 4 / 36, 14);
    expect(chainOf(input).quantile(0.5)).toBe(7);
    expect(chainOf(input).lowerTail(3).tail).toBeCloseTo(1 / 36, 14);
  });

  test('samples too many to list go onto a grid and say how far it may be off', () => {
    const values = Array.from({ length: 101 }, (_, i) => Math.sqrt(i));
    const input: StackInput = {
      contributors: ['a', 'b', 'c', 'd'].map((id) => ({
        id,
        nominal: 7,
        distribution: { kind: 'empirical' as const, values },
      })),
    };
    const chain = chainOf(input);
    expect(chain.by).toBe('convolution on a grid');
    const { tail, error } = chain.upperTail(34);
    expect(error).toBeLessThan(0.01);
    // by pairs: P = mean over a + b of P(c + d > 34 - a - b)
    const pairs = values.flatMap((a) => values.map((b) => a + b)).sort((x, y) => x - y);
    let exact = 0;
    let j = pairs.length;
    for (const pair of pairs) {
      while (j > 0 && (pairs[j - 1] ?? 0) > 34 - pair) j -= 1;
      exact += pairs.length - j;
    }
    exact /= pairs.length ** 2;
    expect(Math.abs(tail / exact - 1)).toBeLessThan(error + 1e-12);
  });

  test('a sample among other links', () => {
    const values = [-0.2, 0, 0.1, 0.1];
    const chain = chainOf({
      contributors: [
        { id: 's', nominal: 0, distribution: { kind: 'empirical', values } },
        { id: 'u', nominal: 0, plus: 0.5, minus: 0.5, distribution: { kind: 'uniform' } },
      ],
    });
    // P(u > 0.45 - v), v each value
    const expected = (0 + 0.05 + 0.15 + 0.15) / 4;
    expect(chain.upperTail(0.45).tail).toBeCloseTo(expected, 13);
  });

  test('why there is none', () => {
    const uniform = { kind: 'uniform' as const };
    const contributors = ['a', 'b'].map((id) => ({
      id,
      nominal: 0,
      plus: 1,
      minus: 1,
      distribution: uniform,
    }));
    const correlation = [
      [1, 0.5],
      [0.5, 1],
    ];
    expect(stackUp({ contributors, correlation }).exact).toEqual({
      reason: 'correlated contributors of other than normal shape: use Monte Carlo',
    });
    const t = { kind: 'student-t' as const, sigma: 1, degreesOfFreedom: 5 };
    const mixed = [{ id: 't', nominal: 0, distribution: t }, ...contributors];
    expect(stackUp({ contributors: mixed }).exact).toHaveProperty('reason');
    expect(
      stackUp({ contributors: [{ id: 't', nominal: 0, distribution: t }] }).exact,
    ).toHaveProperty('sigma');
  });

  test('widths of very different size, where the closed form cancels', () => {
    const chain = chainOf({
      contributors: [1, 0.001, 0.001, 0.001, 0.001, 0.001].map((plus, i) => ({
        id: `x${i}`,
        nominal: 0,
        plus,
        minus: plus,
        distribution: { kind: 'uniform' as const },
      })),
    });
    // well inside, the small links average out: P(X > x) = (1 - x) / 2
    const { tail, error } = chain.upperTail(0.6);
    expect(Math.abs(tail / 0.2 - 1)).toBeLessThan(error + 1e-9);
    expect(error).toBeLessThan(1e-9);
  });

  test('against 1e6 samples of the same chain', () => {
    const input: StackInput = {
      requirement: { lower: -0.12, upper: 0.11 },
      contributors: [
        { id: 'a', nominal: 0, plus: 0.05, minus: 0.05 },
        { id: 'b', nominal: 0, plus: 0.05, minus: 0.05, distribution: { kind: 'arcsine' } },
        {
          id: 'c',
          nominal: 0,
          plus: 0.08,
          minus: 0.04,
          distribution: { kind: 'beta', alpha: 2, beta: 5 },
        },
        {
          id: 'd',
          nominal: 0,
          plus: 0.03,
          minus: 0.03,
          distribution: { kind: 'truncated-normal', cp: 0.7 },
          coefficient: -1.5,
        },
      ],
    };
    const { exact } = stackUp(input);
    if ('reason' in exact) throw new Error(exact.reason);
    const sampled = sampleStack(input);
    const p = exact.conformity?.inLimits ?? 0;
    const inside = sampled.inLimits?.value ?? 0;
    expect(Math.abs(inside - p)).toBeLessThan(4 * Math.sqrt((p * (1 - p)) / sampled.samples));
    expect(Math.abs(sampled.mean.value - exact.mean)).toBeLessThan(
      (4 * exact.sigma) / Math.sqrt(sampled.samples),
    );
  });
});

describe('against a requirement', () => {
  const contributors = [
    { id: 'wide', nominal: 10, plus: 0.3, minus: 0.3 },
    { id: 'narrow', nominal: 5, plus: 0.1, minus: 0.1, coefficient: -1 },
    { id: 'fixed', nominal: 1, plus: 0, minus: 0 },
  ];

  test('tighten the wide one first; a fixed one buys nothing', () => {
    const { tightenFirst } = stackUp({ contributors, requirement: { lower: 5.8, upper: 6.2 } });
    expect(tightenFirst.map(({ id }) => id)).toEqual(['wide', 'narrow', 'fixed']);
    const [wide, , fixed] = tightenFirst;
    // sigma^2 = 0.1^2 + 0.1^2/9 becomes 0.81 * 0.01 + 0.01/9
    expect(wide?.sigma).toBeCloseTo(Math.sqrt(0.0081 + 0.01 / 9), 14);
    expect(wide?.worstGain).toBeCloseTo(0.06, 14);
    expect(wide?.inLimitsGain).toBeGreaterThan(0.01);
    expect(fixed?.inLimitsGain).toBe(0);
    expect(fixed?.sigmaGainPercent).toBe(0);
  });

  test('one limit only: no Cp, Cpk from that side', () => {
    const { rss } = stackUp({ contributors, requirement: { upper: 6.3 } });
    expect(rss.conformity).not.toHaveProperty('cp');
    expect(rss.conformity?.cpk).toBeCloseTo(0.3 / (3 * Math.sqrt(0.01 + 0.01 / 9)), 12);
    expect(rss.conformity?.ppmBelow).toBe(0);
  });

  test('mean shifts: each side with the mean shifted towards it', () => {
    const { estimatedMeanShift } = stackUp({
      contributors: [{ id: 'a', nominal: 0, plus: 0.3, minus: 0.3, shiftFactor: 0.5 }],
      requirement: { lower: -0.3, upper: 0.3 },
    });
    // shift 0.15, sigma 0.05: 3 sigma left on the near side
    expect(estimatedMeanShift.conformity?.ppmAbove).toBeCloseTo(1349.898, 3);
    expect(estimatedMeanShift.conformity?.ppmBelow).toBeCloseTo(1349.898, 3);
    expect(estimatedMeanShift.conformity?.inLimits).toBeCloseTo(1 - 0.001349898, 9);
    expect(estimatedMeanShift.conformity?.cpk).toBeCloseTo(1, 12);
  });

  test('without a requirement there is no conformity, and tightening ranks by sigma', () => {
    const result = stackUp({ contributors });
    expect(result.rss).not.toHaveProperty('conformity');
    expect(result.worst).not.toHaveProperty('holds');
    expect(result.tightenFirst[0]?.id).toBe('wide');
    expect(result.tightenFirst[0]).not.toHaveProperty('inLimits');
  });
});

describe('a function instead of a chain', () => {
  // z = x * y
  const product = treeFunction({
    kind: 'apply',
    operation: 'multiply',
    operands: [
      { kind: 'variable', name: 'y' },
      { kind: 'variable', name: 'x' },
    ],
  });
  const input: StackInput = {
    unit: 'mm2',
    function: product,
    requirement: { lower: 5, upper: 7.1 },
    contributors: [
      { id: 'x', nominal: 2, plus: 0.3, minus: 0.3 },
      { id: 'y', nominal: 3, plus: 0.3, minus: 0.3 },
      { id: 'z', nominal: 1, plus: 0.1, minus: 0.1 },
    ],
  };

  test('worst case at its corners, sensitivities in the order of the contributors', () => {
    const result = stackUp(input);
    expect(result.nominal).toBe(6);
    expect(result.worst.lower).toBeCloseTo(1.7 * 2.7, 12);
    expect(result.worst.upper).toBeCloseTo(2.3 * 3.3, 12);
    expect(result.worst.upperAt).toEqual([2.3, 3.3, 1]);
    expect(result.contributions.map(({ sensitivity }) => sensitivity)).toEqual([3, 2, 0]);
    expect(result.rss.sigma).toBeCloseTo(0.1 * Math.sqrt(13), 12);
    // variance of a product of independent variables
    expect(result.moments.sigma).toBeCloseTo(Math.sqrt(0.01 * 13 + 0.0001), 12);
    expect(result.exact).toHaveProperty('reason');
    expect(result.notes).toEqual(['z does not occur in the function']);
    expect(result.tightenFirst.map(({ id }) => id)).toEqual(['x', 'y', 'z']);
  });

  test('a variable that is no contributor', () => {
    expect(() => stackUp({ ...input, contributors: input.contributors.slice(0, 1) })).toThrow(
      /no contributor/,
    );
  });
});
