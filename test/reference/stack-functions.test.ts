import {
  boxExtremes,
  type Contributor,
  effectiveDegreesOfFreedom,
  loopFunction,
  type MonteCarloResult,
  resolveStack,
  sampleStack,
  secondOrderMoments,
  stackUp,
  type TreeFunction,
  treeFunction,
} from '@offplate/core';
import { compileExpression, compileLoop } from '@offplate/core/expression';
import { describe, expect, test } from 'vitest';

// Worked examples B1, B2 and C2 to C5 of the project's reference. "memory": quoted from memory of
// the named source; "recomputed"/"derived": computed independently from the stated inputs.

function functionOf(text: string, variables: readonly string[]): TreeFunction {
  const compiled = compileExpression(text);
  if (!compiled.ok) throw new Error(JSON.stringify(compiled.problems));
  return treeFunction(compiled.tree, { variables, text });
}

const normalMoments = (mean: number, sd: number) => ({ mean, sd, skewness: 0, excessKurtosis: 0 });
const normal = (id: string, mean: number, sigma: number): Contributor => ({
  id,
  nominal: mean,
  distribution: { kind: 'normal', sigma },
});
const uniform = (id: string, lower: number, upper: number): Contributor => ({
  id,
  nominal: (lower + upper) / 2,
  lower,
  upper,
  distribution: { kind: 'uniform' },
});

/** Moments of the contributors' distributions, as every method takes them. */
const momentsOf = (contributors: readonly Contributor[]) =>
  resolveStack({ contributors }).contributors.map((contributor) => contributor.moments);

/** Agreement with a printed number to its last digit. */
function printed(actual: number, text: string): void {
  const decimals = text.includes('.') ? (text.split('.')[1] ?? '').replace(/e.*/, '').length : 0;
  const exponent = Number(/e(-?\d+)/.exec(text)?.[1] ?? 0);
  expect(Math.abs(actual - Number(text))).toBeLessThanOrEqual(0.5001 * 10 ** (exponent - decimals));
}

/** A value within the confidence interval of an estimate, and within 4 standard errors at the least. */
function within(estimate: { lower: number; upper: number }, value: number, slack = 0): void {
  expect(value).toBeGreaterThanOrEqual(estimate.lower - slack);
  expect(value).toBeLessThanOrEqual(estimate.upper + slack);
}

const fourSigma = 1 - 6.334e-5;

describe('B1 one-way clutch contact angle, Chase, Gao & Magleby 1995 (function and nominals from memory, outputs recomputed)', () => {
  const fn = functionOf('acos((a + c)/(e - c))/deg', ['a', 'c', 'e']);
  const nominal = [27.645, 11.43, 50.8];
  const tolerances = [0.05, 0.01, 0.0125];

  test('nominal angle, 7.0184 deg published', () => {
    printed(fn.value(nominal), '7.018390');
    printed(fn.value(nominal), '7.0184');
  });

  test('first derivatives in deg/mm and rad/mm', () => {
    const gradient = fn.gradient(nominal);
    ['-11.910473', '-23.731700', '11.821227'].forEach((text, i) => {
      printed(gradient[i] as number, text);
    });
    const radians = functionOf('acos((a + c)/(e - c))', ['a', 'c', 'e']).gradient(nominal);
    ['-0.20787696', '-0.41419630', '0.20631934'].forEach((text, i) => {
      printed(radians[i] as number, text);
    });
  });

  test('second derivatives in deg/mm^2', () => {
    const h = fn.hessian(nominal);
    // The reference's figures are central differences with a step near 0.002 mm: they leave the exact
    // ones by a relative step^2 term of 6e-5. Exact to 10 digits by 40-digit arithmetic (derived).
    const exact = [
      '-20.11132546',
      '-40.37448305',
      '20.26315760',
      '-81.04922588',
      '40.67474282',
      '-20.41158523',
    ];
    const differences = [-20.1116, -40.3759, 20.2634, -81.0539, 40.6762, -20.4119];
    const ours = [h[0], h[1], h[2], h[4], h[5], h[8]] as number[];
    exact.forEach((text, i) => {
      printed(ours[i] as number, text);
      expect(Math.abs((ours[i] as number) / (differences[i] as number) - 1)).toBeLessThan(7e-5);
    });
    expect(h[3]).toBeCloseTo(h[1] as number, 10);
  });

  test('linear worst case, RSS and variance shares', () => {
    const parts = [...fn.gradient(nominal)].map(
      (slope, i) => Math.abs(slope) * (tolerances[i] as number),
    );
    printed(
      parts.reduce((sum, part) => sum + part, 0),
      '0.980606',
    );
    const square = parts.reduce((sum, part) => sum + part * part, 0);
    printed(Math.sqrt(square), '0.657877');
    ['81.942', '13.013', '5.045'].forEach((text, i) => {
      printed((100 * (parts[i] as number) ** 2) / square, text);
    });
  });

  test('true extremes, both at corners', () => {
    const lower = nominal.map((value, i) => value - (tolerances[i] as number));
    const upper = nominal.map((value, i) => value + (tolerances[i] as number));
    const found = boxExtremes(fn, lower, upper);
    if (!found.defined) throw new Error('not defined');
    printed(found.lower.value, '5.957365');
    printed(found.upper.value, '7.938469');
    expect(found.lower.at).toEqual([upper[0], upper[1], lower[2]]);
    expect(found.upper.at).toEqual([lower[0], lower[1], upper[2]]);
    expect(found.gap).toBeLessThan(1e-11);
  });

  test('all methods side by side in one stack', () => {
    const result = stackUp({
      contributors: nominal.map((value, i) => ({
        id: fn.variables[i] as string,
        nominal: value,
        plus: tolerances[i] as number,
        minus: tolerances[i] as number,
      })),
      function: fn,
      unit: 'deg',
    });
    printed(result.nominal, '7.018390');
    printed(result.worst.lower, '5.957365');
    printed(result.worst.upper, '7.938469');
    printed((result.rss.upper - result.rss.lower) / 2, '0.657877');
    printed(result.moments.mean, '7.014969');
    printed(result.moments.sigma, '0.219346');
    ['81.942', '13.013', '5.045'].forEach((text, i) => {
      printed(result.contributions[i]?.sharePercent as number, text);
    });
  });

  test('second-order moments of the quadratic form', () => {
    const moments = secondOrderMoments(
      fn,
      nominal.map((value, i) => normalMoments(value, (tolerances[i] as number) / 3)),
    );
    printed(moments.firstOrder.sd, '0.219292');
    printed(moments.mean, '7.014969');
    printed(moments.sd, '0.219346');
    // the printed third and fourth rest on the differenced second derivatives: one unit in the last digit
    expect(Math.abs(moments.skewness - -0.09356)).toBeLessThan(1.5e-5);
    expect(Math.abs(moments.excessKurtosis - 0.01167)).toBeLessThan(1.5e-5);
  });

  test('Monte Carlo against the exact moments by quadrature and the tails', () => {
    const result = sampleStack(
      {
        contributors: nominal.map((value, i) =>
          normal(fn.variables[i] as string, value, (tolerances[i] as number) / 3),
        ),
        function: fn,
        requirement: { lower: 6.4184, upper: 7.6184 },
      },
      { samples: 4e6, confidence: fourSigma },
    );
    within(result.mean, 7.014956);
    within(result.sigma, 0.21967);
    within(result.skewness, -0.0944);
    within(result.excessKurtosis, 0.0239);
    within(result.ppmAbove as { lower: number; upper: number }, 2180, 5);
    within(result.ppmBelow as { lower: number; upper: number }, 4440, 5);
  });

  test('second set of tolerances', () => {
    const t = [0.0125, 0.01, 0.0125];
    const parts = [...fn.gradient(nominal)].map((slope, i) => Math.abs(slope) * (t[i] as number));
    printed(
      parts.reduce((sum, part) => sum + part, 0),
      '0.533963',
    );
    const square = parts.reduce((sum, part) => sum + part * part, 0);
    printed(Math.sqrt(square), '0.316733');
    ['22.095', '56.140', '21.765'].forEach((text, i) => {
      printed((100 * (parts[i] as number) ** 2) / square, text);
    });
    const found = boxExtremes(
      fn,
      nominal.map((value, i) => value - (t[i] as number)),
      nominal.map((value, i) => value + (t[i] as number)),
    );
    if (!found.defined) throw new Error('not defined');
    printed(found.lower.value, '6.462183');
    printed(found.upper.value, '7.533264');
  });
});

describe('B2 offset crank-slider (derived)', () => {
  const variables = ['r', 'l', 't', 'e'];
  const fn = functionOf('r*cos(t) + sqrt(l^2 - (r*sin(t) + e)^2)', variables);
  const nominal = [50, 150, Math.PI / 3, 0];
  const tolerances = [0.05, 0.08, (0.2 * Math.PI) / 180, 0.05];
  const lower = nominal.map((value, i) => value - (tolerances[i] as number));
  const upper = nominal.map((value, i) => value + (tolerances[i] as number));
  const loop = compileLoop({
    loops: [
      [
        { length: 'r', direction: 't' },
        { length: 'l', direction: 'rod' },
        { length: 'e', direction: '90 * deg' },
        { length: '-x', direction: 0 },
      ],
    ],
    unknowns: [
      { name: 'x', start: 170 },
      { name: 'rod', start: -0.3 },
    ],
    result: 'x',
  });
  if (!loop.ok) throw new Error(JSON.stringify(loop.problems));
  const makes = [
    ['expression', fn],
    ['closed vector loop', loopFunction(loop.system, { variables })],
  ] as const;

  for (const [name, stack] of makes) {
    test(`${name}: value, gradient, worst case, RSS, shares`, () => {
      printed(stack.value(nominal), '168.614066');
      const gradient = stack.gradient(nominal);
      ['0.238884', '1.044466', '-50.839054', '-0.301511'].forEach((text, i) => {
        printed(gradient[i] as number, text);
      });
      const parts = [...gradient].map((slope, i) => Math.abs(slope) * (tolerances[i] as number));
      printed(
        parts.reduce((sum, part) => sum + part, 0),
        '0.288039',
      );
      const square = parts.reduce((sum, part) => sum + part * part, 0);
      printed(Math.sqrt(square), '0.197090');
      ['0.367', '17.974', '81.074', '0.585'].forEach((text, i) => {
        printed((100 * (parts[i] as number) ** 2) / square, text);
      });
    });

    test(`${name}: extremes and second-order moments`, () => {
      const found = boxExtremes(stack, lower, upper);
      if (!found.defined) throw new Error('not defined');
      printed(found.lower.value, '168.326081');
      printed(found.upper.value, '168.902157');
      const moments = secondOrderMoments(
        stack,
        nominal.map((value, i) => normalMoments(value, (tolerances[i] as number) / 3)),
      );
      printed(moments.mean, '168.614053');
      printed(moments.sd, '0.0656966');
      printed(moments.skewness, '-0.00081');
    });
  }
});

describe('C2 mass calibration, JCGM 101:2008 clause 9.3 (memory, recomputed)', () => {
  const fn = functionOf('(mR + dmR)*(1 + (ra - 1.2)*(1/rW - 1/rR)) - 100000', [
    'mR',
    'dmR',
    'ra',
    'rW',
    'rR',
  ]);
  const contributors = [
    normal('mR', 100000, 0.05),
    normal('dmR', 1.234, 0.02),
    uniform('ra', 1.1, 1.3),
    uniform('rW', 7000, 9000),
    uniform('rR', 7950, 8050),
  ];
  const moments = secondOrderMoments(fn, momentsOf(contributors));

  test('first order: 1.2340, u 0.0539, interval [1.1285, 1.3395]', () => {
    printed(moments.firstOrder.mean, '1.2340');
    printed(moments.firstOrder.sd, '0.0538516');
    printed(moments.firstOrder.mean - 1.959964 * moments.firstOrder.sd, '1.12845');
    printed(moments.firstOrder.mean + 1.959964 * moments.firstOrder.sd, '1.33955');
  });

  test('with higher-order terms: u 0.0750, interval [1.0870, 1.3810]', () => {
    printed(moments.sd, '0.0749635');
    printed(moments.mean - 1.959964 * moments.sd, '1.08707');
    printed(moments.mean + 1.959964 * moments.sd, '1.38093');
  });

  test('Monte Carlo: 1.2340, u 0.0755, shortest 95 % interval of width 0.2990', () => {
    const result = sampleStack(
      { contributors, function: fn },
      { samples: 4e6, coverage: 0.95, confidence: fourSigma },
    );
    within(result.mean, 1.234);
    within(result.sigma, 0.07548, 0.000005);
    // the width of the shortest interval; its ends wander (published [1.0834, 1.3825])
    expect(Math.abs(result.shortest.width - 0.299)).toBeLessThan(4e-4);
    expect(Math.abs(result.shortest.lower.value - 1.0839)).toBeLessThan(3e-3);
    expect(Math.abs(result.shortest.upper.value - 1.3829)).toBeLessThan(3e-3);
    expect(result.shortest.width).toBeLessThanOrEqual(result.central.width);
  });
});

describe('C3 quadratic model, JCGM 101:2008 clause 9.4, no correlation (memory, recomputed)', () => {
  const fn = functionOf('1e6*(x1^2 + x2^2)', ['x1', 'x2']);
  const run = (x1: number): MonteCarloResult =>
    sampleStack(
      { contributors: [normal('x1', x1, 0.005), normal('x2', 0, 0.005)], function: fn },
      { samples: 4e6, coverage: 0.95, confidence: fourSigma },
    );
  const rows = [
    {
      x1: 0,
      firstOrder: ['0', '0'],
      u: 50,
      mean: 50,
      central: [1.27, 184.7],
      width: 149.9,
      lower: 0,
    },
    {
      x1: 0.01,
      firstOrder: ['100', '100'],
      u: 111.803,
      mean: 150,
      central: [8.54, 427.3],
      width: 366.1,
      lower: 0,
    },
    {
      x1: 0.05,
      firstOrder: ['2500', '500'],
      u: 502.494,
      mean: 2550,
      central: [1638.8, 3602.5],
      width: 1954,
      lower: 1596,
    },
  ];
  for (const { x1, firstOrder, u, mean, central, width, lower } of rows) {
    test(`x1 = ${x1}`, () => {
      const moments = secondOrderMoments(fn, [normalMoments(x1, 0.005), normalMoments(0, 0.005)]);
      printed(moments.firstOrder.mean, firstOrder[0] as string);
      printed(moments.firstOrder.sd, firstOrder[1] as string);
      // exact: E = x1^2 + 2u^2, Var = 4u^2 x1^2 + 4u^4; the form is quadratic, so second order is exact
      expect(moments.mean).toBeCloseTo(mean, 9);
      expect(moments.sd).toBeCloseTo(u, 3);
      const result = run(x1);
      within(result.mean, mean);
      within(result.sigma, u, 0.0005);
      within(result.central.lower, central[0] as number, 0.05);
      within(result.central.upper, central[1] as number, 0.05);
      expect(Math.abs(result.shortest.width / width - 1)).toBeLessThan(0.003);
      expect(Math.abs(result.shortest.lower.value - lower)).toBeLessThan(0.02 * width);
    });
  }
});

describe('C4 end gauge, JCGM 100:2008 Annex H.1 (inputs and budget read)', () => {
  const text = 'ls + d1 + d2 + d3 - ls*(da*(th + cycle) + as*dth)';
  const variables = ['ls', 'd1', 'd2', 'd3', 'as', 'da', 'dth', 'th', 'cycle'];
  const fn = functionOf(text, variables);
  const contributors: readonly Contributor[] = [
    normal('ls', 50000623, 25),
    normal('d1', 215, 5.8),
    normal('d2', 0, 3.9),
    normal('d3', 0, 6.7),
    uniform('as', 9.5e-6, 13.5e-6),
    uniform('da', -1e-6, 1e-6),
    uniform('dth', -0.05, 0.05),
    normal('th', -0.1, 0.2),
    { id: 'cycle', nominal: 0, plus: 0.5, minus: 0.5, distribution: { kind: 'arcsine' } },
  ];
  const inputs = momentsOf(contributors);
  const moments = secondOrderMoments(fn, inputs);
  const gradient = fn.gradient(inputs.map((input) => input.mean));
  const parts = inputs.map((input, i) => Math.abs(gradient[i] as number) * input.sd);

  test('length 50 000 838 nm and the budget: 25, 16.599, 6.7/5.8/3.9, 2.88679', () => {
    printed(moments.firstOrder.mean, '50000838.0');
    printed(parts[0] as number, '25.0');
    printed(parts[1] as number, '5.8');
    printed(parts[2] as number, '3.9');
    printed(parts[3] as number, '6.7');
    printed(parts[6] as number, '16.599');
    printed(parts[5] as number, '2.88679');
    expect(parts[4]).toBe(0);
  });

  test('u 31.6639 (32) first order, 33.8065 (34) with second-order terms', () => {
    printed(moments.firstOrder.sd, '31.6639');
    printed(moments.sd, '33.8065');
  });

  test('effective degrees of freedom 16.75 (16 from memory)', () => {
    const degrees = [
      18,
      24,
      5,
      8,
      Number.POSITIVE_INFINITY,
      50,
      2,
      Number.POSITIVE_INFINITY,
      Number.POSITIVE_INFINITY,
    ];
    const effective = effectiveDegreesOfFreedom(
      parts.map((sigma, i) => ({ sigma, degreesOfFreedom: degrees[i] as number })),
    );
    printed(effective, '16.75');
  });
});

describe('C5 linear thermal expansion, NIST TN 1900 (2015) example E13 (read)', () => {
  const fn = functionOf('(L1 - L0)/(L0*(T1 - T0))', ['L0', 'L1', 'T0', 'T1']);
  const rows = [
    ['L0', 1.4999, 0.0001],
    ['L1', 1.5021, 0.0002],
    ['T0', 288.15, 0.02],
    ['T1', 373.1, 0.05],
  ] as const;
  // each contributor a Student t with 3 degrees of freedom, scaled so that its sd is u
  const contributors = rows.map(
    ([id, mean, u]): Contributor => ({
      id,
      nominal: mean,
      distribution: { kind: 'student-t', sigma: u, degreesOfFreedom: 3 },
    }),
  );

  test('linear: 1.7266e-5, u 1.755477e-6 (1.76e-6 published)', () => {
    const moments = secondOrderMoments(fn, momentsOf(contributors));
    printed(moments.firstOrder.mean, '1.726621e-5');
    printed(moments.firstOrder.sd, '1.755477e-6');
    printed(moments.firstOrder.sd, '1.76e-6');
  });

  test('Monte Carlo: 1.7266e-5 (1.7268e-5 published), u 1.751e-6, 95 % [1.4009e-5, 2.0525e-5]', () => {
    const result = sampleStack(
      { contributors, function: fn },
      { samples: 4e6, coverage: 0.95, confidence: fourSigma },
    );
    within(result.mean, 1.7266e-5, 1e-9);
    within(result.central.lower, 1.4009e-5, 1e-9);
    within(result.central.upper, 2.0525e-5, 1e-9);
    // the sd of a sample with 3 degrees of freedom converges slowly; using u as the scale gives 3.03e-6
    expect(result.sigma.value / 1.755e-6).toBeGreaterThan(0.97);
    expect(result.sigma.value / 1.755e-6).toBeLessThan(1.03);
  });
});
