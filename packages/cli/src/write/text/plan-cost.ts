import { formatFixed, type Plan, type QuantityBreak } from '@offplate/core';
import { amountText, counted, moneyText } from './numbers.js';
import { partLine, scheduleLines } from './plan-head.js';
import { dateLines } from './plan-schedule.js';
import type { Style } from './style.js';
import { textTable } from './table.js';
import { wrapText } from './width.js';

/** Price at other quantities, and where the best route changes. */
export function breakTable({ cost }: Plan, style: Style): readonly string[] {
  return textTable(
    [
      { title: ['quantity'], align: 'decimal' },
      { title: ['a part', cost.currency], align: 'decimal' },
      { title: ['the lot', cost.currency], align: 'decimal' },
      { title: ['days'], align: 'decimal' },
      { title: ['change of the route'], align: 'left', wraps: true },
    ],
    cost.breaks.map((entry: QuantityBreak) => ({
      cells: entry.feasible
        ? [
            String(entry.quantity),
            amountText(entry.perPart, cost),
            amountText(entry.perLot, cost),
            formatFixed(entry.days, 1),
            entry.routeChanges.join('; '),
          ]
        : [String(entry.quantity), '', '', '', 'not feasible'],
    })),
    style,
  );
}

/** The quote as text: every money line with its reckoning, the sums, the quantity breaks, the dates. */
export function quoteText(plan: Plan, style: Style): string {
  const { job, cost } = plan;
  const lines = textTable(
    [
      { title: ['line'], align: 'left' },
      { title: ['for'], align: 'left', wraps: true },
      { title: ['the lot', cost.currency], align: 'decimal' },
      { title: ['reckoned as'], align: 'left', wraps: true },
    ],
    [
      ...cost.lines.map((line) => ({
        cells: [line.id, line.label, amountText(line.amount, cost), line.formula],
      })),
      { cells: ['', 'the lot', amountText(cost.perLot, cost), ''] },
    ],
    style,
  );
  return [
    partLine(plan, style),
    `${counted(job.quantity, 'part')} · ${moneyText(cost.perPart, cost)} a part · ${moneyText(cost.perLot, cost)} the lot`,
    ...wrapText(
      `prices of ${cost.priceYear}; the rates of the built-in catalogue are invented, a shop folder brings your own`,
      style.width,
    ),
    ...scheduleLines(plan.schedule, style),
    '',
    ...lines,
    ...wrapText('offplate quote <job> --explain <line> shows where a line comes from', style.width),
    ...(cost.breaks.length === 0
      ? []
      : ['', style.bold('Quantity breaks'), ...breakTable(plan, style)]),
    ...(plan.schedule.critical.length === 0
      ? []
      : ['', style.bold('What decides the date'), ...dateLines(plan, style)]),
    '',
  ].join('\n');
}
