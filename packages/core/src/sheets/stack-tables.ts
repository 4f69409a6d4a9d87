import type { StackReport } from '../stack/stack-report.js';
import type { Conformity, MethodResult } from '../stack/types.js';
import { fixed, shortest } from './print-numbers.js';
import type { Block, Column } from './types.js';

/** Contributors worth a line in "tighten this first". */
const tighteningsShown = 8;

type Figure = (value: number) => string;

/** Prints values of a stack so that a thousandth of its width shows. */
export function stackFigure({ worst, exact, rss }: StackReport): Figure {
  const range = [worst, 'lower' in exact ? exact : rss].find(
    ({ lower, upper }) => Number.isFinite(upper - lower) && upper > lower,
  );
  const width = range === undefined ? 1 : range.upper - range.lower;
  const decimals = Math.max(0, Math.min(9, 2 - Math.floor(Math.log10(width))));
  return (value) => (Number.isFinite(value) ? fixed(value, decimals) : 'unbounded');
}

export function contributorBlocks(report: StackReport): readonly Block[] {
  const shares = report.contributors
    .map(({ id }, index) => ({ id, share: report.contributions[index]?.sharePercent ?? 0 }))
    .sort((a, b) => b.share - a.share);
  return [
    { type: 'heading', text: 'Contributors' },
    {
      type: 'bars',
      title: 'Share of the variance, %',
      bars: shares.map(({ id, share }) => ({
        label: id,
        value: fixed(share, 1),
        segments: [{ from: 0, to: Math.max(0, share), tone: 'dark' as const }],
      })),
    },
    {
      type: 'table',
      title: `As they were taken, ${report.unit}`,
      columns: [
        { title: 'Contributor', align: 'left' },
        { title: 'Nominal', align: 'decimal' },
        { title: 'From', align: 'decimal' },
        { title: 'To', align: 'decimal' },
        { title: 'Distribution', align: 'left' },
        { title: 'Sigma', align: 'decimal' },
        { title: 'Slope', align: 'decimal' },
        { title: 'Worst case, %', align: 'decimal' },
        { title: 'Source', align: 'left' },
      ],
      rows: report.contributors.map((contributor, index) => {
        const { id, nominal, lower, upper, distribution, sigma, source = '' } = contributor;
        const { sensitivity = 1, worstSharePercent = 0 } = report.contributions[index] ?? {};
        return [
          id,
          shortest(nominal, 6),
          shortest(lower, 6),
          shortest(upper, 6),
          distribution.replaceAll('-', ' '),
          shortest(sigma, sigma > 0 ? Math.min(9, 2 - Math.floor(Math.log10(sigma))) : 0),
          shortest(sensitivity, 4),
          fixed(worstSharePercent, 1),
          source,
        ];
      }),
    },
  ];
}

export function methodBlocks(report: StackReport): readonly Block[] {
  const { exact, monteCarlo: run, requirement } = report;
  const figure = stackFigure(report);
  const judged: readonly Column[] =
    requirement === undefined
      ? []
      : ['In limits, %', 'ppm below', 'ppm above', 'Cpk'].map((title) => ({
          title,
          align: 'decimal',
        }));
  const methods: readonly (readonly [string, MethodResult])[] = [
    ['worst case', report.worst],
    ['root sum square', report.rss],
    ['inflated root sum square', report.inflatedRss],
    ['estimated mean shift', report.estimatedMeanShift],
    ['capability with Cp and k', report.sixSigma],
    ['second-order moments', report.moments],
    ...('reason' in exact ? [] : [['exact distribution', exact] as const]),
  ];
  const rows = methods.map(([name, { lower, mean, upper, sigma, conformity }]) => [
    name,
    figure(lower),
    figure(mean),
    figure(upper),
    sigma === undefined ? '' : figure(sigma),
    ...(requirement === undefined ? [] : conformityCells(conformity)),
  ]);
  const sampled = [
    'Monte Carlo',
    figure(run.central.lower.value),
    figure(run.mean.value),
    figure(run.central.upper.value),
    figure(run.sigma.value),
    ...(requirement === undefined
      ? []
      : [
          percent(run.inLimits?.value ?? 1),
          ppm(run.ppmBelow?.value ?? 0),
          ppm(run.ppmAbove?.value ?? 0),
          '',
        ]),
  ];
  const sure =
    run.inLimits === undefined
      ? ''
      : `; in limits ${percent(run.inLimits.lower)} to ${percent(run.inLimits.upper)} % with ${shortest(100 * run.confidence, 2)} % confidence`;
  return [
    { type: 'heading', text: 'Methods side by side' },
    {
      type: 'table',
      title: `Range and mean of the result, ${report.unit}`,
      columns: [
        { title: 'Method', align: 'left' },
        { title: 'From', align: 'decimal' },
        { title: 'Mean', align: 'decimal' },
        { title: 'To', align: 'decimal' },
        { title: 'Sigma', align: 'decimal' },
        ...judged,
      ],
      rows: [...rows, sampled],
    },
    {
      type: 'list',
      title: 'What each takes for granted',
      items: [
        ...methods.map(([name, { assumes }]) => `${name}: ${assumes}`),
        ...('reason' in exact ? [`exact distribution: none, ${exact.reason}`] : []),
        `Monte Carlo: ${run.assumes}; ${run.samples} samples, seed ${run.seed}${sure}`,
      ],
    },
  ];
}

function conformityCells(conformity: Conformity | undefined): readonly string[] {
  if (conformity === undefined) return ['', '', '', ''];
  const { inLimits, ppmBelow, ppmAbove, cpk } = conformity;
  return [percent(inLimits), ppm(ppmBelow), ppm(ppmAbove), cpk === undefined ? '' : fixed(cpk, 2)];
}

/** A share of all in per cent; one that is not quite all is not rounded up to it. */
export function percent(probability: number): string {
  const per = 100 * probability;
  return per < 100 && per > 99.995 ? '> 99.99' : shortest(per, 2);
}

function ppm(value: number): string {
  if (value === 0) return '0';
  if (value < 0.001) return '< 0.001';
  return shortest(value, Math.max(0, Math.min(3, 2 - Math.floor(Math.log10(value)))));
}

export function tightenBlocks(report: StackReport): readonly Block[] {
  const figure = stackFigure(report);
  const shown = report.tightenFirst
    .filter(({ sigmaGainPercent, worstGain }) => sigmaGainPercent > 0 || worstGain > 0)
    .slice(0, tighteningsShown);
  if (shown.length === 0) return [];
  const judged = report.requirement !== undefined;
  return [
    { type: 'heading', text: 'Tighten this first' },
    {
      type: 'table',
      title: 'Each tightened by 10 %, alone',
      columns: [
        { title: 'Contributor', align: 'left' },
        { title: 'Sigma falls, %', align: 'decimal' },
        { title: `Worst case falls, ${report.unit}`, align: 'decimal' },
        ...(judged
          ? ([
              { title: 'In limits, %', align: 'decimal' },
              { title: 'Fewer out, ppm', align: 'decimal' },
            ] as const)
          : []),
      ],
      rows: shown.map(({ id, sigmaGainPercent, worstGain, inLimits, inLimitsGain = 0 }) => [
        id,
        fixed(sigmaGainPercent, 2),
        figure(worstGain),
        ...(judged ? [percent(inLimits ?? 1), ppm(Math.max(0, 1e6 * inLimitsGain))] : []),
      ]),
    },
  ];
}
