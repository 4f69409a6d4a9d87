import {
  type FunctionTree,
  linearTree,
  loopFunction,
  mergeSamplingTallies,
  nextBlocks,
  runSampling,
  type SamplingOptions,
  type SamplingTally,
  sampleBlocks,
  summariseSampling,
  treeFunction,
} from '@offplate/core';
import { compileExpression, compileLoop } from '@offplate/core/expression';
import { describe, expect, test } from 'vitest';
import { makeKernel } from '../../packages/core/src/numeric/block-kernel.js';
import { blockLength } from '../../packages/core/src/numeric/block-layout.js';
import {
  fillWords,
  nextWord,
  seedStream,
  stateWords,
  streamKey,
} from '../../packages/core/src/numeric/random.js';
import {
  fillSobol,
  owenScramble,
  sobolDimension,
  sobolDimensionLimit,
} from '../../packages/core/src/numeric/sobol.js';
import { blockSampler } from '../../packages/core/src/stack/block-sampler.js';
import {
  type PlacedStack,
  planPlacedSampling as planSampling,
} from '../../packages/core/src/stack/sampling-plan.js';
import { shapeMoments } from '../../packages/core/src/stack/shape-moments.js';
import { shapeQuantile } from '../../packages/core/src/stack/shape-quantile.js';
import { shapeLowerTail } from '../../packages/core/src/stack/shape-tail.js';
import type { Shape } from '../../packages/core/src/stack/types.js';

const contributor = (id: string, shape: Shape, coefficient = 1) => ({
  id,
  coefficient,
  shape,
  moments: shapeMoments(shape),
});

/** Monte Carlo with distributions in place. */
const sampleStack = (input: PlacedStack, options?: SamplingOptions) =>
  runSampling(planSampling(input, options));

function tree(text: string): FunctionTree {
  const compiled = compileExpression(text);
  if (!compiled.ok) throw new Error(JSON.stringify(compiled.problems));
  return compiled.tree;
}

const shapes: readonly Shape[] = [
  { kind: 'normal', mean: 3, sd: 2 },
  { kind: 'truncated-normal', mean: 0, sd: 1, lower: -1, upper: 2 },
  { kind: 'truncated-normal', mean: 0, sd: 1, lower: 3, upper: 4 },
  { kind: 'uniform', lower: 1, upper: 3 },
  { kind: 'triangular', lower: 0, mode: 0.2, upper: 1 },
  { kind: 'triangular', lower: 0, mode: 1, upper: 1 },
  { kind: 'trapezoidal', lower: 0, topLower: 0.5, topUpper: 1.5, upper: 2 },
  { kind: 'arcsine', lower: -1, upper: 1 },
  { kind: 'beta', lower: 0, upper: 2, alpha: 0.5, beta: 3 },
  { kind: 'beta', lower: 0, upper: 1, alpha: 4, beta: 2 },
  { kind: 'semi-elliptical', lower: -1, upper: 1 },
  { kind: 'student-t', mean: 1, scale: 2, degreesOfFreedom: 9 },
  { kind: 'empirical', values: Float64Array.from([1, 2, 2, 5]) },
];

/** Two-sided probability of 4 standard errors. */
const fourSigma = 1 - 6.334e-5;

function within(estimate: { lower: number; upper: number } | undefined, value: number): void {
  expect(value).toBeGreaterThanOrEqual(estimate?.lower as number);
  expect(value).toBeLessThanOrEqual(estimate?.upper as number);
}

describe('random words', () => {
  test('xoshiro128++: first words from state 1, 2, 3, 4 (Blackman & Vigna; values from memory)', () => {
    const state = new Int32Array(stateWords);
    state.set([1, 2, 3, 4], 16);
    const words = Array.from({ length: 10 }, () => nextWord(state) >>> 0);
    expect(words).toEqual([
      641, 1573767, 3222811527, 3517856514, 836907274, 4247214768, 3867114732, 1355841295,
      495546011, 621204420,
    ]);
  });

  test('the four lanes are four such streams, interleaved', () => {
    const state = new Int32Array(stateWords);
    for (let lane = 0; lane < 4; lane++)
      for (let k = 0; k < 4; k++) state[lane + 4 * k] = lane === 2 ? k + 1 : 7 * lane + k + 1;
    const out = new Int32Array(40);
    fillWords(state, out);
    expect([out[2], out[6], out[10], out[14]].map((word) => (word as number) >>> 0)).toEqual([
      641, 1573767, 3222811527, 3517856514,
    ]);
  });

  test('seeds, blocks and streams give states that have nothing in common', () => {
    const seen = new Set<string>();
    for (const seed of [0, 1, 2 ** 32, 2 ** 52])
      for (let block = 0; block < 50; block++)
        for (let stream = 0; stream < 20; stream++) {
          const state = new Int32Array(stateWords);
          seedStream(state, streamKey([seed, block]), stream);
          for (let lane = 0; lane < 4; lane++)
            seen.add([0, 4, 8, 12].map((k) => state[lane + k]).join());
          seen.add(state.slice(16).join());
        }
    expect(seen.size).toBe(4 * 50 * 20 * 5);
  });
});

describe('WebAssembly and plain JS', () => {
  test('WebAssembly is in use here', () => {
    expect(makeKernel(1, 64).make).toBe('wasm');
    expect(makeKernel(1, 64, 'js').make).toBe('js');
  });

  test('every shape and operation gives the same bits', () => {
    const names = shapes.map((_, i) => `x${i}`);
    const program = treeFunction(
      tree(
        'x0 + x1 - x2 * x3 / (x4 + 2) + sqrt(abs(x5)) + min(x6, x7) + max(x8, -x9) + sin(x10) * cos(x11) + tan(x12 / 9) + x0^2 - x3^-3 + x4^5 + exp(-x8) + log(x3) + atan2(x0, x3) + asin(x10) + acos(x7) + atan(x11) + x3^1.5',
      ),
      { variables: names },
    ).program;
    const correlated = shapes.map((_, i) => shapes.map((__, j) => (i === j ? 1 : i > j ? 0.2 : 0)));
    for (const mixing of [undefined, correlated])
      for (const scheme of ['random', 'sobol'] as const) {
        const draws = {
          scheme,
          seed: 5,
          replicates: scheme === 'sobol' ? 16 : 1,
          shapes,
          program,
          ...(mixing === undefined ? {} : { mixing }),
        };
        const wasm = blockSampler(draws, 'wasm');
        const plain = blockSampler(draws, 'js');
        for (const block of [0, 1, 77]) {
          wasm.draw(block);
          plain.draw(block);
          wasm.kernel.registers.forEach((register, i) => {
            expect(new BigUint64Array(register.slice().buffer)).toEqual(
              new BigUint64Array((plain.kernel.registers[i] as Float64Array).slice().buffer),
            );
          });
        }
      }
  });

  test('a block equals the function evaluated one sample at a time', () => {
    const fn = treeFunction(
      tree('acos((a + c)/(e - c)) + (a - e)^3 / max(c, 11.43) - hypot(a, c)'),
    );
    const sampler = blockSampler({
      scheme: 'random',
      seed: 1,
      replicates: 1,
      program: fn.program,
      shapes: [
        { kind: 'normal', mean: 27.645, sd: 0.02 },
        { kind: 'normal', mean: 11.43, sd: 0.003 },
        { kind: 'uniform', lower: 50.78, upper: 50.82 },
      ],
    });
    sampler.draw(3);
    // operands are overwritten only by the program's own steps, never by other variables
    const [a, c, e] = sampler.kernel.registers;
    for (let i = 0; i < blockLength; i++) {
      const x = [a?.[i], c?.[i], e?.[i]] as number[];
      expect(sampler.kernel.registers[sampler.result]?.[i]).toBe(fn.value(x));
    }
  });
});

describe('standard normal deviates', () => {
  const normal: PlacedStack = {
    contributors: [contributor('z', { kind: 'normal', mean: 0, sd: 1 })],
  };

  test('tails beyond the last layer of the ziggurat', () => {
    for (const limit of [4.0388498, 4.5]) {
      const plan = planSampling(
        { ...normal, requirement: { lower: -limit, upper: limit } },
        { samples: 2 ** 24 },
      );
      const [tally] = sampleBlocks(plan, 0, plan.blocks).replicates;
      const expected = 2 ** 24 * shapeLowerTail({ kind: 'normal', mean: 0, sd: 1 }, -limit);
      for (const seen of [tally?.below, tally?.above])
        expect(Math.abs((seen as number) - expected)).toBeLessThan(4 * Math.sqrt(expected));
    }
  });

  test('chi-squared over 512 equal cells', () => {
    const sampler = blockSampler({
      scheme: 'random',
      seed: 8,
      replicates: 1,
      program: treeFunction(tree('z')).program,
      shapes: [{ kind: 'normal', mean: 0, sd: 1 }],
    });
    const cells = new Float64Array(512);
    const blocks = 512;
    for (let block = 0; block < blocks; block++) {
      sampler.draw(block);
      for (const z of sampler.kernel.registers[sampler.result] as Float64Array) {
        const cell = Math.floor(512 * shapeLowerTail({ kind: 'normal', mean: 0, sd: 1 }, z));
        cells[cell] = (cells[cell] as number) + 1;
      }
    }
    const expected = (blocks * blockLength) / 512;
    const chi = cells.reduce((sum, count) => sum + (count - expected) ** 2 / expected, 0);
    // 511 degrees of freedom: mean 511, sd 32
    expect(Math.abs(chi - 511)).toBeLessThan(4 * 32);
  });
});

describe('one contributor of each shape', () => {
  for (const scheme of ['random', 'sobol'] as const)
    for (const shape of shapes)
      test(`${scheme}: ${JSON.stringify(shape)}`, () => {
        const exact = shapeMoments(shape);
        const probabilities = [0.01, 0.3, 0.5, 0.9, 0.999];
        const result = sampleStack(
          { contributors: [contributor('x', shape)] },
          {
            scheme,
            samples: scheme === 'sobol' ? 2 ** 16 : 2 ** 19,
            quantiles: probabilities,
            confidence: fourSigma,
            seed: 11,
          },
        );
        within(result.mean, exact.mean);
        within(result.sigma, exact.sd);
        within(result.skewness, exact.skewness);
        within(result.excessKurtosis, exact.excessKurtosis);
        for (const quantile of result.quantiles)
          within(quantile, shapeQuantile(shape, quantile.probability));
      });

  test('quantiles invert the distribution function', () => {
    for (const shape of shapes) {
      if (shape.kind === 'empirical') continue;
      for (const u of [1e-6, 0.01, 0.2, 0.5, 0.8, 0.99, 1 - 1e-6]) {
        const back = shapeLowerTail(shape, shapeQuantile(shape, u));
        // next to a pole of the density the rounding of x alone moves u by 3e-12
        expect(Math.abs(back - u)).toBeLessThan(Math.max(1e-9 * u, 1e-11));
      }
    }
  });
});

describe('fifty seeded chains against exact figures, 4 standard errors', () => {
  for (let seed = 1; seed <= 50; seed++)
    test(`seed ${seed}`, () => {
      // contributors and coefficients chosen by the seed
      const count = 2 + (seed % 7);
      const chain = Array.from({ length: count }, (_, i) => {
        const shape = shapes[(seed * 5 + i * 3) % shapes.length] as Shape;
        return contributor(
          `x${i}`,
          shape,
          ((seed + i) % 2 === 0 ? 1 : -1) * (1 + ((seed * i) % 3)),
        );
      });
      const mean = chain.reduce((sum, link) => sum + link.coefficient * link.moments.mean, 0);
      const cumulant = (power: number, of: (link: (typeof chain)[number]) => number) =>
        chain.reduce(
          (sum, link) => sum + (link.coefficient * link.moments.sd) ** power * of(link),
          0,
        );
      const variance = cumulant(2, () => 1);
      const result = sampleStack(
        { contributors: chain },
        { seed, samples: 2 ** 17, confidence: fourSigma },
      );
      within(result.mean, mean);
      within(result.sigma, Math.sqrt(variance));
      within(result.skewness, cumulant(3, (link) => link.moments.skewness) / variance ** 1.5);
      // with 9 degrees of freedom the standard error of a kurtosis, an eighth moment, hardly settles
      if (chain.some((link) => link.shape.kind === 'student-t')) return;
      within(
        result.excessKurtosis,
        cumulant(4, (link) => link.moments.excessKurtosis) / variance ** 2,
      );
    });
});

describe('confidence', () => {
  test('95 % intervals hold the exact figure in about 95 % of 200 runs', () => {
    const hits = { mean: 0, sigma: 0, quantile: 0, inLimits: 0 };
    const runs = 200;
    const covered = (estimate: { lower: number; upper: number } | undefined, value: number) =>
      Number((estimate?.lower as number) <= value && value <= (estimate?.upper as number));
    // sum of two uniforms: a triangle on 0 to 2
    const input: PlacedStack = {
      contributors: ['a', 'b'].map((id) =>
        contributor(id, { kind: 'uniform', lower: 0, upper: 1 }),
      ),
      requirement: { lower: 0.2, upper: 1.9 },
    };
    for (let seed = 0; seed < runs; seed++) {
      const result = sampleStack(input, { seed, samples: 4096, quantiles: [0.1] });
      hits.mean += covered(result.mean, 1);
      hits.sigma += covered(result.sigma, Math.sqrt(1 / 6));
      hits.quantile += covered(result.quantiles[0], Math.sqrt(0.2));
      hits.inLimits += covered(result.inLimits, 1 - 0.02 - 0.005);
    }
    for (const [name, count] of Object.entries(hits)) {
      // binomial, 4 standard deviations below and above
      expect(count / runs, name).toBeGreaterThan(0.885);
      expect(count / runs, name).toBeLessThanOrEqual(1);
    }
  });

  test('intervals narrow as the square root of the samples', () => {
    const input = { contributors: [contributor('x', shapes[0] as Shape)] };
    const width = (samples: number) => {
      const { mean } = sampleStack(input, { samples });
      return mean.upper - mean.lower;
    };
    expect(width(2 ** 14) / width(2 ** 18)).toBeCloseTo(4, 1);
  });
});

describe('splitting and merging', () => {
  const linear: PlacedStack = {
    contributors: shapes
      .slice(0, 6)
      .map((shape, i) => contributor(`x${i}`, shape, i % 2 === 0 ? 1 : -1)),
    requirement: { lower: -1, upper: 3 },
  };

  const drawn = (
    plan: ReturnType<typeof planSampling>,
    cuts: readonly number[],
    order: (parts: SamplingTally[]) => SamplingTally[],
    make: 'wasm' | 'js',
  ) => {
    const ends = [...cuts, plan.blocks];
    const parts = ends.map((end, i) => {
      const first = i === 0 ? 0 : (ends[i - 1] as number);
      return sampleBlocks(structuredClone(plan), first, end - first, make);
    });
    return order(parts).reduce(mergeSamplingTallies);
  };

  for (const scheme of ['random', 'sobol'] as const)
    test(`${scheme}: any split over workers, in any order, in WebAssembly or JS: same bytes`, () => {
      const plan = planSampling(linear, { scheme, samples: 40_000, seed: 3, quantiles: [0.25] });
      const whole = JSON.stringify(summariseSampling(plan, sampleBlocks(plan, 0, plan.blocks)));
      const splits: readonly (readonly number[])[] = [
        [7],
        [1, 2, 3, 20],
        [11, 12, 30],
        Array.from({ length: plan.blocks - 1 }, (_, i) => i + 1),
      ];
      for (const cuts of splits) {
        const forward = drawn(plan, cuts, (parts) => parts, 'wasm');
        const backward = drawn(plan, cuts, (parts) => parts.reverse(), 'js');
        expect(JSON.stringify(summariseSampling(plan, forward))).toBe(whole);
        expect(JSON.stringify(summariseSampling(plan, backward))).toBe(whole);
      }
    });

  test('a tally keeps its size however many samples it has seen', () => {
    const plan = planSampling(linear, { samples: 100_000 });
    const size = (blocks: number) =>
      sampleBlocks(plan, 0, blocks).replicates.reduce(
        (sum, tally) => sum + tally.bins.byteLength,
        0,
      );
    expect(size(90)).toBe(size(1));
    expect(size(1)).toBeLessThan(500_000);
  });

  test('the same seed gives the same result, another seed another', () => {
    const run = (seed: number) => JSON.stringify(sampleStack(linear, { seed, samples: 5000 }));
    expect(run(1)).toBe(run(1));
    expect(run(2)).not.toBe(run(1));
  });
});

describe('early stop', () => {
  const input: PlacedStack = {
    contributors: [contributor('x', { kind: 'normal', mean: 0, sd: 1 })],
    requirement: { lower: -3, upper: 3 },
  };
  const cases: readonly NonNullable<SamplingOptions['precision']>[] = [
    { of: 'mean', halfWidth: 0.005 },
    { of: 'sigma', halfWidth: 0.005 },
    { of: 'inLimits', halfWidth: 2e-4 },
    { of: 'range', halfWidth: 0.05 },
  ];
  for (const precision of cases)
    test(`${precision.of} to ${precision.halfWidth}`, () => {
      const result = sampleStack(input, { samples: 4e6, precision });
      expect(result.precise).toBe(true);
      expect(result.samples).toBeLessThan(2e6);
      const half = (estimate: { lower: number; upper: number } | undefined) =>
        ((estimate?.upper as number) - (estimate?.lower as number)) / 2;
      const reached =
        precision.of === 'range'
          ? Math.max(half(result.central.lower), half(result.central.upper))
          : half(result[precision.of]);
      expect(reached).toBeLessThanOrEqual(precision.halfWidth);
    });

  test('a precision out of reach is said', () => {
    const result = sampleStack(input, {
      samples: 20_000,
      precision: { of: 'mean', halfWidth: 1e-6 },
    });
    expect(result.precise).toBe(false);
    expect(result.samples).toBe(20 * 1024);
  });

  test('rounds depend on nothing but what was seen', () => {
    const plan = planSampling(input, { samples: 1e6, precision: { of: 'mean', halfWidth: 0.005 } });
    let seen: SamplingTally | undefined;
    const rounds: number[] = [];
    for (let next = nextBlocks(plan, seen); next !== undefined; next = nextBlocks(plan, seen)) {
      rounds.push(next.count);
      const half = Math.floor(next.count / 2);
      const parts = [
        sampleBlocks(plan, next.first + half, next.count - half),
        sampleBlocks(plan, next.first, half),
      ];
      for (const part of parts) seen = seen === undefined ? part : mergeSamplingTallies(seen, part);
    }
    expect(rounds).toEqual([16, 16, 32, 64, 128]);
    expect(JSON.stringify(summariseSampling(plan, seen as SamplingTally))).toBe(
      JSON.stringify(
        sampleStack(input, { samples: 1e6, precision: { of: 'mean', halfWidth: 0.005 } }),
      ),
    );
  });
});

describe('Sobol points', () => {
  const points = (dimension: number, count: number, first = 0) => {
    const out = new Int32Array(count);
    sobolDimension(dimension).fill(out, first);
    return [...out].map((word) => word >>> 0);
  };

  test('first points of the first six dimensions (Joe & Kuo 2008, computed by another program)', () => {
    const expected = [
      [0, 0.5, 0.75, 0.25, 0.375, 0.875, 0.625, 0.125],
      [0, 0.5, 0.25, 0.75, 0.375, 0.875, 0.125, 0.625],
      [0, 0.5, 0.25, 0.75, 0.625, 0.125, 0.875, 0.375],
      [0, 0.5, 0.25, 0.75, 0.875, 0.375, 0.625, 0.125],
      [0, 0.5, 0.75, 0.25, 0.375, 0.875, 0.625, 0.125],
      [0, 0.5, 0.75, 0.25, 0.125, 0.625, 0.875, 0.375],
    ];
    expected.forEach((row, dimension) => {
      expect(points(dimension, 8).map((word) => word / 2 ** 32)).toEqual(row);
    });
  });

  test('points 37 and 63 of higher dimensions (computed by another program)', () => {
    expect([10, 40, 63].map((dimension) => points(dimension, 1, 37)[0])).toEqual([
      67108864, 335544320, 3556769792,
    ]);
    expect([0, 9, 18, 27, 36, 45, 54, 63].map((dimension) => points(dimension, 1, 63)[0])).toEqual([
      67108864, 2483027968, 4093640704, 1275068416, 3690987520, 2214592512, 67108864, 3154116608,
    ]);
  });

  test('a block in the middle continues the sequence', () => {
    expect(points(5, 20, 100)).toEqual(points(5, 120).slice(100));
  });

  test('scrambling keeps every point in its own cell of 1/1024, in all dimensions', () => {
    const words = new Int32Array(1024);
    const out = new Float64Array(1024);
    for (let dimension = 0; dimension < sobolDimensionLimit; dimension++) {
      for (const [first, seed] of [
        [0, 1],
        [1024, 2],
        [5 * 1024, 99],
      ] as const) {
        fillSobol(sobolDimension(dimension), words, out, first, seed);
        expect(new Set([...out].map((u) => Math.floor(u * 1024))).size).toBe(1024);
      }
    }
  });

  test('the first two dimensions stay balanced in every shape of box of area 1/256', () => {
    const words = new Int32Array(256);
    const [x, y] = [new Float64Array(256), new Float64Array(256)];
    fillSobol(sobolDimension(0), words, x, 0, 5);
    fillSobol(sobolDimension(1), words, y, 0, 6);
    for (let bits = 0; bits <= 8; bits++) {
      const cells = new Set(
        [...x].map(
          (u, i) =>
            Math.floor(u * 2 ** bits) * 256 + Math.floor((y[i] as number) * 2 ** (8 - bits)),
        ),
      );
      expect(cells.size).toBe(256);
    }
  });

  test('a scramble maps words one to one and differs by seed', () => {
    const seen = new Set(Array.from({ length: 4096 }, (_, i) => owenScramble(i << 20, 7)));
    expect(seen.size).toBe(4096);
    expect(owenScramble(1 << 20, 7)).not.toBe(owenScramble(1 << 20, 8));
  });

  test('needs far fewer samples than random points for mean and sigma', () => {
    const input: PlacedStack = {
      contributors: shapes.slice(3, 8).map((shape, i) => contributor(`x${i}`, shape)),
    };
    const half = (scheme: 'random' | 'sobol') => {
      const { mean, sigma } = sampleStack(input, { scheme, samples: 2 ** 14 });
      return [(mean.upper - mean.lower) / 2, (sigma.upper - sigma.lower) / 2] as const;
    };
    const [randomMean, randomSigma] = half('random');
    const [sobolMean, sobolSigma] = half('sobol');
    expect(randomMean / sobolMean).toBeGreaterThan(50);
    expect(randomSigma / sobolSigma).toBeGreaterThan(10);
  });
});

describe('correlation', () => {
  test('sigma of a difference of correlated normals', () => {
    const pair = ['a', 'b'].map((id, i) =>
      contributor(id, { kind: 'normal', mean: 5 * i, sd: 1 + i }, i === 0 ? 1 : -1),
    );
    for (const scheme of ['random', 'sobol'] as const)
      for (const rho of [-1, -0.5, 0, 0.8, 1]) {
        const result = sampleStack(
          {
            contributors: pair,
            correlation: [
              [1, rho],
              [rho, 1],
            ],
          },
          { scheme, samples: 2 ** 17, confidence: fourSigma },
        );
        within(result.mean, -5);
        within(result.sigma, Math.sqrt(1 + 4 - 4 * rho));
      }
  });

  test('other shapes keep their own distribution and move together', () => {
    const uniforms = ['a', 'b'].map((id) =>
      contributor(id, { kind: 'uniform', lower: 0, upper: 1 }),
    );
    const correlation = [
      [1, 0.7],
      [0.7, 1],
    ];
    const product = treeFunction(tree('12 * (a - 0.5) * (b - 0.5)'));
    const result = sampleStack(
      { contributors: uniforms, correlation, function: product },
      { samples: 2 ** 18, confidence: fourSigma },
    );
    // rank correlation of a Gaussian copula: 6/pi asin(rho/2) (Kruskal 1958)
    within(result.mean, (6 / Math.PI) * Math.asin(0.35));
    const one = sampleStack(
      { contributors: uniforms, correlation, function: treeFunction(tree('b')) },
      { samples: 2 ** 17, confidence: fourSigma },
    );
    within(one.sigma, Math.sqrt(1 / 12));
    within(one.excessKurtosis, -1.2);
  });
});

describe('functions', () => {
  test('samples without a value are counted and are out of limits', () => {
    const result = sampleStack(
      {
        contributors: [contributor('x', { kind: 'uniform', lower: -0.1, upper: 0.9 })],
        function: treeFunction(tree('sqrt(x)')),
        requirement: { lower: 0, upper: Math.sqrt(0.5) },
      },
      { samples: 2 ** 18, confidence: fourSigma },
    );
    expect(Math.abs(result.undefinedShare - 0.1)).toBeLessThan(4 * Math.sqrt(0.09 / 2 ** 18));
    within(result.inLimits, 0.5);
    within(result.ppmAbove, 4e5);
    within(result.ppmBelow, 0);
    within(result.mean, (2 / 3) * Math.sqrt(0.9));
  });

  test('a closed loop samples as its closed form does', () => {
    const compiled = compileLoop({
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
    if (!compiled.ok) throw new Error();
    const contributors = [
      contributor('r', { kind: 'normal', mean: 50, sd: 0.05 }),
      contributor('t', { kind: 'uniform', lower: 1.04, upper: 1.06 }),
      contributor('l', { kind: 'normal', mean: 150, sd: 0.08 }),
      contributor('e', { kind: 'triangular', lower: -0.2, mode: 0, upper: 0.2 }),
    ];
    const run = (fn: PlacedStack['function']) =>
      sampleStack({ contributors, function: fn as NonNullable<typeof fn> }, { samples: 50_000 });
    const loop = run(loopFunction(compiled.system));
    const form = run(treeFunction(tree('r*cos(t) + sqrt(l^2 - (r*sin(t) + e)^2)')));
    expect(loop.undefinedShare).toBe(0);
    for (const figure of ['mean', 'sigma', 'skewness', 'excessKurtosis'] as const)
      expect(loop[figure].value).toBeCloseTo(form[figure].value, 6);
  });

  test('a chain equals the same chain as a function', () => {
    const contributors = shapes.slice(0, 5).map((shape, i) => contributor(`x${i}`, shape, i - 1.5));
    const terms = contributors.map(({ id, coefficient }) => ({ name: id, coefficient }));
    const chain = sampleStack({ contributors, constant: 2 }, { samples: 10_000 });
    const fn = sampleStack(
      { contributors, function: treeFunction(linearTree(terms, 2)) },
      { samples: 10_000 },
    );
    expect(fn).toEqual(chain);
  });

  test('a result that does not vary', () => {
    const result = sampleStack(
      { contributors: [contributor('x', { kind: 'constant', value: 4 })] },
      { samples: 2048 },
    );
    expect(result.mean.value).toBe(4);
    expect(result.sigma.value).toBe(0);
    expect(result.central.width).toBe(0);
  });
});

describe('what is refused', () => {
  const input: PlacedStack = { contributors: [contributor('x', shapes[0] as Shape)] };
  const cases: readonly (readonly [string, () => unknown, RegExp])[] = [
    [
      'an unknown contributor',
      () => planSampling({ ...input, function: treeFunction(tree('x + y')) }),
      /"y" is no contributor/,
    ],
    [
      'a function with no program',
      () =>
        planSampling({
          ...input,
          function: {
            variables: ['x'],
            text: 'x',
            value: () => 0,
            gradient: () => new Float64Array(1),
            hessian: () => new Float64Array(1),
            bounds: () => ({ lower: 0, upper: 0 }),
          },
        }),
      /cannot be sampled/,
    ],
    [
      'an impossible correlation',
      () =>
        planSampling({
          contributors: ['a', 'b', 'c'].map((id) => contributor(id, shapes[0] as Shape)),
          correlation: [
            [1, 0.9, 0.9],
            [0.9, 1, -0.9],
            [0.9, -0.9, 1],
          ],
        }),
      /semidefinite/,
    ],
    [
      'too many quasi-random dimensions',
      () =>
        planSampling(
          {
            contributors: Array.from({ length: 65 }, (_, i) =>
              contributor(`x${i}`, shapes[0] as Shape),
            ),
          },
          { scheme: 'sobol' },
        ),
      /64 contributors, not 65/,
    ],
    ['a seed that is no whole number', () => planSampling(input, { seed: 1.5 }), /seed 1.5/],
    ['no samples', () => planSampling(input, { samples: 0 }), /0 samples/],
    ['a coverage of 1', () => planSampling(input, { coverage: 1 }), /coverage 1/],
    ['a probability of 0', () => planSampling(input, { quantiles: [0] }), /probability 0/],
    [
      'a function that is nowhere defined',
      () => planSampling({ ...input, function: treeFunction(tree('log(-x^2)')) }),
      /no value/,
    ],
  ];
  for (const [name, act, message] of cases)
    test(name, () => {
      expect(act).toThrow(message);
    });
});
