import {
  type Conformity,
  formatFixed,
  formatShort,
  type MethodResult,
  type MonteCarloResult,
  type RequirementLimits,
  type StackReport,
} from '@offplate/core';
import { counted, percentText } from './numbers.js';
import type { Style } from './style.js';
import { type TextColumn, type TextRow, textTable } from './table.js';
import { printable, wrapText } from './width.js';

/** Contributors worth a line in "tighten this first". */
const tighteningsShown = 8;

/** A stack for a person: requirement, contributors, methods, what to tighten. */
export function stackText(report: StackReport, style: Style): string {
  const { unit, requirement, notes } = report;
  const figure = figures(report.worst.upper - report.worst.lower);
  return [
    style.bold(
      printable(report.name ?? `Stack of ${counted(report.contributors.length, 'contributor')}`),
    ),
    ...wrapText(`result (${unit}) = ${report.function ?? chainText(report)}`, style.width),
    ...(requirement === undefined
      ? ['no requirement: ranges only']
      : [`requirement ${limitsText(requirement)} ${unit}`]),
    ...verdictLines(report, style),
    '',
    style.bold('Contributors'),
    ...contributorTable(report, style),
    '',
    style.bold('Methods'),
    ...methodTable(report, figure, style),
    '',
    ...tightenLines(report, figure, style),
    ...notes.flatMap((note) => wrapText(`note: ${note}`, style.width)),
  ]
    .map((line) => `${line}\n`)
    .join('');
}

function chainText({ contributors, contributions }: StackReport): string {
  if (contributors.length > 12) return `sum of ${contributors.length} contributors`;
  return contributors
    .map(({ id }, index) => {
      const factor = contributions[index]?.sensitivity ?? 1;
      const size = Math.abs(factor);
      const sign = index === 0 ? (factor < 0 ? '-' : '') : factor < 0 ? '- ' : '+ ';
      return `${sign}${size === 1 ? '' : `${formatShort(size, 6)} `}${id}`;
    })
    .join(' ');
}

function limitsText({ lower, upper }: RequirementLimits): string {
  if (lower !== undefined && upper !== undefined)
    return `${formatShort(lower, 9)} to ${formatShort(upper, 9)}`;
  return lower === undefined
    ? `at most ${formatShort(upper ?? 0, 9)}`
    : `at least ${formatShort(lower, 9)}`;
}

function verdictLines(
  { verdict, worst, monteCarlo }: StackReport,
  style: Style,
): readonly string[] {
  if (verdict === undefined) return [];
  const { by, inLimits, minimum, holds } = verdict;
  const worstCase = worst.holds === true ? 'holds' : 'does not hold';
  const found =
    by === 'exact'
      ? `${percentText(inLimits)} % (exact distribution)`
      : `${sampledPercent(monteCarlo)} % (Monte Carlo)`;
  const line = `in limits ${found}, wanted ${formatShort(100 * minimum, 4)} %: ${holds ? 'holds' : 'does not hold'}; worst case ${worstCase}`;
  return [holds ? line : style.warning(line)];
}

type Figure = (value: number) => string;

/** Decimals that show a thousandth of a width. */
function figures(width: number): Figure {
  const decimals = width > 0 && Number.isFinite(width) ? 2 - Math.floor(Math.log10(width)) : 6;
  const kept = Math.max(0, Math.min(12, decimals));
  return (value) => (Number.isFinite(value) ? formatFixed(value, kept) : 'unbounded');
}

function contributorTable(report: StackReport, style: Style): readonly string[] {
  const { contributors, contributions } = report;
  const narrow = Math.min(
    ...contributors.map(({ lower, upper }) => upper - lower).filter((width) => width > 0),
  );
  const decimals = Number.isFinite(narrow)
    ? Math.max(0, Math.min(12, 2 - Math.floor(Math.log10(narrow))))
    : 6;
  const short: Figure = (value) => formatShort(value, decimals);
  return textTable(
    [
      { title: ['contributor'], align: 'left', wraps: true },
      { title: ['nominal'], align: 'decimal' },
      { title: ['lower'], align: 'decimal' },
      { title: ['upper'], align: 'decimal' },
      { title: ['shape'], align: 'left', wraps: true },
      { title: ['sigma'], align: 'decimal' },
      { title: ['slope'], align: 'decimal' },
      { title: ['variance', '%'], align: 'decimal' },
      { title: ['worst', 'case %'], align: 'decimal' },
    ],
    contributors.map(({ id, nominal, lower, upper, distribution, sigma }, index) => {
      const {
        sensitivity = 1,
        sharePercent = 0,
        worstSharePercent = 0,
      } = contributions[index] ?? {};
      return {
        cells: [
          id,
          short(nominal),
          short(lower),
          short(upper),
          distribution.replaceAll('-', ' '),
          figures(sigma)(sigma),
          formatShort(sensitivity, 4),
          formatFixed(sharePercent, 1),
          formatFixed(worstSharePercent, 1),
        ],
      };
    }),
    style,
  );
}

function methodTable(report: StackReport, figure: Figure, style: Style): readonly string[] {
  const { exact, requirement } = report;
  const judged: readonly TextColumn[] = [
    { title: ['in', 'limits %'], align: 'decimal' },
    { title: ['ppm', 'below'], align: 'decimal' },
    { title: ['ppm', 'above'], align: 'decimal' },
    { title: ['Cpk'], align: 'decimal' },
  ];
  return textTable(
    [
      { title: ['method'], align: 'left', wraps: true },
      { title: ['lower'], align: 'decimal' },
      { title: ['mean'], align: 'decimal' },
      { title: ['upper'], align: 'decimal' },
      { title: ['sigma'], align: 'decimal' },
      ...(requirement === undefined ? [] : judged),
    ],
    [
      methodRow('worst case', report.worst, figure),
      methodRow('RSS', report.rss, figure),
      methodRow('inflated RSS', report.inflatedRss, figure),
      methodRow('mean shift', report.estimatedMeanShift, figure),
      methodRow('Cp and k', report.sixSigma, figure),
      methodRow('moments', report.moments, figure),
      'reason' in exact
        ? { cells: ['exact'], notes: [exact.reason] }
        : methodRow('exact', exact, figure),
      monteCarloRow(report.monteCarlo, figure),
    ],
    style,
  );
}

function methodRow(name: string, method: MethodResult, figure: Figure): TextRow {
  const { lower, mean, upper, sigma, conformity, assumes } = method;
  return {
    cells: [
      name,
      figure(lower),
      figure(mean),
      figure(upper),
      sigma === undefined ? '' : figure(sigma),
      ...conformityCells(conformity),
    ],
    notes: [assumes],
  };
}

function conformityCells(conformity: Conformity | undefined): readonly string[] {
  if (conformity === undefined) return [];
  const { inLimits, ppmBelow, ppmAbove, cpk } = conformity;
  return [
    percentText(inLimits),
    ppmText(ppmBelow),
    ppmText(ppmAbove),
    cpk === undefined ? '' : formatFixed(cpk, 2),
  ];
}

function monteCarloRow(run: MonteCarloResult, figure: Figure): TextRow {
  const { central, mean, sigma, inLimits, ppmBelow, ppmAbove, confidence } = run;
  const { assumes, samples, seed, undefinedShare } = run;
  const sure =
    inLimits === undefined
      ? ''
      : `; in limits ${percentText(inLimits.lower)} to ${percentText(inLimits.upper)} % with ${formatShort(100 * confidence, 2)} % confidence`;
  const lost =
    undefinedShare > 0
      ? [`no value at ${percentText(undefinedShare)} % of the samples, counted as out of limits`]
      : [];
  return {
    cells: [
      'Monte Carlo',
      figure(central.lower.value),
      figure(mean.value),
      figure(central.upper.value),
      figure(sigma.value),
      ...(inLimits === undefined
        ? []
        : [sampledPercent(run), ppmText(ppmBelow?.value ?? 0), ppmText(ppmAbove?.value ?? 0)]),
    ],
    notes: [assumes, `${samples} samples, seed ${seed}${sure}`, ...lost],
  };
}

/** A run without a miss does not say that there is none. */
function sampledPercent({ inLimits }: MonteCarloResult): string {
  const { value = 0, lower = 0 } = inLimits ?? {};
  return value === 1 && lower < 1 ? `>${percentText(lower)}` : percentText(value);
}

/** Three figures, and nothing finer than a thousandth. */
function ppmText(ppm: number): string {
  if (ppm === 0) return '0';
  if (ppm < 0.001) return '<0.001';
  return formatShort(ppm, Math.max(0, Math.min(3, 2 - Math.floor(Math.log10(ppm)))));
}

function tightenLines(report: StackReport, figure: Figure, style: Style): readonly string[] {
  const shown = report.tightenFirst
    .filter(({ sigmaGainPercent, worstGain }) => sigmaGainPercent > 0 || worstGain > 0)
    .slice(0, tighteningsShown);
  if (shown.length === 0) return [];
  const judged = report.requirement !== undefined;
  return [
    style.bold('Tighten this first (each by 10 %, alone)'),
    ...textTable(
      [
        { title: ['contributor'], align: 'left', wraps: true },
        { title: ['sigma', 'falls %'], align: 'decimal' },
        { title: ['worst case', `falls ${report.unit}`], align: 'decimal' },
        ...(judged
          ? ([
              { title: ['in limits', '%'], align: 'decimal' },
              { title: ['fewer out', 'ppm'], align: 'decimal' },
            ] as const)
          : []),
      ],
      shown.map(({ id, sigmaGainPercent, worstGain, inLimits, inLimitsGain = 0 }) => ({
        cells: [
          id,
          formatFixed(sigmaGainPercent, 2),
          figure(worstGain),
          ...(inLimits === undefined
            ? []
            : [percentText(inLimits), ppmText(Math.max(0, 1e6 * inLimitsGain))]),
        ],
      })),
      style,
    ),
  ];
}
