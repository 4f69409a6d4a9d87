import type { Operation, Plan } from '../plan/types.js';
import { drawingTexts } from './drawing-text.js';
import { dimensionText } from './print-numbers.js';
import type { TableBlock } from './types.js';

/**
 * The characteristics that this operation checks: those whose method is the operation's own process
 * (an NDT visit), and at the last inspection all that no other operation checks.
 */
export function inspectionTable(plan: Plan, operation: Operation): readonly TableBlock[] {
  if (operation.kind !== 'inspection') return [];
  const inspections = plan.operations.filter((each) => each.kind === 'inspection');
  const processes = new Set(inspections.map((each) => each.process));
  const last = inspections.at(-1)?.seq === operation.seq;
  const items = plan.inspection.filter(
    (item) => item.method === operation.process || (last && !processes.has(item.method)),
  );
  if (items.length === 0) return [];
  const texts = drawingTexts(plan.features);
  return [
    {
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
    },
  ];
}

function acceptText(value: number | undefined, item: Plan['inspection'][number]): string {
  if (value === undefined) return '';
  const unit = item.unit ?? 'mm';
  return dimensionText(value, {
    lower: item.acceptLower ?? Number.NEGATIVE_INFINITY,
    upper: item.acceptUpper ?? Number.POSITIVE_INFINITY,
    unit,
  });
}
