import type { Frontier, Job } from '@offplate/core';
import { amountText, counted } from './numbers.js';
import type { Style } from './style.js';
import { textTable } from './table.js';
import { printable, wrapText } from './width.js';

/** Money against days as text. */
export function frontierText(report: Frontier, { part, order }: Job, style: Style): string {
  const { points, currency } = report;
  const [cheapest] = points;
  const quickest = points.at(-1);
  const verdict =
    points.length === 1
      ? 'The cheapest route is also the quickest: money buys no time.'
      : `From ${counted(cheapest?.wholeDays ?? 0, 'working day')} down to ${quickest?.wholeDays ?? 0}, for ${currency} ${amountText(quickest?.extraPerLot ?? 0, report)} more the lot.`;
  const dated = points.some(({ readyOn }) => readyOn !== undefined);
  const due = order.dueOn === undefined || !dated ? '' : ` Due ${order.dueOn}.`;
  return [
    style.bold(printable(`${part.name} · ${part.number}-${part.revision}`)),
    counted(report.quantity, 'part'),
    ...wrapText(`${verdict}${due}`, style.width),
    ...(report.proven
      ? []
      : [style.warning('not proven: a solve met its node limit, a better trade may be missing')]),
    '',
    ...textTable(
      [
        { title: ['working', 'days'], align: 'decimal' },
        ...(dated ? [{ title: ['ready'], align: 'left' } as const] : []),
        { title: ['a part', currency], align: 'decimal' },
        { title: ['the lot', currency], align: 'decimal' },
        { title: ['above the', 'cheapest'], align: 'decimal' },
        { title: ['a day', 'gained'], align: 'decimal' },
        { title: ['change of the route', 'against the line above'], align: 'left', wraps: true },
      ],
      points.map((point, index) => ({
        cells: [
          String(point.wholeDays),
          ...(dated ? [readyText(point.readyOn, order.dueOn)] : []),
          amountText(point.perPart, report),
          amountText(point.perLot, report),
          index === 0 ? '' : amountText(point.extraPerLot, report),
          index === 0 ? '' : amountText(point.extraPerDay, report),
          index === 0
            ? ''
            : point.routeChanges.length === 0
              ? 'same places, other work in them'
              : point.routeChanges.join('; '),
        ],
      })),
      style,
    ),
    '',
  ].join('\n');
}

function readyText(readyOn: string | undefined, dueOn: string | undefined): string {
  if (readyOn === undefined) return '';
  return dueOn !== undefined && readyOn > dueOn ? `${readyOn}, late` : readyOn;
}
