import type { InspectionItem, Operation, Plan } from '../plan/types.js';
import { drawingTexts } from './drawing-text.js';
import { dimensionText } from './print-numbers.js';
import type { TableBlock } from './types.js';

/**
 * What this operation checks: one by one the characteristics whose method is the operation's own
 * process (an NDT visit); at the last inspection, by method, all that no other operation checks, for
 * their limits and records stand on the inspection sheet.
 */
export function inspectionTable(plan: Plan, operation: Operation): readonly TableBlock[] {
  if (operation.kind !== 'inspection') return [];
  const inspections = plan.operations.filter((each) => each.kind === 'inspection');
  const processes = new Set(inspections.map((each) => each.process));
  const own = plan.inspection.filter((item) => item.method === operation.process);
  const last = inspections.at(-1)?.seq === operation.seq;
  const rest = last ? plan.inspection.filter((item) => !processes.has(item.method)) : [];
  return [
    ...(own.length === 0 ? [] : [itemTable(plan, own)]),
    ...(rest.length === 0 ? [] : [methodTable(rest)]),
  ];
}

function itemTable(plan: Plan, items: readonly InspectionItem[]): TableBlock {
  const texts = drawingTexts(plan.features);
  return {
    type: 'table',
    title: 'Characteristics to inspect; limits already inside the guard band',
    columns: [
      { title: 'No.', align: 'decimal' },
      { title: 'Feature', align: 'left' },
      { title: 'Requirement', align: 'left' },
      { title: 'Method', align: 'left' },
      { title: 'Accept from', align: 'decimal' },
      { title: 'Accept to', align: 'decimal' },
      { title: 'Unit', align: 'left' },
      { title: 'Parts', align: 'decimal' },
      { title: 'Found', align: 'left', entryWidthMm: 20 },
      { title: 'OK', align: 'left', entryWidthMm: 9 },
    ],
    rows: items.map((item) => [
      String(item.number),
      item.feature,
      texts.byId(item.requirement) ?? item.text,
      item.methodName,
      acceptText(item.acceptLower, item),
      acceptText(item.acceptUpper, item),
      item.unit === undefined ? '' : item.unit === 'um' ? 'µm' : 'mm',
      String(item.sample),
      '',
      '',
    ]),
  };
}

function methodTable(items: readonly InspectionItem[]): TableBlock {
  const methods = [...new Set(items.map((item) => item.method))];
  return {
    type: 'table',
    title: 'Measure and record on the inspection sheet',
    columns: [
      { title: 'Method', align: 'left' },
      { title: 'Characteristics', align: 'decimal' },
      { title: 'Numbers on the inspection sheet', align: 'left' },
      { title: 'Parts', align: 'left' },
      { title: 'Good', align: 'left', entryWidthMm: 14 },
      { title: 'Done by, date', align: 'left', entryWidthMm: 30 },
    ],
    rows: methods.map((method) => {
      const own = items.filter((item) => item.method === method);
      return [
        own[0]?.methodName ?? method,
        String(own.length),
        ranges(own.map((item) => item.number)),
        [...new Set(own.map((item) => item.sample))].sort((a, b) => a - b).join(' or '),
        '',
        '',
      ];
    }),
  };
}

/** `1, 3 to 5, 8`; numbers rising. */
function ranges(numbers: readonly number[]): string {
  const runs: [number, number][] = [];
  for (const number of numbers) {
    const run = runs.at(-1);
    if (run !== undefined && run[1] === number - 1) run[1] = number;
    else runs.push([number, number]);
  }
  return runs
    .map(([from, to]) =>
      from === to ? `${from}` : to === from + 1 ? `${from}, ${to}` : `${from} to ${to}`,
    )
    .join(', ');
}

function acceptText(value: number | undefined, item: InspectionItem): string {
  if (value === undefined) return '';
  const unit = item.unit ?? 'mm';
  return dimensionText(value, {
    lower: item.acceptLower ?? Number.NEGATIVE_INFINITY,
    upper: item.acceptUpper ?? Number.POSITIVE_INFINITY,
    unit,
  });
}
