import { formatShort, type Plan, type SpanKind } from '@offplate/core';
import { amountText, counted } from './numbers.js';
import type { Style } from './style.js';
import { textTable } from './table.js';
import { printable, wrapText } from './width.js';

const spanTexts: readonly (readonly [kind: SpanKind, text: string])[] = [
  ['turnaround', 'at suppliers'],
  ['queue', 'in queues'],
  ['set-up', 'of set-up'],
  ['work', 'of work'],
];

/** The longest stretches that are named one by one. */
const mostNamed = 4;

/** What the ready date hangs on, and what would bring it in. */
export function dateLines(plan: Plan, style: Style): readonly string[] {
  const { schedule } = plan;
  const lines = [
    shareLine(plan),
    longestLine(plan),
    dueLine(plan),
    ...(schedule.transferBatch === undefined
      ? []
      : [`the lot moves on in batches of ${counted(schedule.transferBatch, 'part')}`]),
    ...(schedule.calendar.closedOn.length === 0
      ? []
      : [`nobody works on ${schedule.calendar.closedOn.join(', ')}`]),
  ].filter((line) => line !== undefined);
  return [...lines.flatMap((line) => wrapText(line, style.width)), ...shorteningTable(plan, style)];
}

function shareLine({ schedule }: Plan): string {
  const parts = spanTexts.flatMap(([kind, text]) => {
    const days = schedule.critical
      .filter(({ what }) => what === kind)
      .reduce((sum, span) => sum + span.days, 0);
    return days < 0.05 ? [] : [`${formatShort(days, 1)} ${text}`];
  });
  const { hoursPerDay, daysPerWeek } = schedule.calendar;
  return `${formatShort(schedule.days, 1)} working days of ${formatShort(hoursPerDay, 1)} h, ${daysPerWeek} a week: ${parts.join(', ')}`;
}

/** The critical path by its longest stretches, in the order of working. */
function longestLine({ schedule, operations }: Plan): string | undefined {
  const longest = new Set(
    [...schedule.critical].sort((a, b) => b.days - a.days).slice(0, mostNamed),
  );
  if (longest.size === 0) return undefined;
  const named = schedule.critical
    .filter((span) => longest.has(span))
    .map(({ operation, what, days }) => {
      const title = operations.find(({ seq }) => seq === operation)?.title ?? '';
      return `${what} of ${operation} ${title}, ${formatShort(days, 1)}`;
    });
  return printable(`the date hangs most on, in days: ${named.join('; ')}`);
}

function dueLine({ schedule }: Plan): string | undefined {
  const { dueOn, startBy, spareDays, late } = schedule;
  if (dueOn === undefined || startBy === undefined) return undefined;
  const spare =
    spareDays === undefined || late ? '' : `: ${counted(spareDays, 'working day')} to spare`;
  return `due ${dueOn}${spare}; start by ${startBy} at the latest`;
}

function shorteningTable({ schedule, cost }: Plan, style: Style): readonly string[] {
  if (schedule.shortenings.length === 0) return [];
  const dated = schedule.readyOn !== undefined;
  return textTable(
    [
      { title: ['what would bring it in'], align: 'left', wraps: true },
      { title: ['saves', 'days'], align: 'decimal' },
      ...(dated ? [{ title: ['ready'], align: 'left' as const }] : []),
      { title: ['adds, lot', cost.currency], align: 'decimal' },
    ],
    schedule.shortenings.map(({ what, savesDays, readyOn, late, costsPerLot }) => ({
      cells: [
        what,
        formatShort(savesDays, 1),
        ...(dated ? [`${readyOn ?? ''}${late === true ? ', late' : ''}`] : []),
        costsPerLot === undefined ? '' : amountText(costsPerLot, cost),
      ],
    })),
    style,
  );
}
