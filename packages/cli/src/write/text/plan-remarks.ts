import type { Confidence, Finding, Plan } from '@offplate/core';
import { amountText, daysText } from './numbers.js';
import type { Style } from './style.js';
import { indented, textTable } from './table.js';

/** What to do about a value before it is relied on. */
const advice: Readonly<Record<Confidence, string>> = {
  read: 'read',
  memory: 'memory: confirm',
  practice: 'practice: confirm',
  computed: 'computed',
  invented: 'invented: replace',
  given: 'given',
};

/** Source of a value that has none; its confidence says the same. */
export const unsourced = 'common practice, no source';

/** Values that the plan used although the job did not give them; those to act on come first. */
export function assumptionTable({ assumptions }: Plan, style: Style): readonly string[] {
  const doubtful = assumptions.filter(({ confidence }) => advice[confidence].includes(':'));
  const rest = assumptions.filter((assumption) => !doubtful.includes(assumption));
  return textTable(
    [
      { title: ['what'], align: 'left', wraps: true },
      { title: ['value'], align: 'left', wraps: true },
      { title: ['confidence'], align: 'left' },
      { title: ['source'], align: 'left', wraps: true },
    ],
    [...doubtful, ...rest].map(({ what, value, source, confidence }) => ({
      cells: [what, value, advice[confidence], source === unsourced ? '' : source],
    })),
    style,
  );
}

export function findingLines(findings: readonly Finding[], style: Style): readonly string[] {
  return findings.flatMap(({ severity, message, about }) => {
    const place = about === undefined ? '' : `${about}: `;
    const lines = hanging(`${severity}: ${place}${message}`, style.width);
    return severity === 'note' ? lines : lines.map((line) => style.warning(line));
  });
}

export function cautionLines({ cautions }: Plan, style: Style): readonly string[] {
  return cautions.flatMap(({ text, operations }) =>
    hanging(operations.length === 0 ? text : `op ${operations.join(', ')}: ${text}`, style.width),
  );
}

/** Requirements worth a talk with the customer. */
export function questionTable({ questions, cost }: Plan, style: Style): readonly string[] {
  return textTable(
    [
      { title: ['feature'], align: 'left' },
      { title: ['if it were'], align: 'left', wraps: true },
      { title: ['saves a part', cost.currency], align: 'decimal' },
      { title: ['saves'], align: 'left' },
    ],
    questions.map(({ feature, change, savesPerPart, savesDays }) => ({
      cells: [feature, change, amountText(savesPerPart, cost), daysText(savesDays)],
    })),
    style,
  );
}

/** Lines after the first are indented. */
function hanging(text: string, width: number): readonly string[] {
  return indented(text, 2, width).map((line, index) => (index === 0 ? line.slice(2) : line));
}
