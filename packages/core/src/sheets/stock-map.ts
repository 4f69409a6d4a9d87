import type { Plan, StockFace } from '../plan/types.js';
import { drawingTexts } from './drawing-text.js';
import { featureTexts } from './feature-text.js';
import { fixed } from './print-numbers.js';
import { framedSheet, issuedField, notFeasibleBlocks, partFields } from './sheet-frame.js';
import type { Block, Sheet, SheetOptions } from './types.js';

/** Most kinds of stock that have a column of their own. */
const mostKinds = 4;

/**
 * What whoever prepares the build does to the model: the size that each feature must have there, what
 * is added to a face and why, and how far the part stands off the plate. Lengths in mm, printed ready
 * to read. It throws nothing.
 *
 * @example
 * stockMapSheet({schema:'plan/1',job:{part:'Nose ring',number:'LB-7',revision:'B',material:{id:'r56407',name:'Ti-6Al-4V ELI',designation:'R56407'},condition:'HIP',printer:'pbf-lb',quantity:4},feasible:true,features:[],stock:{faces:[],heightOffPlateMm:2.5,heightOffPlateParts:[{what:'kerf',mm:2.5}]},conflicts:[]},{format:'A4'}).blocks[1].bars.map((bar) => bar.value) // -> ["2.50","2.50"]
 */
export function stockMapSheet(plan: Plan, options: SheetOptions): Sheet {
  return framedSheet(plan, options, {
    kind: 'stock-map',
    title: 'Stock map',
    header: [
      ...partFields(plan, options),
      { label: 'Printed by', value: plan.job.printer },
      issuedField(options),
    ],
    blocks: [
      ...notFeasibleBlocks(plan, 'Do not prepare the build from this sheet.'),
      ...(plan.feasible || plan.stock.faces.length > 0
        ? [...heightBlocks(plan), ...faceBlocks(plan)]
        : []),
      {
        type: 'sign-off',
        boxes: ['Build file', 'Model changed by', 'Checked against this sheet by', 'Date'],
      },
    ],
  });
}

function heightBlocks({ stock }: Plan): readonly Block[] {
  const sum = stock.heightOffPlateParts.reduce((total, part) => total + part.mm, 0);
  const rounding = stock.heightOffPlateMm - sum;
  const parts =
    rounding < 0.005
      ? stock.heightOffPlateParts
      : [...stock.heightOffPlateParts, { what: 'rounded up', mm: rounding }];
  let top = 0;
  return [
    { type: 'heading', text: 'Height off the plate' },
    {
      type: 'bars',
      title: 'From the plate up, mm',
      legend: { dark: "the part's foot above the plate", light: 'what it is made of' },
      bars: [
        ...parts.map((part) => {
          const from = top;
          top += part.mm;
          return {
            label: part.what,
            value: fixed(part.mm, 2),
            segments: [{ from, to: top, tone: 'light' as const }],
          };
        }),
        {
          label: "part's foot above the plate",
          value: fixed(stock.heightOffPlateMm, 2),
          segments: [{ from: 0, to: stock.heightOffPlateMm, tone: 'dark' as const }],
        },
      ],
    },
  ];
}

function faceBlocks(plan: Plan): readonly Block[] {
  const { faces } = plan.stock;
  const added = faces.filter((face) => face.printedMm !== null || !isSolid(face, plan));
  const grown = added.filter((face) => face.stockPerSideMm > 0);
  const asPrinted = added.filter((face) => face.stockPerSideMm <= 0);
  const solid = faces.filter((face) => !added.includes(face));
  return [
    { type: 'heading', text: 'Changes of the model' },
    ...grownTable(grown, plan),
    ...plainTable('Printed closed: leave the hole or slot out of the model', solid, plan, false),
    ...plainTable('No stock: the face stays as printed', asPrinted, plan, true),
  ];
}

function grownTable(faces: readonly StockFace[], plan: Plan): readonly Block[] {
  if (faces.length === 0) return [];
  const kinds = kindsOf(faces);
  const named = kinds.length <= mostKinds ? kinds : kinds.slice(0, mostKinds - 1);
  const rest = kinds.length > named.length;
  const texts = textsOf(plan);
  return [
    {
      type: 'table',
      title: 'Add stock, mm per side; the columns at the right say what it is made of',
      columns: [
        { title: 'Feature', align: 'left' },
        { title: 'Drawing', align: 'left' },
        { title: 'Finished', align: 'decimal' },
        { title: 'In the model', align: 'decimal' },
        { title: 'Add per side', align: 'decimal' },
        ...named.map((kind) => ({ title: sentence(kind), align: 'decimal' as const })),
        ...(rest ? [{ title: 'Other', align: 'decimal' as const }] : []),
        { title: 'For', align: 'left' },
        { title: 'Done', align: 'left', entryWidthMm: 10 },
      ],
      rows: faces.map((face) => [
        texts.feature(face),
        texts.drawing(face),
        face.finishedMm === undefined ? '' : fixed(face.finishedMm, 3),
        face.printedMm === null ? '' : fixed(face.printedMm, 3),
        fixed(face.stockPerSideMm, 2),
        ...named.map((kind) => amount(face, (each) => each === kind)),
        ...(rest ? [amount(face, (each) => !named.includes(each))] : []),
        whyOf(face).steps,
        '',
      ]),
    },
    ...remarks(faces),
  ];
}

/** What the stock is for, and what else is to be known about the face. */
function whyOf({ why }: StockFace): {
  readonly steps: string;
  readonly remark: string | undefined;
} {
  const at = why.indexOf('; ');
  if (at < 0) return { steps: why, remark: undefined };
  return { steps: why.slice(0, at), remark: why.slice(at + 2) };
}

/** In lines of their own: a narrow column would make them towers. */
function remarks(faces: readonly StockFace[]): readonly Block[] {
  const items = faces.flatMap((face) => {
    const { remark } = whyOf(face);
    return remark === undefined ? [] : [`${face.feature}: ${remark}`];
  });
  return items.length === 0 ? [] : [{ type: 'list', title: 'To be known about these', items }];
}

function plainTable(
  title: string,
  faces: readonly StockFace[],
  plan: Plan,
  sized: boolean,
): readonly Block[] {
  if (faces.length === 0) return [];
  const texts = textsOf(plan);
  return [
    {
      type: 'table',
      title,
      columns: [
        { title: 'Feature', align: 'left' },
        { title: 'Drawing', align: 'left' },
        ...(sized ? [{ title: 'In the model', align: 'decimal' as const }] : []),
        { title: 'Why', align: 'left' },
        { title: 'Done', align: 'left', entryWidthMm: 10 },
      ],
      rows: faces.map((face) => [
        texts.feature(face),
        texts.drawing(face),
        ...(sized ? [face.printedMm === null ? 'as drawn' : fixed(face.printedMm, 3)] : []),
        face.why,
        '',
      ]),
    },
  ];
}

function isSolid(face: StockFace, plan: Plan): boolean {
  return plan.features.some((feature) => feature.id === face.feature && feature.printedSolid);
}

/** What a share of stock is for, whichever step asks for it: `Milling: form error` is `form error`. */
function kindOf(what: string): string {
  return what.slice(what.indexOf(': ') + 1).trim();
}

function kindsOf(faces: readonly StockFace[]): readonly string[] {
  return [...new Set(faces.flatMap((face) => face.build.map(({ what }) => kindOf(what))))];
}

function amount(face: StockFace, belongs: (kind: string) => boolean): string {
  const parts = face.build.filter(({ what }) => belongs(kindOf(what)));
  return parts.length === 0
    ? ''
    : fixed(
        parts.reduce((sum, part) => sum + part.mm, 0),
        2,
      );
}

function sentence(text: string): string {
  return text.slice(0, 1).toUpperCase() + text.slice(1);
}

function textsOf(plan: Plan): {
  feature(face: StockFace): string;
  drawing(face: StockFace): string;
} {
  const drawn = drawingTexts(plan.features);
  const named = featureTexts(plan.features);
  const features = new Map(plan.features.map((feature) => [feature.id, feature]));
  return {
    feature: (face) => named(face.feature),
    // a face without a size is named by its feature already
    drawing: (face) => {
      const feature = features.get(face.feature);
      const isName = face.what === feature?.name || face.what === feature?.kind;
      return isName ? '' : drawn.byText(face.feature, face.what);
    },
  };
}
