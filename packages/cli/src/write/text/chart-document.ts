import {
  type ChartAssignment,
  type ChartInput,
  type ChartResult,
  chartText,
  formatMm,
  formatShort,
} from '@offplate/core';
import type { Style } from './style.js';
import { textTable } from './table.js';

type Assigned = Extract<ChartAssignment, { readonly feasible: true }>;
type Impossible = Extract<ChartAssignment, { readonly feasible: false }>;

/** An operation chart for a person; with costs, how its tolerances were chosen. */
export function chartDocument(
  input: ChartInput,
  result: ChartResult | ChartAssignment,
  style: Style,
): string {
  const lines =
    'schema' in result
      ? chartText(input, result)
      : result.feasible
        ? [...chartText(input, result.chart), '', ...costLines(result, style)]
        : impossibleLines(result, style);
  return `${lines.join('\n')}\n`;
}

const stoppedBy: Readonly<Record<Assigned['allocation']['tolerances'][number]['at'], string>> = {
  fixed: 'given',
  lower: 'at its smallest',
  upper: 'at its largest',
  between: '',
};

function costLines({ allocation }: Assigned, style: Style): readonly string[] {
  const { cost, tolerances, status, certificate } = allocation;
  const proof =
    status === 'optimal'
      ? 'no choice of tolerances costs less'
      : `the search was cut short: the least cost is ${formatShort(certificate.lowerBound, 4)} or more`;
  return [
    style.bold('Tolerances at least cost'),
    ...textTable(
      [
        { title: ['cut'], align: 'left' },
        { title: ['± mm'], align: 'decimal' },
        { title: ['cost'], align: 'decimal' },
        { title: ['process'], align: 'left' },
        { title: [''], align: 'left' },
      ],
      tolerances.map(({ id, tolerance, cost: each, at, process = '' }) => ({
        cells: [id, formatMm(tolerance), formatShort(each, 4), process, stoppedBy[at]],
      })),
      style,
    ),
    `total ${formatShort(cost, 4)}; ${proof}`,
  ];
}

function impossibleLines({ impossible }: Impossible, style: Style): readonly string[] {
  return [
    style.warning('No tolerances within the bounds of the cuts meet these chains:'),
    ...textTable(
      [
        { title: ['chain'], align: 'left' },
        { title: ['allowed', '± mm'], align: 'decimal' },
        { title: ['least', '± mm'], align: 'decimal' },
        { title: ['cuts, each at its smallest'], align: 'left', wraps: true },
      ],
      impossible.map(({ id, limit, least, contributors }) => ({
        cells: [
          id,
          formatMm(limit),
          formatMm(least),
          contributors
            .map(({ id: cut, tolerance }) => `${cut} ±${formatShort(tolerance, 4)}`)
            .join(', '),
        ],
      })),
      style,
    ),
  ];
}
