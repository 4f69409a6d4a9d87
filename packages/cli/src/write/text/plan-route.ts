import { formatFixed, formatShort, type Operation, type Plan } from '@offplate/core';
import { amountText, minutesText } from './numbers.js';
import type { Style } from './style.js';
import { textTable } from './table.js';

/** The operations in the order of working, with the reasons of each on request. */
export function routeTable(plan: Plan, why: boolean, style: Style): readonly string[] {
  const { cost } = plan;
  return textTable(
    [
      { title: ['op'], align: 'decimal' },
      { title: ['operation'], align: 'left', wraps: true },
      { title: ['where'], align: 'left', wraps: true },
      { title: ['features'], align: 'left', wraps: true },
      { title: ['set-up', 'min'], align: 'decimal' },
      { title: ['run lot', 'min'], align: 'decimal' },
      { title: ['a part', cost.currency], align: 'decimal' },
      { title: ['', 'days'], align: 'decimal' },
    ],
    plan.operations.map((operation) => ({
      cells: [
        String(operation.seq),
        operation.title,
        placeOf(operation),
        operation.features.join(' '),
        minutesText(operation.setupMinutes),
        minutesText(operation.runMinutes),
        amountText(operation.costPerPart, cost),
        formatFixed(operation.leadDays, 1),
      ],
      notes: notesOf(operation, why),
    })),
    style,
  );
}

function placeOf({ workCentre: { name, sourcing } }: Operation): string {
  return sourcing === 'outside' && !/\boutside\b/i.test(name) ? `${name} (outside)` : name;
}

function notesOf(operation: Operation, why: boolean): readonly string[] {
  const hold = operation.holdPoint === undefined ? [] : [`hold: ${operation.holdPoint}`];
  if (!why) return hold;
  const located = operation.locatedOn === undefined ? [] : [`located on: ${operation.locatedOn}`];
  const parameters = operation.parameters.map(
    ({ name, value, confidence }) =>
      `${name}: ${value}${confidence === undefined ? '' : ` (${confidence})`}`,
  );
  return [...hold, ...reasonNotes(operation.reasons), ...located, ...parameters];
}

/** Reasons in words one by one; those that only name a requirement together. */
function reasonNotes(reasons: Operation['reasons']): readonly string[] {
  const inWords: string[] = [];
  const asked: string[] = [];
  for (const { text, requirement } of reasons) {
    if (requirement === undefined) inWords.push(`why: ${text}`);
    else {
      const { feature, text: requirementText } = requirement;
      if (text === `${feature}: ${requirementText}`) asked.push(`${feature} ${requirementText}`);
      else inWords.push(`why: ${text} (${feature} ${requirementText})`);
    }
  }
  return asked.length === 0 ? inWords : [...inWords, `asked by: ${asked.join(', ')}`];
}

/** Limits and target after each step, and what is left to take off. */
export function workingDimensionTable(
  operations: readonly Operation[],
  style: Style,
): readonly string[] {
  const rows = operations.flatMap((operation) =>
    operation.workingDimensions.map((dimension) => {
      const decimals = dimension.unit === 'um' ? 2 : 3;
      return {
        cells: [
          String(operation.seq),
          dimension.feature,
          dimension.step,
          `${dimension.diametral ? '⌀ ' : ''}${dimension.what}`,
          formatFixed(dimension.lower, decimals),
          formatFixed(dimension.target, decimals),
          formatFixed(dimension.upper, decimals),
          dimension.unit === 'um' ? 'µm' : dimension.unit,
          formatShort(dimension.stockLeftPerSideMm, 3),
        ],
      };
    }),
  );
  return textTable(
    [
      { title: ['op'], align: 'decimal' },
      { title: ['feature'], align: 'left' },
      { title: ['after'], align: 'left', wraps: true },
      { title: ['what'], align: 'left', wraps: true },
      { title: ['lower'], align: 'decimal' },
      { title: ['aim at'], align: 'decimal' },
      { title: ['upper'], align: 'decimal' },
      { title: ['unit'], align: 'left' },
      { title: ['stock left', 'mm a side'], align: 'decimal' },
    ],
    rows,
    style,
  );
}
