import { formatFixed, formatShort, type PartsToStart, type Plan } from '@offplate/core';
import { counted, moneyText, percentText } from './numbers.js';
import { partLine } from './plan-head.js';
import type { Style } from './style.js';
import { textTable } from './table.js';
import { wrapText } from './width.js';

/** How many parts to start, as text. */
export function startText(report: PartsToStart, plan: Plan, style: Style): string {
  const { ordered, start, target, enough, enoughWithoutSpare, good, cost } = report;
  const spare = start - ordered;
  const doubtful = report.operations.some(({ confidence }) => confidence === 'invented');
  return [
    partLine(plan, style),
    style.bold(`Start ${counted(start, 'part')} for ${ordered} good, ${spare} to spare`),
    ...wrapText(
      `${percentText(good)} % of the parts started are expected to end good: ${percentText(enough)} % sure of ${ordered}, ${formatShort(target * 100, 4)} % wanted; without spare parts ${percentText(enoughWithoutSpare)} %.`,
      style.width,
    ),
    ...(doubtful
      ? [style.warning('shares of the built-in catalogue are invented: replace them with --shop')]
      : []),
    '',
    ...textTable(
      [
        { title: ['operation'], align: 'left', wraps: true },
        { title: ['where'], align: 'left', wraps: true },
        { title: ['steps', 'a part'], align: 'decimal' },
        { title: ['lost', '%'], align: 'decimal' },
        { title: ['passes'], align: 'decimal' },
        { title: ['parts', 'left'], align: 'decimal' },
      ],
      report.operations.map((entry) => ({
        cells: [
          entry.operation,
          entry.workCentre,
          String(entry.steps),
          formatFixed(entry.lost * 100, 2),
          formatFixed(entry.passes, 3),
          formatFixed(entry.expectedThrough, 1),
        ],
      })),
      style,
    ),
    '',
    ...textTable(
      [
        { title: ['cost'], align: 'left' },
        { title: [''], align: 'decimal' },
      ],
      [
        { cells: ['the lot with none lost', moneyText(cost.orderedLot, report)] },
        { cells: ['the spare parts', moneyText(cost.spare, report)] },
        { cells: ['the lot as started', moneyText(cost.startedLot, report)] },
        { cells: ['each good part', moneyText(cost.perGoodPart, report)] },
        { cells: ['expected in it: spent on parts lost', moneyText(cost.expectedScrap, report)] },
        {
          cells: ['expected on top: run time of rework', moneyText(cost.expectedRework, report)],
        },
      ],
      style,
    ),
    '',
  ].join('\n');
}
