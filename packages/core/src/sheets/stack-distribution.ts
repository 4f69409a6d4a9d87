import type { StackReport } from '../stack/stack-report.js';
import { shortest } from './print-numbers.js';
import type { Axis, Block } from './types.js';

/** Probabilities whose quantiles draw the distribution: close where it bends, and far into the tails. */
export const stackProbabilities: readonly number[] = [
  ...[0.0001, 0.0005, 0.001, 0.0025, 0.005, 0.01],
  ...Array.from({ length: 48 }, (_, index) => (index + 1) / 49),
  ...[0.99, 0.995, 0.9975, 0.999, 0.9995, 0.9999],
];

/** Fewer steps make no curve. */
const leastSteps = 12;

/**
 * Density over the result from quantile to quantile, exact where there is an exact distribution, else
 * from the samples; with the limits of the requirement as lines.
 */
export function distributionBlocks(report: StackReport): readonly Block[] {
  const { exact, monteCarlo, requirement, unit } = report;
  const isExact = 'quantiles' in exact;
  const quantiles = isExact ? exact.quantiles : monteCarlo.quantiles;
  const points = densityPoints(
    quantiles.map(({ probability, value }) => [probability, value] as const),
  );
  if (points.length < leastSteps) return [];
  const values = points.map(([x]) => x);
  const rules = [
    ...(requirement?.lower === undefined ? [] : [{ x: requirement.lower, text: 'lower limit' }]),
    ...(requirement?.upper === undefined ? [] : [{ x: requirement.upper, text: 'upper limit' }]),
  ];
  const ends = [...values, ...rules.map(({ x }) => x)];
  const [least, most] = [Math.min(...ends), Math.max(...ends)];
  const margin = 0.04 * (most - least);
  const peak = Math.max(...points.map(([, y]) => y));
  return [
    {
      type: 'curve',
      title: isExact ? 'Density of the result, exact' : 'Density of the result, from samples',
      x: roundAxis(unit, least - margin, most + margin),
      y: { label: '', from: 0, to: 1.08 * peak, ticks: [] },
      points,
      band: points.map(([x, y]) => [x, 0, y] as const),
      marks: [],
      rules,
      inWords: `The result lies between ${shortest(values[0] ?? 0, 4)} and ${shortest(values.at(-1) ?? 0, 4)} ${unit}, most often near ${shortest(points.find(([, y]) => y === peak)?.[0] ?? 0, 4)}`,
    },
  ];
}

/** Share a unit of length between one quantile and the next, at the middle of the step. */
function densityPoints(
  quantiles: readonly (readonly [probability: number, value: number])[],
): readonly (readonly [number, number])[] {
  const sorted = [...quantiles].sort(([a], [b]) => a - b);
  const steps = sorted.slice(1).flatMap(([probability, value], index) => {
    const [before, from] = sorted[index] ?? [probability, value];
    // several equal values are a lump, which has no density
    if (!(value > from)) return [];
    return [[(from + value) / 2, (probability - before) / (value - from)] as const];
  });
  const first = sorted[0];
  const last = sorted.at(-1);
  if (first === undefined || last === undefined || steps.length === 0) return [];
  return [[first[1], 0] as const, ...steps, [last[1], 0] as const];
}

/** About eight ticks at round values. */
function roundAxis(label: string, from: number, to: number): Axis {
  const rough = (to - from) / 8;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 5].find((each) => each * power >= rough) ?? 10) * power;
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const first = Math.ceil(from / step);
  const count = Math.floor(to / step) - first + 1;
  return {
    label,
    from,
    to,
    ticks: Array.from({ length: Math.max(0, count) }, (_, index) => ({
      at: (first + index) * step,
      text: shortest((first + index) * step, decimals),
    })),
  };
}
