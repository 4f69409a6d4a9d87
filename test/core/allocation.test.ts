import {
  allocateLeastCost,
  allocatePrecisionFactor,
  allocateProportional,
  type CostedAllocation,
  type InfeasibleAllocation,
  InputError,
  selectProcesses,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

const problemsOf = (act: () => unknown): readonly string[] => {
  try {
    act();
  } catch (error) {
    if (error instanceof InputError)
      return error.problems.map(({ code, place }) => `${code} ${place.path}`);
    throw error;
  }
  throw new Error('no problem found');
};
const solved = (result: CostedAllocation | InfeasibleAllocation): CostedAllocation => {
  if (!result.feasible) throw new Error('infeasible');
  return result;
};
const hyperbola = (id: string, scale = 1) => ({ id, cost: { scale, power: 1 } });

describe('least cost with bounds', () => {
  test('a bound that is hit leaves the rest of the limit to the others', () => {
    // free: T = 0.1, 0.2 (B = 1, 4, k = 1); with b at most 0.15, a takes 0.15
    const chains = [{ id: 'gap', limit: 0.3 }];
    const free = solved(
      allocateLeastCost({ contributors: [hyperbola('a'), hyperbola('b', 4)], chains }),
    );
    expect(free.tolerances.map(({ tolerance }) => tolerance)).toEqual([
      expect.closeTo(0.1, 12),
      expect.closeTo(0.2, 12),
    ]);
    // multiplier = B / T^2 = 100 for both
    expect(free.chains[0]?.multiplier).toBeCloseTo(100, 9);
    expect(free.chains[0]?.savingPerUnit).toBeCloseTo(100, 9);
    const bounded = solved(
      allocateLeastCost({
        contributors: [hyperbola('a'), { ...hyperbola('b', 4), upper: 0.15 }],
        chains,
      }),
    );
    expect(bounded.tolerances).toEqual([
      {
        id: 'a',
        tolerance: expect.closeTo(0.15, 12),
        cost: expect.closeTo(1 / 0.15, 9),
        at: 'between',
      },
      { id: 'b', tolerance: 0.15, cost: expect.closeTo(4 / 0.15, 9), at: 'upper' },
    ]);
    const low = solved(
      allocateLeastCost({
        contributors: [{ ...hyperbola('a'), lower: 0.12 }, hyperbola('b', 4)],
        chains,
      }),
    );
    expect(low.tolerances.map(({ at, tolerance }) => [at, tolerance])).toEqual([
      ['lower', 0.12],
      ['between', expect.closeTo(0.18, 12)],
    ]);
  });

  test('a limit that the lower bounds just fill is feasible', () => {
    const contributors = ['a', 'b', 'c'].map((id) => ({ ...hyperbola(id), lower: 0.1, upper: 1 }));
    const result = solved(
      allocateLeastCost({
        contributors,
        chains: [
          { id: 'all', limit: 0.3 },
          { id: 'two', limit: 0.2, terms: [{ contributor: 'a' }, { contributor: 'b' }] },
        ],
      }),
    );
    expect(result.cost).toBeCloseTo(30, 9);
    expect(result.certificate.gap).toBeLessThan(1e-12);
    expect(result.certificate.kktResidual).toBeLessThan(1e-12);
  });

  test('the limit is never used up when the upper bounds do not reach it', () => {
    const result = solved(
      allocateLeastCost({
        contributors: ['a', 'b'].map((id) => ({ ...hyperbola(id), upper: 0.1 })),
        chains: [{ id: 'gap', limit: 0.3 }],
      }),
    );
    expect(result.certificate).toMatchObject({ method: 'bounds', gap: 0, steps: 0 });
    expect(result.chains[0]).toMatchObject({
      tight: false,
      multiplier: 0,
      slack: expect.closeTo(0.1, 12),
    });
  });

  test('inflation and sensitivities: 1.5 sqrt((2 a)^2 + b^2) <= 0.3', () => {
    const result = solved(
      allocateLeastCost({
        contributors: [hyperbola('a'), hyperbola('b')],
        chains: [
          {
            id: 'gap',
            limit: 0.3,
            rule: 'rss',
            inflation: 1.5,
            terms: [{ contributor: 'a', sensitivity: -2 }, { contributor: 'b' }],
          },
        ],
      }),
    );
    const [a = 0, b = 0] = result.tolerances.map(({ tolerance }) => tolerance);
    expect(1.5 * Math.hypot(2 * a, b)).toBeCloseTo(0.3, 12);
    // stationary: 1 / (4 a^3) = 1 / b^3
    expect(b / a).toBeCloseTo(4 ** (1 / 3), 10);
    expect(result.chains[0]?.used).toBeCloseTo(0.3, 12);
  });
});

describe('several chains that share contributors', () => {
  test('two chains over one link, solved by hand', () => {
    // a + b <= 0.2, a + c <= 0.4, cost 1/T each: 1/a^2 = 1/b^2 + 1/c^2, b = 0.2 - a, c = 0.4 - a
    const result = solved(
      allocateLeastCost({
        contributors: ['a', 'b', 'c'].map((id) => hyperbola(id)),
        chains: [
          { id: 'ab', limit: 0.2, terms: [{ contributor: 'a' }, { contributor: 'b' }] },
          { id: 'ac', limit: 0.4, terms: [{ contributor: 'a' }, { contributor: 'c' }] },
        ],
      }),
    );
    let [low, high] = [0.01, 0.19];
    for (let step = 0; step < 100; step++) {
      const a = (low + high) / 2;
      if (1 / a ** 2 > 1 / (0.2 - a) ** 2 + 1 / (0.4 - a) ** 2) low = a;
      else high = a;
    }
    expect(result.tolerances[0]?.tolerance).toBeCloseTo(low, 12);
    expect(result.certificate.method).toBe('newton');
    expect(result.certificate.gap).toBeLessThan(1e-13);
    expect(result.chains.map(({ multiplier }) => multiplier)).toEqual([
      expect.closeTo(1 / (0.2 - low) ** 2, 6),
      expect.closeTo(1 / (0.4 - low) ** 2, 6),
    ]);
  });

  test('chains that repeat each other do not disturb', () => {
    const contributors = [hyperbola('a'), hyperbola('b', 4)];
    const once = solved(allocateLeastCost({ contributors, chains: [{ id: '1', limit: 0.3 }] }));
    const many = solved(
      allocateLeastCost({
        contributors,
        chains: [
          { id: '1', limit: 0.3 },
          { id: '2', limit: 0.3 },
          { id: '3', limit: 0.3 * (1 + 1e-9) },
          { id: '4', limit: 0.3, rule: 'rss' },
        ],
      }),
    );
    expect(many.cost).toBeCloseTo(once.cost, 8);
    expect(many.certificate.gap).toBeLessThan(1e-12);
  });
});

describe('impossible limits', () => {
  test('every chain that is too narrow is named, worst first, with the shares', () => {
    const result = allocateLeastCost({
      contributors: [
        { id: 'bought', tolerance: 0.3 },
        { ...hyperbola('turned'), lower: 0.1 },
        { ...hyperbola('ground'), lower: 0.01 },
      ],
      chains: [
        { id: 'wide', limit: 1 },
        {
          id: 'narrow',
          limit: 0.35,
          terms: [{ contributor: 'bought' }, { contributor: 'turned' }],
        },
        { id: 'root', limit: 0.2, rule: 'rss' },
      ],
    });
    expect(result).toEqual({
      feasible: false,
      impossible: [
        {
          id: 'root',
          rule: 'rss',
          limit: 0.2,
          least: expect.closeTo(Math.sqrt(0.1001), 12),
          excess: expect.closeTo(Math.sqrt(0.1001) - 0.2, 12),
          contributors: [
            { id: 'bought', tolerance: 0.3, sharePercent: expect.closeTo(9 / 0.1001, 9) },
            { id: 'turned', tolerance: 0.1, sharePercent: expect.closeTo(1 / 0.1001, 9) },
            { id: 'ground', tolerance: 0.01, sharePercent: expect.closeTo(0.01 / 0.1001, 9) },
          ],
        },
        {
          id: 'narrow',
          rule: 'worst-case',
          limit: 0.35,
          least: expect.closeTo(0.4, 12),
          excess: expect.closeTo(0.05, 12),
          contributors: [
            { id: 'bought', tolerance: 0.3, sharePercent: expect.closeTo(75, 9) },
            { id: 'turned', tolerance: 0.1, sharePercent: expect.closeTo(25, 9) },
          ],
        },
      ],
    });
  });

  test('scaling and process choice say the same', () => {
    const chains = [{ id: 'gap', limit: 0.1 }];
    const scaled = allocateProportional({
      contributors: [{ id: 'a', tolerance: 0.2, fixed: true }],
      chains,
    });
    const chosen = selectProcesses({
      contributors: [{ id: 'a', processes: [{ id: 'p', cost: 1, tolerance: 0.2 }] }],
      chains,
    });
    for (const result of [scaled, chosen])
      expect(result).toMatchObject({ feasible: false, impossible: [{ id: 'gap', least: 0.2 }] });
  });
});

describe('scaling with bounds and several chains', () => {
  test('contributors at bounds stop, the others go on', () => {
    const result = allocateProportional({
      contributors: [
        { id: 'a', tolerance: 0.1, upper: 0.12 },
        { id: 'b', tolerance: 0.1, lower: 0.25 },
        { id: 'c', tolerance: 0.1 },
      ],
      chains: [{ id: 'gap', limit: 0.6 }],
    });
    if (!result.feasible) throw new Error('infeasible');
    expect(result.factor).toBeCloseTo(2.3, 12);
    expect(result.tolerances).toEqual([
      { id: 'a', tolerance: 0.12, stoppedBy: 'upper' },
      { id: 'b', tolerance: 0.25, stoppedBy: 'lower' },
      { id: 'c', tolerance: expect.closeTo(0.23, 12), stoppedBy: 'chain' },
    ]);
  });

  test('a used-up chain stops its own contributors only', () => {
    const result = allocatePrecisionFactor({
      contributors: [
        { id: 'a', size: 8 },
        { id: 'b', size: 8 },
        { id: 'c', size: 27 },
      ],
      chains: [
        { id: 'ab', limit: 0.04, terms: [{ contributor: 'a' }, { contributor: 'b' }] },
        { id: 'bc', limit: 0.2, terms: [{ contributor: 'b' }, { contributor: 'c' }] },
      ],
    });
    if (!result.feasible) throw new Error('infeasible');
    expect(result.factor).toBeCloseTo(0.01, 12);
    expect(result.tolerances.map(({ tolerance }) => tolerance)).toEqual([
      expect.closeTo(0.02, 12),
      expect.closeTo(0.02, 12),
      expect.closeTo(0.18, 12),
    ]);
    expect(result.chains.map(({ tight }) => tight)).toEqual([true, true]);
  });

  test('without a limit in reach everything goes to its upper bound', () => {
    const result = allocateProportional({
      contributors: [{ id: 'a', tolerance: 0.1, upper: 0.3 }],
      chains: [{ id: 'gap', limit: 1 }],
    });
    expect(result).toMatchObject({
      feasible: true,
      factor: expect.closeTo(3, 12),
      tolerances: [{ id: 'a', tolerance: 0.3, stoppedBy: 'upper' }],
    });
  });
});

describe('choice of processes', () => {
  test('curves without a range, fixed links and grades mix', () => {
    const input = {
      contributors: [
        { id: 'bought', tolerance: 0.02 },
        hyperbola('free'),
        {
          id: 'chosen',
          processes: [
            { id: 'coarse', cost: 0, tolerance: 0.2 },
            { id: 'fine', cost: 3, tolerance: 0.05 },
            { id: 'tuned', cost: { fixed: 1, scale: 0.1, power: 1 } },
          ],
        },
      ],
      chains: [{ id: 'gap', limit: 0.3 }],
    };
    const result = selectProcesses(input);
    if (!result.feasible) throw new Error('infeasible');
    // tuned: 1 + 0.1/t + 1/(0.28 - t); fine: 3 + 1/0.23 = 7.348; coarse: 1/0.08 = 12.5
    const t = 0.28 * (Math.sqrt(0.1) / (1 + Math.sqrt(0.1)));
    expect(result.tolerances[2]).toMatchObject({
      process: 'tuned',
      tolerance: expect.closeTo(t, 9),
    });
    expect(result.cost).toBeCloseTo(1 + 0.1 / t + 1 / (0.28 - t), 9);
    expect(result.tolerances[0]).toEqual({ id: 'bought', tolerance: 0.02, cost: 0, at: 'fixed' });
    expect(result.tolerances[1]).not.toHaveProperty('process');
  });

  test('the node limit gives the best found with an honest bound', () => {
    const contributors = Array.from({ length: 16 }, (_v, index) => ({
      id: `link ${index}`,
      processes: Array.from({ length: 5 }, (_w, grade) => ({
        id: `grade ${grade}`,
        tolerance: 0.01 * 1.7 ** grade * (1 + ((index * 7 + grade * 3) % 10) / 40),
        cost: 20 / 1.5 ** grade + ((index * 5 + grade * 11) % 13) / 10,
      })),
    }));
    const chains = [
      { id: 'all', limit: 0.6 },
      {
        id: 'odd',
        limit: 0.12,
        rule: 'rss' as const,
        terms: contributors
          .filter((_one, index) => index % 2 === 1)
          .map(({ id }) => ({ contributor: id })),
      },
    ];
    const whole = selectProcesses({ contributors, chains });
    const cut = selectProcesses({ contributors, chains }, { nodeLimit: 1 });
    if (!whole.feasible || !cut.feasible) throw new Error('infeasible');
    expect(whole.status).toBe('optimal');
    expect(cut.status).toBe('feasible');
    expect(cut.cost).toBeGreaterThanOrEqual(whole.cost);
    expect(cut.certificate.lowerBound).toBeLessThanOrEqual(whole.cost);
    expect(cut.certificate.lowerBound).toBeGreaterThan(0.9 * whole.cost);
    expect(cut.certificate.gap).toBeGreaterThan(0);
  });

  test('of equal costs the choice does not depend on the order of the input', () => {
    const processes = ['x', 'y', 'z'].map((id) => ({ id, cost: 1, tolerance: 0.1 }));
    const chains = [{ id: 'gap', limit: 1 }];
    for (const order of [processes, [...processes].reverse()]) {
      const result = selectProcesses({ contributors: [{ id: 'a', processes: order }], chains });
      if (!result.feasible) throw new Error('infeasible');
      expect(result.tolerances[0]?.process).toBe('x');
    }
  });
});

describe('every problem of an input at once', () => {
  const chains = [
    {
      id: 'gap',
      limit: 0,
      inflation: -1,
      terms: [{ contributor: 'x' }, { contributor: 'a' }, { contributor: 'a', sensitivity: 1e-30 }],
    },
    { id: 'gap', limit: 1, terms: [{ contributor: 'a' }] },
  ];
  const chainProblems = [
    'duplicate-id chains[1].id',
    'out-of-range chains[0].limit',
    'out-of-range chains[0].inflation',
    'unknown-id chains[0].terms[0].contributor',
    'duplicate-id chains[0].terms[2].contributor',
    'out-of-range chains[0].terms[2].sensitivity',
  ];

  test('least cost', () => {
    expect(
      problemsOf(() =>
        allocateLeastCost({
          contributors: [
            { id: 'a', cost: { fixed: Number.NaN, scale: 0, power: 50 }, lower: 2, upper: 1 },
            { id: 'a', tolerance: -1 },
            hyperbola('b'),
          ],
          chains,
        }),
      ),
    ).toEqual([
      'duplicate-id contributors[1].id',
      ...chainProblems,
      'out-of-range contributors[0].cost.fixed',
      'out-of-range contributors[0].cost.scale',
      'out-of-range contributors[0].cost.power',
      'inconsistent contributors[0]',
      'out-of-range contributors[1].tolerance',
      'inconsistent contributors[2]',
    ]);
  });

  test('scaling', () => {
    expect(
      problemsOf(() =>
        allocateProportional({
          contributors: [
            { id: 'a', tolerance: Number.POSITIVE_INFINITY },
            { id: 'b', tolerance: 1 },
          ],
          chains,
        }),
      ),
    ).toEqual([
      ...chainProblems,
      'out-of-range contributors[0].tolerance',
      'inconsistent contributors[1]',
    ]);
    expect(
      problemsOf(() => allocatePrecisionFactor({ contributors: [{ id: 'a', size: 0 }], chains })),
    ).toEqual([...chainProblems, 'out-of-range contributors[0].size']);
    expect(problemsOf(() => allocateProportional({ contributors: [], chains: [] }))).toEqual([
      'missing-field contributors',
      'missing-field chains',
    ]);
  });

  test('processes', () => {
    expect(
      problemsOf(() =>
        selectProcesses({
          contributors: [
            { id: 'a', processes: [] },
            {
              id: 'b',
              processes: [
                { id: 'p', cost: Number.NaN, tolerance: 0 },
                { id: 'p', cost: { scale: 1, power: 1 }, lower: 1, upper: 0.5 },
              ],
            },
          ],
          chains: [{ id: 'gap', limit: 1 }],
        }),
      ),
    ).toEqual([
      'missing-field contributors[0].processes',
      'duplicate-id contributors[1].processes[1].id',
      'out-of-range contributors[1].processes[0].tolerance',
      'out-of-range contributors[1].processes[0].cost',
      'inconsistent contributors[1].processes[1]',
    ]);
  });
});
