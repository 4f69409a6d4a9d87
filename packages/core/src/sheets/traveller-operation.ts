import type { MethodsRow } from '../catalog/generated/methods.js';
import type { Operation, Plan } from '../plan/types.js';
import { type DrawingTexts, drawingTexts } from './drawing-text.js';
import { featureText } from './feature-text.js';
import { measuringTool } from './measuring-tool.js';
import { dimensionText, duration, fixed, shortest, workingDays } from './print-numbers.js';
import { workCentreText } from './traveller-front.js';
import { inspectionTable } from './traveller-inspection.js';
import { parameterFields } from './traveller-parameters.js';
import type { Block, Column, Field, OperationBlock, TableBlock } from './types.js';

type InnerBlock = OperationBlock['blocks'][number];

/**
 * All that the people at one work centre need, down to the signature.
 *
 * @param code what a scanner reads beside the signature
 * @param methods measuring methods to choose tools from
 */
export function operationBlock(
  plan: Plan,
  operation: Operation,
  code: string,
  methods: readonly MethodsRow[],
): OperationBlock {
  const texts = drawingTexts(plan.features);
  const inspection = inspectionTable(plan, operation);
  return {
    type: 'operation',
    number: operation.seq,
    title: operation.title,
    workCentre: workCentreText(operation.workCentre),
    blocks: [
      { type: 'fields', across: 4, fields: setupFields(operation) },
      ...cautionBox(plan, operation),
      ...reasonList(operation, texts),
      // the steps of an inspection are the rows of its table
      ...(inspection.length > 0 ? [] : stepTable(plan, operation, texts)),
      ...parameterFields(plan, operation),
      ...workingDimensionTable(plan, operation, methods),
      ...recordedSettings(plan, operation),
      ...inspection,
      ...holdPoint(operation),
      {
        type: 'sign-off',
        boxes: ['Done by', 'Date', 'Good', 'Rejected', 'Checked by, date'],
        code,
      },
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
function reasonList(operation: Operation, texts: DrawingTexts): readonly InnerBlock[] {
  const items: string[] = [];
  const asked = new Map<string, string[]>();
  for (const { text, requirement } of operation.reasons) {
    if (requirement === undefined) {
      items.push(text);
      continue;
    }
    const { feature } = requirement;
    const drawn = texts.byText(feature, requirement.text);
    if (text === `${feature}: ${requirement.text}`)
      asked.set(feature, [...(asked.get(feature) ?? []), drawn]);
    else items.push(`${text} (asked by ${feature}: ${drawn})`);
  }
  const byFeature = [...asked].map(([feature, texts]) => `${feature} (${texts.join(', ')})`);
  if (byFeature.length > 0) items.push(`Asked by ${byFeature.join('; ')}`);
  const distinct = [...new Set(items)];
  return distinct.length === 0
    ? []
    : [{ type: 'list', title: 'Why this operation', items: distinct }];
}

function stepTable(plan: Plan, operation: Operation, texts: DrawingTexts): readonly InnerBlock[] {
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
          feature?.requirements.map(texts.of).join('; ') ?? '',
          fixed(step.runMinutesPerPart, 1),
        ];
      }),
    },
  ];
}

function workingDimensionTable(
  plan: Plan,
  operation: Operation,
  methods: readonly MethodsRow[],
): readonly InnerBlock[] {
  if (operation.workingDimensions.length === 0) return [];
  const features = new Map(plan.features.map((feature) => [feature.id, feature]));
  const found = foundColumns(plan.job.quantity);
  const tools = operation.workingDimensions.map((dimension) =>
    measuringTool(plan, features.get(dimension.feature), dimension, methods),
  );
  const hasTools = tools.some((tool) => tool !== undefined);
  const table: TableBlock = {
    type: 'table',
    title: 'Working dimensions, mm',
    columns: [
      { title: 'Feature', align: 'left' },
      { title: 'After step', align: 'left' },
      { title: 'Measure', align: 'left' },
      { title: 'Least', align: 'decimal' },
      { title: 'Target', align: 'decimal' },
      { title: 'Most', align: 'decimal' },
      { title: 'Stock left per side', align: 'decimal' },
      ...(hasTools ? [{ title: 'Measure with', align: 'left' as const }] : []),
      ...found,
    ],
    rows: operation.workingDimensions.map((dimension, index) => {
      const roughness = dimension.unit === 'um';
      return [
        dimension.feature,
        dimension.step,
        `${dimension.diametral ? '⌀ ' : ''}${dimension.what}${roughness ? ', µm' : ''}`,
        // roughness has no lower limit unless one is stated
        roughness && dimension.lower <= 0 ? '' : dimensionText(dimension.lower, dimension),
        dimensionText(dimension.target, dimension),
        dimensionText(dimension.upper, dimension),
        roughness ? '' : stockLeft(dimension.stockLeftPerSideMm),
        ...(hasTools ? [tools[index] ?? ''] : []),
        ...found.map(() => ''),
      ];
    }),
  };
  return [table];
}

/** What a furnace did is written down beside what it was asked for. */
function recordedSettings(plan: Plan, operation: Operation): readonly InnerBlock[] {
  const cycle = plan.thermal.cycles.find((each) => each.operation === operation.seq);
  if (cycle === undefined) return [];
  const asked: readonly (readonly [string, string])[] = [
    [
      'Part temperature in the soak',
      `${shortest(cycle.temperatureC, 0)} ±${shortest(cycle.toleranceC, 0)} °C`,
    ],
    ['Soak, coldest sensor in the band', duration(cycle.soakMinutes)],
    ...(cycle.pressureMPa === undefined
      ? []
      : [['Pressure', `≥ ${shortest(cycle.pressureMPa, 0)} MPa`] as const]),
  ];
  return [
    {
      type: 'table',
      title: 'Record from the chart of the furnace',
      columns: [
        { title: 'Value', align: 'left' },
        { title: 'Asked', align: 'left' },
        { title: 'Least found', align: 'left', entryWidthMm: 26 },
        { title: 'Most found', align: 'left', entryWidthMm: 26 },
        { title: 'Chart no.', align: 'left', entryWidthMm: 34 },
      ],
      rows: asked.map(([value, wanted]) => [value, wanted, '', '', '']),
    },
  ];
}

function stockLeft(perSideMm: number): string {
  const text = fixed(perSideMm, 3);
  return Number(text) === 0 ? 'none' : text;
}

/** One box a part for one or two parts, the extremes of the lot for more. */
function foundColumns(quantity: number): readonly Column[] {
  const titles = quantity === 1 ? ['Found'] : quantity === 2 ? ['Part 1', 'Part 2'] : extremes;
  return titles.map((title) => ({ title, align: 'left', entryWidthMm: 16 }));
}

const extremes: readonly string[] = ['Smallest found', 'Largest found'];

function holdPoint(operation: Operation): readonly InnerBlock[] {
  if (operation.holdPoint === undefined) return [];
  const blocks: readonly Exclude<Block, OperationBlock>[] = [
    { type: 'box', tone: 'hold', title: 'Hold point', items: [operation.holdPoint] },
    { type: 'sign-off', boxes: ['Result', 'Released by', 'Date'] },
  ];
  return blocks;
}
