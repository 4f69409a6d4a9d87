import type { TriangleMesh } from '../geometry/mesh.js';
import type { Operation, Plan } from '../plan/types.js';
import { partPicture } from './part-picture.js';
import { fixed, shortest, workingDays } from './print-numbers.js';
import type { Block, Field, SheetOptions } from './types.js';

/** Said when the catalogue does not say it in its own words. */
const precedence =
  'Local codes, the safety data sheets, the manual of the equipment and licensed or certified practice come first. Schedules from the catalogue are starting points; the governing specification overrides them.';

/** The grid at the head of the first page. */
export function frontFields(
  plan: Plan,
  options: SheetOptions,
  order: string | undefined,
): readonly Field[] {
  const { job, schedule } = plan;
  const box = job.boxMm?.map((edge) => shortest(edge, 1)).join(' × ');
  const issued = [options.issuedOn, options.issuedBy].filter((part) => part !== undefined);
  const optional: readonly (readonly [string, string | undefined])[] = [
    ['Customer', job.customer],
    ['Box', box === undefined ? undefined : `${box} mm`],
    ['Mass', job.massKg === undefined ? undefined : `${shortest(job.massKg, 3)} kg`],
    ['Standards', job.standards.length === 0 ? undefined : job.standards.join(', ')],
    ['Hazards', job.hazards.length === 0 ? undefined : job.hazards.join(', ')],
  ];
  return [
    { label: 'Part number', value: job.number },
    { label: 'Revision', value: job.revision },
    { label: 'Order', value: order ?? '' },
    { label: 'Quantity', value: String(job.quantity) },
    { label: 'Material', value: `${job.material.name} (${job.material.designation})` },
    { label: 'Condition at delivery', value: job.condition },
    { label: 'Due', value: job.dueOn ?? schedule.dueOn ?? '' },
    { label: 'Planned ready', value: schedule.readyOn ?? workingDays(schedule.days) },
    { label: 'Printed by', value: job.printer },
    { label: 'End use', value: job.endUse },
    { label: 'Issued', value: issued.join(', ') },
    ...optional.flatMap(([label, value]) => (value === undefined ? [] : [{ label, value }])),
  ];
}

/** First page: notices, picture of the part, route, height off plate and stock, cautions. */
export function frontBlocks(plan: Plan, mesh: TriangleMesh | undefined): readonly Block[] {
  return [
    ...noticeBlocks(plan),
    ...(mesh === undefined ? [] : partPicture(mesh)),
    ...(plan.operations.length === 0 ? [] : routeBlocks(plan)),
    ...(plan.feasible ? stockBlocks(plan) : []),
    ...cautionBlocks(plan),
  ];
}

function noticeBlocks(plan: Plan): readonly Block[] {
  const { job, schedule } = plan;
  const notices: Block[] = [];
  if (job.regulated) {
    notices.push({
      type: 'box',
      tone: 'notice',
      title: 'Regulated part: approved procedure required',
      items: [
        'Work only to the approved procedure for this part and revision. This traveller is not an approved procedure and does not stand in for one. Procedure no.: ______________________',
      ],
    });
  }
  if (!plan.feasible) {
    notices.push({
      type: 'box',
      tone: 'notice',
      title: 'Not for release: no route meets every requirement',
      items: ['The catalogue reaches no route for the requirements below. Settle them first.'],
    });
    notices.push({
      type: 'table',
      title: 'Requirements that cannot be met',
      columns: [
        { title: 'Feature', align: 'left' },
        { title: 'Requirement', align: 'left' },
        { title: 'Best within reach', align: 'left' },
        { title: 'What would help', align: 'left' },
      ],
      rows: plan.conflicts.map((conflict) => [
        conflict.feature ?? 'whole part',
        conflict.requirement,
        conflict.best,
        conflict.help.join('\n'),
      ]),
    });
  }
  if (schedule.late) {
    notices.push({
      type: 'box',
      tone: 'notice',
      title: `Late by ${workingDays(schedule.lateDays)}`,
      items: [`Planned ready ${schedule.readyOn ?? ''}, due ${schedule.dueOn ?? ''}.`],
    });
  }
  return notices;
}

function routeBlocks(plan: Plan): readonly Block[] {
  return [
    { type: 'heading', text: 'Route at a glance' },
    {
      type: 'route-strip',
      stops: plan.operations.map((operation) => ({
        operation: operation.seq,
        days: shortest(operation.leadDays, 1),
        outside: operation.workCentre.sourcing === 'outside',
        holdPoint: operation.holdPoint !== undefined,
      })),
    },
    {
      type: 'table',
      title: `${plan.operations.length} operations, ${workingDays(plan.schedule.days)} from start to ready`,
      columns: [
        { title: 'Op', align: 'decimal' },
        { title: 'Title', align: 'left' },
        { title: 'Work centre', align: 'left' },
        { title: 'Days', align: 'decimal' },
        { title: 'Hold point', align: 'left' },
        { title: 'Done', align: 'left', entryWidthMm: 16 },
      ],
      rows: plan.operations.map((operation) => [
        String(operation.seq),
        operation.title,
        workCentreText(operation.workCentre),
        shortest(operation.leadDays, 1),
        operation.holdPoint === undefined ? '' : `◆ ${operation.holdPoint}`,
        '',
      ]),
    },
  ];
}

/** The work centre's name, and that the work goes out of the house unless the name says so. */
export function workCentreText({ name, sourcing }: Operation['workCentre']): string {
  return sourcing === 'outside' && !/\boutside\b/i.test(name) ? `${name} (outside)` : name;
}

function stockBlocks(plan: Plan): readonly Block[] {
  const { stock } = plan;
  const blocks: Block[] = [
    { type: 'heading', text: 'Height off the plate and stock' },
    {
      type: 'fields',
      across: 4,
      fields: [{ label: 'Foot of the part above the plate', value: heightText(stock) }],
    },
  ];
  const groups = stockGroups(plan);
  if (groups.length > 0)
    blocks.push({ type: 'fields', title: 'Stock on the printed part', across: 4, fields: groups });
  return blocks;
}

/** The height and what it is made of, as a sum. */
function heightText(stock: Plan['stock']): string {
  const parts = stock.heightOffPlateParts.map((part) => `${fixed(part.mm, 2)} ${part.what}`);
  const total = `${fixed(stock.heightOffPlateMm, 2)} mm`;
  return parts.length === 0 ? total : `${total} = ${parts.join(' + ')}`;
}

/** Features by the stock that they carry, most stock first; printed solid at the end. */
function stockGroups(plan: Plan): readonly Field[] {
  const byStock = new Map<string, string[]>();
  const solid: string[] = [];
  for (const feature of plan.features) {
    if (feature.printedSolid) {
      solid.push(feature.id);
      continue;
    }
    const key = fixed(feature.stockPerSideMm, 2);
    byStock.set(key, [...(byStock.get(key) ?? []), feature.id]);
  }
  const fields = [...byStock]
    .sort(([left], [right]) => Number(right) - Number(left))
    .map(([stock, features]) => ({
      label: Number(stock) === 0 ? 'none, as printed' : `${stock} mm per side`,
      value: features.join(', '),
    }));
  return solid.length === 0
    ? fields
    : [...fields, { label: 'printed closed', value: solid.join(', ') }];
}

function cautionBlocks(plan: Plan): readonly Block[] {
  const blocks: Block[] = [{ type: 'heading', text: 'Cautions' }];
  if (plan.cautions.length > 0) {
    blocks.push({
      type: 'table',
      title: 'Cautions by operation',
      columns: [
        { title: 'Operations', align: 'left' },
        { title: 'Caution', align: 'left' },
      ],
      rows: plan.cautions.map((caution) => [
        caution.operations.length === 0 ? 'all' : caution.operations.join(', '),
        caution.text,
      ]),
    });
  }
  if (!plan.cautions.some((caution) => caution.id === 'local-rules'))
    blocks.push({ type: 'paragraph', text: precedence });
  return blocks;
}
