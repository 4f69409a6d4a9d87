import { formatFixed, type MissingAnswers, type Plan } from '@offplate/core';
import { amountText, counted, moneyText } from './numbers.js';
import { partLine } from './plan-head.js';
import type { Style } from './style.js';
import { textTable } from './table.js';
import { wrapText } from './width.js';

/** What the job leaves open as text: the questions in full, then what each answer does. */
export function askText(report: MissingAnswers, plan: Plan, style: Style): string {
  const { base, questions, noMatter } = report;
  return [
    partLine(plan, style),
    `${counted(report.quantity, 'part')} · ${moneyText(base.perPart, report)} a part · ${formatFixed(base.days, 1)} working days as assumed`,
    '',
    ...(questions.length === 0
      ? ['Nothing to ask: whatever the job leaves open moves neither cost nor days.']
      : [
          style.bold('Questions, most telling first'),
          ...questions.flatMap(({ question }, index) => hanging(`${index + 1}. `, question, style)),
          '',
          style.bold('What each answer does'),
          ...effectTable(report, style),
        ]),
    ...(noMatter.length === 0
      ? []
      : [
          '',
          style.bold('Open, but of no matter to cost and days'),
          ...noMatter.flatMap(({ question }) => hanging('- ', question, style)),
        ]),
    '',
  ].join('\n');
}

function hanging(mark: string, text: string, style: Style): readonly string[] {
  return wrapText(text, style.width - mark.length).map(
    (line, index) => `${index === 0 ? mark : ' '.repeat(mark.length)}${line}`,
  );
}

function effectTable(report: MissingAnswers, style: Style): readonly string[] {
  return textTable(
    [
      { title: [''], align: 'decimal' },
      { title: ['assumed'], align: 'left', wraps: true },
      { title: ['if it were'], align: 'left', wraps: true },
      { title: ['saves a part', report.currency], align: 'decimal' },
      { title: ['saves', 'days'], align: 'decimal' },
      { title: ['change of the route'], align: 'left', wraps: true },
    ],
    report.questions.flatMap(({ assumed, answers }, at) =>
      answers.map((entry, index) => ({
        cells: [
          index === 0 ? String(at + 1) : '',
          index === 0 ? assumed : '',
          entry.answer,
          entry.feasible ? amountText(entry.savesPerPart ?? 0, report) : '',
          entry.feasible ? formatFixed(entry.savesDays ?? 0, 1) : '',
          entry.feasible ? (entry.routeChanges ?? []).join('; ') : 'cannot be made as drawn',
        ],
      })),
    ),
    style,
  );
}
