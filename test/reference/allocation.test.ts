import {
  type AccumulationRule,
  allocateLeastCost,
  allocatePrecisionFactor,
  allocateProportional,
  type CostedAllocation,
  type InfeasibleAllocation,
  type ProcessOption,
  type ScaledAllocation,
  selectProcesses,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

function feasible<T extends { readonly feasible: true }>(result: T | InfeasibleAllocation): T {
  if (!result.feasible) throw new Error('infeasible');
  return result;
}
const tolerancesOf = (result: ScaledAllocation | CostedAllocation): Record<string, number> =>
  Object.fromEntries(result.tolerances.map(({ id, tolerance }) => [id, tolerance]));

// Shaft and housing, gap = -A + B - C + D - E + F - G, inches; clearance 0.020 ± 0.015.
const bought = [
  { id: 'A', tolerance: 0.0015 },
  { id: 'C', tolerance: 0.0025 },
  { id: 'G', tolerance: 0.0025 },
];
const made = [
  { id: 'B', size: 8, tolerance: 0.008 },
  { id: 'D', size: 0.4, tolerance: 0.002 },
  { id: 'E', size: 7.711, tolerance: 0.006 },
  { id: 'F', size: 0.4, tolerance: 0.002 },
];
const clearance = (rule: AccumulationRule) => ({ id: 'clearance', limit: 0.015, rule });

describe('seven-link shaft and housing, K. W. Chase, Tolerance Allocation Methods for Designers, Brigham Young University report 99-6, 1999 (inputs from memory)', () => {
  const scale = (rule: AccumulationRule) =>
    feasible(
      allocateProportional({
        contributors: [
          ...bought.map((one) => ({ ...one, fixed: true })),
          ...made.map(({ id, tolerance }) => ({ id, tolerance })),
        ],
        chains: [clearance(rule)],
      }),
    );

  test('proportional scaling, worst case: P = 0.47222; .00378 .00094 .00283 .00094 (published, from memory)', () => {
    const result = scale('worst-case');
    expect(result.factor).toBeCloseTo(0.472222, 6);
    const { B = 0, D = 0, E = 0, F = 0 } = tolerancesOf(result);
    expect([B, D, E, F].map((t) => t.toFixed(5))).toEqual([
      '0.00378',
      '0.00094',
      '0.00283',
      '0.00094',
    ]);
    expect(B).toBeCloseTo(0.0037778, 7);
    expect(result.chains[0]).toMatchObject({ tight: true });
  });

  test('proportional scaling, RSS: P = 1.39526; .01116 .00279 .00837 .00279 (published, from memory)', () => {
    const result = scale('rss');
    expect(result.factor).toBeCloseTo(1.3952632, 7);
    const { B = 0, D = 0, E = 0, F = 0 } = tolerancesOf(result);
    expect([B, D, E, F].map((t) => t.toFixed(5))).toEqual([
      '0.01116',
      '0.00279',
      '0.00837',
      '0.00279',
    ]);
  });

  test.each([
    ['worst-case', 0.00155985, [0.0031197, 0.00114931, 0.00308168, 0.00114931]],
    ['rss', 0.00483633, [0.00967266, 0.00356344, 0.00955476, 0.00356344]],
  ] as const)('precision factor T = P D^(1/3), %s: P = %d (derived)', (rule, factor, expected) => {
    const result = feasible(
      allocatePrecisionFactor({
        contributors: [...bought, ...made.map(({ id, size }) => ({ id, size }))],
        chains: [clearance(rule)],
      }),
    );
    expect(result.factor).toBeCloseTo(factor, 8);
    const { B, D, E, F } = tolerancesOf(result);
    [B, D, E, F].forEach((t, index) => {
      expect(t).toBeCloseTo(expected[index] ?? 0, 8);
    });
  });

  test('sums before allocation: worst case 0.0245, RSS 0.01108 (published, from memory)', () => {
    for (const [rule, used] of [
      ['worst-case', 0.0245],
      ['rss', 0.01107926],
    ] as const) {
      const contributors = [...bought, ...made].map(({ id, tolerance }) => ({
        id,
        tolerance,
        fixed: true,
      }));
      const chains = [{ id: 'clearance', limit: 1, rule }];
      const { chains: uses, factor } = feasible(allocateProportional({ contributors, chains }));
      expect(uses[0]?.used).toBeCloseTo(used, 9);
      expect(factor).toBe(1);
    }
  });
});

describe('reciprocal-power cost B/T^2, closed form by Lagrange; M. F. Spotts 1973, Chase and Greenwood 1988 (formula from memory, numbers derived)', () => {
  const solve = (rule: AccumulationRule) =>
    feasible(
      allocateLeastCost({
        contributors: [1, 2, 4].map((scale) => ({ id: `B${scale}`, cost: { scale, power: 2 } })),
        chains: [{ id: 'sum', limit: 0.1, rule }],
      }),
    );

  test.each([
    ['rss', [0.04759631, 0.05660188, 0.06731135], 1948.52814, 5],
    ['worst-case', [0.0259921, 0.032748, 0.0412599], 5694.7628, 4],
  ] as const)('%s: tolerances and cost', (rule, expected, cost, digits) => {
    const result = solve(rule);
    result.tolerances.forEach(({ tolerance }, index) => {
      expect(tolerance).toBeCloseTo(expected[index] ?? 0, rule === 'rss' ? 8 : 7);
    });
    expect(result.cost).toBeCloseTo(cost, digits);
    expect(result.certificate.method).toBe('closed-form');
    expect(result.certificate.gap).toBeLessThan(1e-14);
  });

  test('equal tolerances cost 2100 (RSS) and 6300 (worst case)', () => {
    const equal = (t: number): number => 7 / t ** 2;
    expect(equal(0.1 / Math.sqrt(3))).toBeCloseTo(2100, 9);
    expect(equal(0.1 / 3)).toBeCloseTo(6300, 9);
    expect(solve('rss').cost).toBeLessThan(2100);
    expect(solve('worst-case').cost).toBeLessThan(6300);
  });
});

describe('unequal powers on the shaft and housing, one equation in the multiplier (derived)', () => {
  const curves = { B: [0.1, 0.5], D: [0.05, 0.8], E: [0.1, 0.6], F: [0.05, 0.8] } as const;
  const solve = (rule: AccumulationRule) =>
    feasible(
      allocateLeastCost({
        contributors: [
          ...bought,
          ...Object.entries(curves).map(([id, [scale, power]]) => ({ id, cost: { scale, power } })),
        ],
        chains: [clearance(rule)],
      }),
    );

  // the worst-case equation solved in 40-digit arithmetic has the multiplier 1521.96527738
  test.each([
    ['rss', [0.0051247, 0.00832627, 0.00673306, 0.00832627], 13297.4766, 8.015681],
    ['worst-case', [0.00102575, 0.00285341, 0.00176743, 0.00285341], 1521.9652774, 18.462571],
  ] as const)('%s optimum', (rule, expected, multiplier, cost) => {
    const result = solve(rule);
    const { B, D, E, F } = tolerancesOf(result);
    [B, D, E, F].forEach((t, index) => {
      expect(t).toBeCloseTo(expected[index] ?? 0, 8);
    });
    expect(result.chains[0]?.multiplier).toBeCloseTo(multiplier, rule === 'rss' ? 4 : 5);
    expect(result.cost).toBeCloseTo(cost, 6);
    expect(result.certificate.method).toBe('one-equation');
  });

  test('cost of the starting tolerances 17.698356', () => {
    const cost = made.reduce((sum, { id, tolerance }) => {
      const [scale, power] = curves[id as keyof typeof curves];
      return sum + scale / tolerance ** power;
    }, 0);
    expect(cost).toBeCloseTo(17.698356, 6);
    expect(solve('rss').cost).toBeLessThan(cost);
  });
});

describe('joint choice of process and tolerance, idea of Chase, Greenwood, Loosli and Hauglund, Manufacturing Review 3(1) (1990) 49-59 (numbers derived)', () => {
  const range = (
    id: string,
    fixed: number,
    scale: number,
    lower: number,
    upper: number,
  ): ProcessOption => ({ id, cost: { fixed, scale, power: 1 }, lower, upper });
  const processes = {
    turn: range('turn', 2, 0.3, 0.02, 0.15),
    grind: range('grind', 6, 0.05, 0.005, 0.05),
    mill: range('mill', 3, 0.4, 0.03, 0.2),
    jig: range('jig', 9, 0.08, 0.005, 0.06),
    edm: range('edm', 4, 0.2, 0.01, 0.08),
    'as-built': range('as-built', 0, 0.5, 0.08, 0.3),
  };
  type Name = keyof typeof processes;
  const links: readonly (readonly Name[])[] = [
    ['turn', 'grind'],
    ['mill', 'jig'],
    ['edm', 'as-built'],
  ];
  const limits = { rss: 0.12, 'worst-case': 0.15 } as const;
  const solve = (rule: AccumulationRule, choice: readonly (readonly Name[])[]) =>
    feasible(
      selectProcesses({
        contributors: choice.map((names, link) => ({
          id: `link ${link + 1}`,
          processes: names.map((name) => processes[name]),
        })),
        chains: [{ id: 'sum', limit: limits[rule], rule }],
      }),
    );

  const table: readonly (readonly [
    readonly [Name, Name, Name],
    number,
    readonly number[],
    number,
    readonly number[],
  ])[] = [
    [
      ['grind', 'mill', 'as-built'],
      21.47417,
      [0.038646, 0.077292, 0.083261],
      25.719182,
      [0.018284, 0.051716, 0.08],
    ],
    [
      ['grind', 'mill', 'edm'],
      21.59215,
      [0.04376, 0.08752, 0.069465],
      24.323521,
      [0.025736, 0.072792, 0.051472],
    ],
    [
      ['turn', 'mill', 'edm'],
      21.825472,
      [0.069578, 0.07658, 0.060782],
      26.656025,
      [0.050485, 0.058295, 0.041221],
    ],
    [
      ['turn', 'mill', 'as-built'],
      22.280146,
      [0.060146, 0.0662, 0.08],
      31.147433,
      [0.032487, 0.037513, 0.08],
    ],
    [
      ['grind', 'jig', 'as-built'],
      22.732604,
      [0.045325, 0.053012, 0.097649],
      24.818126,
      [0.027639, 0.03496, 0.087401],
    ],
    [
      ['turn', 'jig', 'as-built'],
      22.839081,
      [0.071459, 0.045995, 0.084724],
      // as-built at its bound: 17.25 + (sqrt 0.3 + sqrt 0.08)^2 / 0.07 = 27.1048381
      27.104838,
      [0.046162, 0.023838, 0.08],
    ],
    [
      ['turn', 'jig', 'edm'],
      23.032661,
      [0.081322, 0.052344, 0.071041],
      25.884792,
      [0.064298, 0.033203, 0.052499],
    ],
    [
      ['grind', 'jig', 'edm'],
      23.833333,
      [0.05, 0.06, 0.08],
      25.063155,
      [0.035171, 0.044488, 0.070341],
    ],
  ];

  test.each(table)('%j', (names, rssCost, rssTolerances, worstCost, worstTolerances) => {
    for (const [rule, cost, tolerances] of [
      ['rss', rssCost, rssTolerances],
      ['worst-case', worstCost, worstTolerances],
    ] as const) {
      const result = solve(
        rule,
        names.map((name) => [name]),
      );
      expect(result.cost).toBeCloseTo(cost, 6);
      result.tolerances.forEach(({ tolerance }, index) => {
        expect(tolerance).toBeCloseTo(tolerances[index] ?? 0, 6);
      });
    }
  });

  test('all at upper bounds leaves the chain slack: grind, jig-bore, EDM under RSS', () => {
    const result = solve('rss', [['grind'], ['jig'], ['edm']]);
    expect(result.tolerances.map(({ at }) => at)).toEqual(['upper', 'upper', 'upper']);
    expect(result.chains[0]).toMatchObject({ tight: false, multiplier: 0 });
  });

  test.each([
    ['rss', ['grind', 'mill', 'as-built'], 21.47417],
    ['worst-case', ['grind', 'mill', 'edm'], 24.323521],
  ] as const)('the best of all under %s is %j, proven', (rule, names, cost) => {
    const result = solve(rule, links);
    expect(result.tolerances.map(({ process }) => process)).toEqual(names);
    expect(result.cost).toBeCloseTo(cost, 6);
    expect(result.status).toBe('optimal');
    expect(result.certificate.gap).toBeLessThan(1e-10);
  });
});
