import type { Plan } from '@offplate/core';
import { counted, minutesText } from './numbers.js';
import { breakTable } from './plan-cost.js';
import { featureLines, stockLines, thermalLines } from './plan-features.js';
import { conflictLines, partLine, planHead } from './plan-head.js';
import { assumptionTable, cautionLines, findingLines, questionTable } from './plan-remarks.js';
import { routeTable, workingDimensionTable } from './plan-route.js';
import { dateLines } from './plan-schedule.js';
import type { Style } from './style.js';

export interface PlanTextOptions {
  /** Reasons, location and parameters under each operation. */
  readonly why: boolean;
  /** Working dimensions of every operation. */
  readonly dimensions: boolean;
}

/** The plan for a person at a terminal. */
export function planText(plan: Plan, options: PlanTextOptions, style: Style): string {
  const sections: readonly (readonly [
    title: string,
    wanted: boolean,
    lines: () => readonly string[],
  ])[] = [
    ['Conflicts', plan.conflicts.length > 0, () => conflictLines(plan.conflicts, style)],
    ['Route', plan.operations.length > 0, () => routeTable(plan, options.why, style)],
    [
      'Working dimensions',
      options.dimensions && plan.operations.length > 0,
      () => workingDimensionTable(plan.operations, style),
    ],
    ['Features', plan.features.length > 0, () => featureLines(plan, style)],
    ['Heat treatment', plan.thermal.cycles.length > 0, () => thermalLines(plan, style)],
    ['Inspection', plan.inspection.length > 0, () => [inspectionLine(plan)]],
    ['What decides the date', plan.schedule.critical.length > 0, () => dateLines(plan, style)],
    ['Quantity breaks', plan.cost.breaks.length > 0, () => breakTable(plan, style)],
    ['Worth asking the customer', plan.questions.length > 0, () => questionTable(plan, style)],
    ['Findings', plan.findings.length > 0, () => findingLines(plan.findings, style)],
    ['Assumptions', plan.assumptions.length > 0, () => assumptionTable(plan, style)],
    ['Cautions', plan.cautions.length > 0, () => cautionLines(plan, style)],
  ];
  const body = sections
    .filter(([, wanted]) => wanted)
    .flatMap(([title, , lines]) => ['', style.bold(title), ...lines()]);
  return `${[...planHead(plan, style), ...body].join('\n')}\n`;
}

function inspectionLine({ inspection }: Plan): string {
  const methods = new Set(inspection.map(({ method }) => method));
  const minutes = inspection.reduce((sum, { minutesPerPart }) => sum + minutesPerPart, 0);
  const characteristics = counted(inspection.length, 'characteristic');
  return `${characteristics} by ${counted(methods.size, 'method')}, ${minutesText(minutes)} min a part`;
}

/** The stock map for a person at a terminal. */
export function stockText(plan: Plan, style: Style): string {
  return `${[partLine(plan, style), ...stockLines(plan, style)].join('\n')}\n`;
}
