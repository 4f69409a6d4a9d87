import { formatFixed, type Plan, type Relaxation, type RelaxReport } from '@offplate/core';
import { amountText, counted, moneyText } from './numbers.js';
import { partLine } from './plan-head.js';
import type { Style } from './style.js';
import { textTable } from './table.js';
import { wrapText } from './width.js';

/** Questions printed in full above the table. */
const questionsShown = 8;

/** The list for the talk with the customer as text. */
export function relaxText(report: RelaxReport, plan: Plan, style: Style): string {
  const { base, single, together, freeToTighten, tighter, atTheLimit } = report;
  return [
    partLine(plan, style),
    `${counted(plan.job.quantity, 'part')} · ${moneyText(base.perPart, report)} a part · ${formatFixed(base.days, 1)} working days as it stands`,
    '',
    style.bold('Questions for the customer, most saving first'),
    ...(single.length === 0 ? ['nothing saves: no single requirement holds the price up'] : []),
    ...best(single.filter(isFelt))
      .slice(0, questionsShown)
      .flatMap((entry) => wrapText(`- ${entry.question}`, style.width)),
    ...section('What each looser class saves', single.filter(isFelt), report, style),
    ...(single.every(isFelt)
      ? []
      : [
          style.faint(
            `${counted(single.filter((entry) => !isFelt(entry)).length, 'more class', 'more classes')} save less than the least coin a part`,
          ),
        ]),
    ...section('Only together', together, report, style),
    ...together
      .slice(0, questionsShown)
      .flatMap((entry) => wrapText(`- ${entry.question}`, style.width)),
    ...section('Tighter for nothing', freeToTighten, report, style),
    ...section('What one class tighter costs', tighter, report, style),
    ...(atTheLimit.length === 0
      ? []
      : [
          '',
          style.bold('One class tighter cannot be made'),
          ...wrapText(
            atTheLimit.map(({ feature, from }) => `${feature} ${from}`).join('; '),
            style.width,
          ),
        ]),
    '',
  ].join('\n');
}

/** Worth a line: it shows in the price of a part or in the days. */
function isFelt({ savesPerPart, savesDays }: Relaxation): boolean {
  return savesPerPart !== 0 || Math.abs(savesDays) >= 0.05;
}

/** The best class of each requirement. */
function best(entries: readonly Relaxation[]): readonly Relaxation[] {
  const seen = new Set<string>();
  return entries.filter(({ changes }) => {
    const key = changes.map((change) => change.requirement).join('+');
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
}

function section(
  title: string,
  entries: readonly Relaxation[],
  report: RelaxReport,
  style: Style,
): readonly string[] {
  if (entries.length === 0) return [];
  return [
    '',
    style.bold(title),
    ...textTable(
      [
        { title: ['feature'], align: 'left' },
        { title: ['from'], align: 'left', wraps: true },
        { title: ['to'], align: 'left', wraps: true },
        { title: ['saves', 'a part'], align: 'decimal' },
        { title: ['days'], align: 'decimal' },
        { title: ['change of the route'], align: 'left', wraps: true },
      ],
      entries.map(({ changes, savesPerPart, savesDays, routeChanges }) => ({
        cells: [
          [...new Set(changes.map((change) => change.feature))].join(' + '),
          changes.map((change) => change.from).join('; '),
          changes.map((change) => change.to).join('; '),
          amountText(savesPerPart, report),
          formatFixed(savesDays, 1),
          routeChanges.join('; '),
        ],
      })),
      style,
    ),
  ];
}
