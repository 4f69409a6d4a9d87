import type { Operation, Plan, PlannedFeature, ThermalCycle } from '../plan/types.js';
import type { Confidence } from '../problems/finding.js';
import { dimensionText, duration, fixed, shortest, workingDays } from './print-numbers.js';
import { workCentreText } from './traveller-front.js';
import type { Block, Column, Field, OperationBlock, TableBlock } from './types.js';

type InnerBlock = OperationBlock['blocks'][number];

/** All that the people at one work centre need, down to the signature. */
export function operationBlock(plan: Plan, operation: Operation): OperationBlock {
  return {
    type: 'operation',
    number: operation.seq,
    title: operation.title,
    workCentre: workCentreText(operation.workCentre),
    blocks: [
      { type: 'fields', across: 4, fields: setupFields(operation) },
      ...cautionBox(plan, operation),
      ...reasonList(operation),
      ...stepTable(plan, operation),
      ...parameterFields(plan, operation),
      ...workingDimensionTable(plan, operation),
      ...inspectionTable(plan, operation),
      ...holdPoint(operation),
      { type: 'sign-off', boxes: ['Done by', 'Date', 'Good', 'Rejected', 'Checked by, date'] },
    ],
  };
}

function setupFields(operation: Operation): readonly Field[] {
  const optional: readonly (readonly [string, string | undefined])[] = [
    ['Set-up', operation.setup],
    ['Located on', operation.locatedOn],
    ['Tool directions', operation.access.length === 0 ? undefined : operation.access.join(', ')],
  ];
  return [
    ...optional.flatMap(([label, value]) => (value === undefined ? [] : [{ label, value }])),
    { label: 'Set-up time', value: duration(operation.setupMinutes) },
    { label: 'Run time, lot', value: duration(operation.runMinutes) },
    { label: 'Days with queue', value: workingDays(operation.leadDays) },
    {
      label: 'Features',
      value: operation.features.length === 0 ? 'whole part' : operation.features.join(', '),
    },
  ];
}

function cautionBox(plan: Plan, operation: Operation): readonly InnerBlock[] {
  const texts = new Map(plan.cautions.map((caution) => [caution.id, caution.text]));
  const items = operation.cautions.map((id) => texts.get(id) ?? id);
  return items.length === 0 ? [] : [{ type: 'box', tone: 'caution', title: 'Caution', items }];
}

/** Reasons in words one by one; requirements that are their own reason in one line, by feature. */
function reasonList(operation: Operation): readonly InnerBlock[] {
  const items: string[] = [];
  const asked = new Map<string, string[]>();
  for (const { text, requirement } of operation.reasons) {
    if (requirement === undefined) items.push(text);
    else if (text === `${requirement.feature}: ${requirement.text}`)
      asked.set(requirement.feature, [...(asked.get(requirement.feature) ?? []), requirement.text]);
    else items.push(`${text} (asked by ${requirement.feature}: ${requirement.text})`);
  }
  const byFeature = [...asked].map(([feature, texts]) => `${feature} (${texts.join(', ')})`);
  if (byFeature.length > 0) items.push(`Asked by ${byFeature.join('; ')}`);
  const distinct = [...new Set(items)];
  return distinct.length === 0
    ? []
    : [{ type: 'list', title: 'Why this operation', items: distinct }];
}

function stepTable(plan: Plan, operation: Operation): readonly InnerBlock[] {
  if (operation.steps.length === 0) return [];
  const features = new Map(plan.features.map((feature) => [feature.id, feature]));
  return [
    {
      type: 'table',
      title: 'Steps',
      columns: [
        { title: 'No.', align: 'decimal' },
        { title: 'Feature', align: 'left' },
        { title: 'Work', align: 'left' },
        { title: 'Drawing asks', align: 'left' },
        { title: 'min per part', align: 'decimal' },
      ],
      rows: operation.steps.map((step, index) => {
        const feature = features.get(step.feature);
        return [
          String(index + 1),
          feature === undefined ? step.feature : featureText(feature),
          step.title,
          feature?.requirements.map((requirement) => requirement.text).join('; ') ?? '',
          fixed(step.runMinutesPerPart, 1),
        ];
      }),
    },
  ];
}

function featureText(feature: PlannedFeature): string {
  const count = feature.count > 1 ? ` (${feature.count}×)` : '';
  const name = feature.name === undefined ? '' : ` ${feature.name}`;
  const datum = feature.datum === undefined ? '' : `, datum ${feature.datum}`;
  return `${feature.id}${name}${count}${datum}`;
}

function parameterFields(plan: Plan, operation: Operation): readonly InnerBlock[] {
  const given = operation.parameters.map((parameter) => ({
    label: parameter.name,
    value: `${parameter.value}${confidenceMark(parameter.confidence)}`,
  }));
  const names = new Set(given.map((field) => field.label.toLowerCase()));
  const cycle = plan.thermal.cycles.find((each) => each.operation === operation.seq);
  const ofCycle = cycle === undefined ? [] : cycleFields(cycle);
  const fields = [
    ...given,
    ...ofCycle.filter((field) => field.value !== '' && !names.has(field.label.toLowerCase())),
  ];
  return fields.length === 0 ? [] : [{ type: 'fields', title: 'Parameters', across: 3, fields }];
}

function cycleFields(cycle: ThermalCycle): readonly Field[] {
  return [
    {
      label: 'Set point',
      value: `${shortest(cycle.temperatureC, 0)} ±${shortest(cycle.toleranceC, 0)} °C${confidenceMark(cycle.confidence)}`,
    },
    { label: 'Soak', value: duration(cycle.soakMinutes) },
    { label: 'Ramp', value: `≤ ${shortest(cycle.rampCPerMin, 1)} °C/min` },
    {
      label: 'Pressure',
      value: cycle.pressureMPa === undefined ? '' : `${shortest(cycle.pressureMPa, 0)} MPa`,
    },
    { label: 'Atmosphere', value: cycle.atmosphere },
    { label: 'Cooling', value: cycle.cooling },
    { label: 'Parts', value: cycle.onPlate ? 'on the build plate' : 'loose' },
    { label: 'Condition after', value: cycle.conditionAfter },
    { label: 'Governing', value: cycle.governing },
    { label: 'Furnace uniformity', value: cycle.uniformityClass },
  ];
}

/** Values that nobody has read in a source are told apart where they are used. */
export function confidenceMark(confidence: Confidence | undefined): string {
  if (confidence === 'memory') return ' [from memory: confirm]';
  if (confidence === 'practice') return ' [common practice: confirm]';
  if (confidence === 'invented') return ' [invented: replace]';
  return '';
}

function workingDimensionTable(plan: Plan, operation: Operation): readonly InnerBlock[] {
  if (operation.workingDimensions.length === 0) return [];
  const found = foundColumns(plan.job.quantity);
  const table: TableBlock = {
    type: 'table',
    title: 'Working dimensions',
    columns: [
      { title: 'Feature', align: 'left' },
      { title: 'After step', align: 'left' },
      { title: 'Measure', align: 'left' },
      { title: 'Least', align: 'decimal' },
      { title: 'Target', align: 'decimal' },
      { title: 'Most', align: 'decimal' },
      { title: 'Unit', align: 'left' },
      { title: 'Stock left per side, mm', align: 'decimal' },
      ...found,
    ],
    rows: operation.workingDimensions.map((dimension) => {
      const roughness = dimension.unit === 'um';
      return [
        dimension.feature,
        dimension.step,
        dimension.diametral ? `⌀ ${dimension.what}` : dimension.what,
        // roughness has no lower limit unless one is stated
        roughness && dimension.lower <= 0 ? '' : dimensionText(dimension.lower, dimension),
        dimensionText(dimension.target, dimension),
        dimensionText(dimension.upper, dimension),
        roughness ? 'µm' : 'mm',
        roughness ? '' : stockLeft(dimension.stockLeftPerSideMm),
        ...found.map(() => ''),
      ];
    }),
  };
  return [table];
}

function stockLeft(perSideMm: number): string {
  const text = fixed(perSideMm, 3);
  return Number(text) === 0 ? 'none' : text;
}

/** One box a part for one or two parts, the extremes of the lot for more. */
function foundColumns(quantity: number): readonly Column[] {
  const titles = quantity === 1 ? ['Found'] : quantity === 2 ? ['Part 1', 'Part 2'] : extremes;
  return titles.map((title) => ({ title, align: 'left', entryWidthMm: 17 }));
}

const extremes: readonly string[] = ['Smallest found', 'Largest found'];

/**
 * The characteristics that this operation checks: those whose method is the operation's own process
 * (an NDT visit), and at the last inspection all that no other operation checks.
 */
function inspectionTable(plan: Plan, operation: Operation): readonly InnerBlock[] {
  if (operation.kind !== 'inspection') return [];
  const inspections = plan.operations.filter((each) => each.kind === 'inspection');
  const processes = new Set(inspections.map((each) => each.process));
  const last = inspections.at(-1)?.seq === operation.seq;
  const items = plan.inspection.filter(
    (item) => item.method === operation.process || (last && !processes.has(item.method)),
  );
  if (items.length === 0) return [];
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
        item.text,
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

function holdPoint(operation: Operation): readonly InnerBlock[] {
  if (operation.holdPoint === undefined) return [];
  const blocks: readonly Exclude<Block, OperationBlock>[] = [
    { type: 'box', tone: 'hold', title: 'Hold point', items: [operation.holdPoint] },
    { type: 'sign-off', boxes: ['Result', 'Released by', 'Date'] },
  ];
  return blocks;
}
