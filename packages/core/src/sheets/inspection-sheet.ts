import type { InspectionItem, Plan } from '../plan/types.js';
import { drawingTexts } from './drawing-text.js';
import { featureTexts } from './feature-text.js';
import { foundColumns, recordBlocks } from './inspection-record.js';
import { itemSample, sampleBlocks } from './inspection-sample.js';
import { dimensionText, shortest } from './print-numbers.js';
import { framedSheet, issuedField, notFeasibleBlocks, partFields } from './sheet-frame.js';
import type { Block, Column, Sheet, SheetOptions } from './types.js';

/**
 * The record of the inspection: every characteristic with its number, the limits of the drawing, the
 * limits after the guard band of the method (ISO 14253-1:2017, 5), how many parts are measured, with
 * how many bad ones the lot is accepted, and a box for every piece. One table a method, so that each can lie at its gauge. Lengths in mm,
 * roughness in um, printed ready to read. It throws nothing.
 *
 * @example
 * inspectionSheet({schema:'plan/1',job:{part:'Nose ring',number:'LB-7',revision:'B',material:{id:'r56407',name:'Ti-6Al-4V ELI',designation:'R56407'},condition:'HIP',quantity:4},feasible:true,features:[],inspection:[],findings:[],conflicts:[]},{format:'A4'}).title // -> "Inspection sheet"
 */
export function inspectionSheet(plan: Plan, options: SheetOptions): Sheet {
  return framedSheet(plan, options, {
    kind: 'inspection',
    title: 'Inspection sheet',
    header: [
      ...partFields(plan, options),
      { label: 'Serial numbers', value: '' },
      issuedField(options),
    ],
    blocks: [
      ...notFeasibleBlocks(plan, 'Only what the plan could judge stands below.'),
      ...openPoints(plan),
      ...methodBlocks(plan),
      ...sampleBlocks(plan),
      {
        type: 'sign-off',
        boxes: ['Parts accepted', 'Parts rejected', 'Report no.', 'Inspector', 'Date'],
      },
    ],
  });
}

/** What has no method, or none that is certain enough. */
function openPoints(plan: Plan): readonly Block[] {
  const open = plan.findings.filter(({ id }) => id === 'no-method' || id === 'method-ratio');
  if (open.length === 0) return [];
  return [
    {
      type: 'box',
      tone: 'notice',
      title: 'Settle before measuring',
      items: open.map(({ about, message }) =>
        about === undefined ? message : `${about}: ${message}`,
      ),
    },
  ];
}

function methodBlocks(plan: Plan): readonly Block[] {
  const methods = [...new Set(plan.inspection.map((item) => item.method))];
  const guarded = plan.inspection.some(
    ({ acceptLower, acceptUpper }) => acceptLower !== undefined || acceptUpper !== undefined,
  );
  const rule: Block = {
    type: 'paragraph',
    text: 'A part is accepted by the limits under “Accept”: they lie inside those of the drawing by the guard band for the uncertainty of the method (ISO 14253-1). A value between the two is neither proven good nor proven bad: measure it again with a more certain method, or ask.',
  };
  return [
    ...(guarded ? [rule] : []),
    ...methods.flatMap((method) => {
      const items = plan.inspection.filter((item) => item.method === method);
      return methodBlock(plan, items);
    }),
  ];
}

function methodBlock(plan: Plan, items: readonly InspectionItem[]): readonly Block[] {
  const [first] = items;
  if (first === undefined) return [];
  const texts = drawingTexts(plan.features);
  const named = featureTexts(plan.features);
  const limited = items.some((item) => item.upper !== undefined || item.acceptUpper !== undefined);
  const found = foundColumns(items);
  const limitColumns: readonly Column[] = [
    { title: 'Drawing from', align: 'decimal' },
    { title: 'Drawing to', align: 'decimal' },
    { title: 'Accept from', align: 'decimal' },
    { title: 'Accept to', align: 'decimal' },
  ];
  return [
    { type: 'heading', text: first.methodName },
    {
      type: 'fields',
      across: 4,
      keepWithNext: true,
      fields: [
        { label: 'Gauge or machine no.', value: '' },
        { label: 'Calibrated until', value: '' },
        { label: 'Temperature, °C', value: '' },
        { label: 'Measured by, date', value: '' },
      ],
    },
    {
      type: 'table',
      title: tableTitle(items),
      columns: [
        { title: 'No.', align: 'decimal' },
        { title: 'Feature', align: 'left' },
        { title: 'Drawing asks', align: 'left' },
        ...(limited ? limitColumns : []),
        { title: 'Parts', align: 'decimal' },
        { title: 'Ac / Re', align: 'centre' },
        ...found,
        { title: 'OK', align: 'left', entryWidthMm: 9 },
      ],
      rows: items.map((item) => [
        String(item.number),
        named(item.feature),
        texts.byId(item.requirement) ?? item.text,
        ...(limited ? limitCells(item) : []),
        ...sampleCells(item, plan),
        ...found.map(() => ''),
        '',
      ]),
    },
    ...recordBlocks(items),
  ];
}

/** Unit and uncertainty of the method, where the characteristics share them. */
function tableTitle(items: readonly InspectionItem[]): string {
  const count = items.length === 1 ? '1 characteristic' : `${items.length} characteristics`;
  const units = new Set(items.map((item) => item.unit));
  const [unit] = units;
  const uncertain = items.flatMap(({ uncertaintyUm }) => uncertaintyUm ?? []);
  const least = shortest(Math.min(...uncertain), 2);
  const most = shortest(Math.max(...uncertain), 2);
  return [
    count,
    units.size === 1 && unit !== undefined ? `limits in ${unit === 'um' ? 'µm' : 'mm'}` : undefined,
    uncertain.length === 0
      ? undefined
      : `expanded uncertainty ${least === most ? least : `${least} to ${most}`} µm (k = 2)`,
  ]
    .filter((part) => part !== undefined)
    .join(', ');
}

function limitCells(item: InspectionItem): readonly string[] {
  const band = {
    lower: item.acceptLower ?? item.lower ?? Number.NEGATIVE_INFINITY,
    upper: item.acceptUpper ?? item.upper ?? Number.POSITIVE_INFINITY,
    unit: item.unit ?? 'mm',
  };
  return [item.lower, item.upper, item.acceptLower, item.acceptUpper].map((value) =>
    value === undefined ? '' : dimensionText(value, band),
  );
}

/** Parts measured, and with how many bad ones among them the lot is accepted and rejected. */
function sampleCells(item: InspectionItem, plan: Plan): readonly string[] {
  const { sample, accept, reject } = itemSample(item, plan);
  return [sample >= plan.job.quantity ? 'all' : String(sample), `${accept} / ${reject}`];
}
