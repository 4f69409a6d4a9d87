import { type BreakEvens, formatFixed, type Plan } from '@offplate/core';
import { amountText, counted } from './numbers.js';
import { partLine } from './plan-head.js';
import type { Style } from './style.js';
import { textTable } from './table.js';
import { wrapText } from './width.js';

/** Lot sizes at which the best route changes, as text. */
export function breakEvenText(report: BreakEvens, plan: Plan, style: Style): string {
  const { changes, currency, from, to, solved } = report;
  const head =
    changes.length === 0
      ? `One route is the best from ${from} to ${to} parts.`
      : `The best route changes ${changes.length === 1 ? 'once' : `${changes.length} times`} from ${from} to ${to} parts.`;
  return [
    partLine(plan, style),
    ...wrapText(`${head} ${counted(solved.length, 'lot size')} planned.`, style.width),
    ...(changes.length === 0
      ? []
      : [
          '',
          ...textTable(
            [
              { title: ['from'], align: 'decimal' },
              { title: ['a part', currency], align: 'decimal' },
              { title: ['the lot', currency], align: 'decimal' },
              { title: ['by the', 'old route'], align: 'decimal' },
              { title: ['days'], align: 'decimal' },
              { title: ['change of the route'], align: 'left', wraps: true },
            ],
            changes.map((change) => ({
              cells: [
                String(change.quantity),
                amountText(change.perPart, report),
                amountText(change.perLot, report),
                change.oldRoutePerLot === undefined
                  ? ''
                  : amountText(change.oldRoutePerLot, report),
                formatFixed(change.days, 1),
                change.routeChanges.join('; '),
              ],
            })),
            style,
          ),
        ]),
    '',
  ].join('\n');
}
