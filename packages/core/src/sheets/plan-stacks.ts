import type { Plan, RequirementStack } from '../plan/types.js';
import { rowLabel } from './drawing-label.js';
import { drawingTexts } from './drawing-text.js';
import { fixed, shortest } from './print-numbers.js';
import { framedSheet, issuedField, notFeasibleBlocks, partFields } from './sheet-frame.js';
import { percent } from './stack-tables.js';
import type { Block, DrawingMark, Sheet, SheetOptions } from './types.js';

const widthMm = 178;
const labelMm = 58;
const figureMm = 40;
const rowMm = 6.5;
const headMm = 7;
const mostRows = 30;
/** The plot shows so many half tolerances to either side of the middle. */
const reach = 1.35;
/** Requirements whose contributors are drawn, those with the least room first. */
const mostDetailed = 12;
/** Contributors with less than this share of the variance, per cent, are left out. */
const leastShare = 0.5;

/**
 * How every size and location adds up over the planned operations: all of them on one scale of their
 * own limits, then what contributes to those with the least room. Lengths in mm, printed ready to
 * read. It throws nothing.
 *
 * @example
 * planStacksSheet({schema:'plan/1',job:{part:'Nose ring',number:'LB-7',revision:'B',material:{id:'r56407',name:'Ti-6Al-4V ELI',designation:'R56407'},condition:'HIP',quantity:4},feasible:true,features:[],stacks:[],operations:[],conflicts:[]},{format:'A4'}).title // -> "Tolerances on the route"
 */
export function planStacksSheet(plan: Plan, options: SheetOptions): Sheet {
  return framedSheet(plan, options, {
    kind: 'stack',
    title: 'Tolerances on the route',
    header: [...partFields(plan, options), issuedField(options)],
    blocks: [
      ...notFeasibleBlocks(plan, 'Only what the plan could judge stands below.'),
      ...(plan.stacks.length === 0
        ? [{ type: 'paragraph' as const, text: 'No size or location adds up over the operations.' }]
        : [...overview(plan), ...details(plan), ...figures(plan)]),
    ],
  });
}

function overview(plan: Plan): readonly Block[] {
  const texts = drawingTexts(plan.features);
  const blocks: Block[] = [
    { type: 'heading', text: 'All on the scale of their own limits' },
    {
      type: 'paragraph',
      text: 'Frame: the limits of the drawing. Bar: mean ± 3 sigma. Thin line: worst case. What touches the edge of the plot goes on beyond it.',
    },
  ];
  const drawings = Math.ceil(plan.stacks.length / mostRows);
  const perDrawing = Math.ceil(plan.stacks.length / drawings);
  for (let first = 0; first < plan.stacks.length; first += perDrawing) {
    const rows = plan.stacks.slice(first, first + perDrawing);
    blocks.push({
      type: 'drawing',
      widthMm,
      heightMm: headMm + rows.length * rowMm,
      marks: [
        ...headMarks(),
        ...rows.flatMap((stack, row) =>
          rowMarks(
            stack,
            `${stack.feature}  ${texts.byId(stack.requirement) ?? stack.requirement}`,
            headMm + (row + 0.5) * rowMm,
          ),
        ),
      ],
      inWords: rows
        .map(({ requirement, inLimits }) => `${requirement} ${percent(inLimits)} % in limits`)
        .join('; '),
    });
  }
  return blocks;
}

const plotMm = widthMm - labelMm - figureMm;

/** Half tolerances from the middle to millimetres on the drawing, held inside the plot. */
function place(halves: number): number {
  const held = Math.max(-reach, Math.min(reach, halves));
  return labelMm + ((held + reach) / (2 * reach)) * plotMm;
}

function headMarks(): readonly DrawingMark[] {
  const words = (text: string, xMm: number, align: 'centre' | 'right'): DrawingMark => ({
    kind: 'text',
    at: [xMm, headMm / 2],
    text,
    align,
    style: 'label',
  });
  return [
    words('lower limit', place(-1), 'centre'),
    words('upper limit', place(1), 'centre'),
    words('in limits, %', widthMm, 'right'),
  ];
}

function rowMarks(stack: RequirementStack, label: string, y: number): readonly DrawingMark[] {
  const { lower, upper, mean, sigma, worstLower, worstUpper, inLimits } = stack;
  const middle = (lower + upper) / 2;
  const half = (upper - lower) / 2 || 1;
  const at = (value: number): number => place((value - middle) / half);
  const box = (from: number, to: number, highMm: number) =>
    [
      [from, y - highMm / 2],
      [to, y - highMm / 2],
      [to, y + highMm / 2],
      [from, y + highMm / 2],
    ] as const;
  return [
    rowLabel(label, [0, y], labelMm - 2),
    { kind: 'area', points: box(place(-1), place(1), 4.2), shade: 'pale', outline: 'hair' },
    {
      kind: 'line',
      points: [
        [at(worstLower), y],
        [at(worstUpper), y],
      ],
      weight: 'thin',
    },
    {
      kind: 'area',
      points: box(at(mean - 3 * sigma), at(mean + 3 * sigma), 2),
      shade: 'grey',
      outline: 'hair',
    },
    {
      kind: 'line',
      points: [
        [at(mean), y - 2.1],
        [at(mean), y + 2.1],
      ],
      weight: 'thin',
    },
    { kind: 'text', at: [widthMm, y], text: percent(inLimits), align: 'right', style: 'body' },
  ];
}

function details(plan: Plan): readonly Block[] {
  const texts = drawingTexts(plan.features);
  const tight = plan.stacks
    .filter(({ contributors }) => contributors.length > 1)
    .sort((a, b) => a.inLimits - b.inLimits)
    .slice(0, mostDetailed);
  if (tight.length === 0) return [];
  return [
    { type: 'heading', text: 'Who contributes, least room first' },
    {
      type: 'table',
      title: 'Share of the variance, %',
      columns: [
        { title: 'Feature', align: 'left' },
        { title: 'Drawing asks', align: 'left' },
        { title: 'In limits, %', align: 'decimal' },
        { title: 'Contributors', align: 'left' },
      ],
      rows: tight.map((stack) => [
        stack.feature,
        texts.byId(stack.requirement) ?? stack.requirement,
        percent(stack.inLimits),
        [...stack.contributors]
          .filter(({ sharePercent }) => sharePercent >= leastShare)
          .sort((a, b) => b.sharePercent - a.sharePercent)
          .map(({ name, operation, sharePercent }) => {
            const where = operation === undefined ? '' : ` (op ${operation})`;
            return `${fixed(sharePercent, 0)} ${name}${where}`;
          })
          .join(', '),
      ]),
    },
  ];
}

function figures(plan: Plan): readonly Block[] {
  const texts = drawingTexts(plan.features);
  return [
    { type: 'heading', text: 'Figures' },
    {
      type: 'table',
      title: 'Limits, mean and range, mm',
      columns: [
        { title: 'Feature', align: 'left' },
        { title: 'Drawing asks', align: 'left' },
        { title: 'From', align: 'decimal' },
        { title: 'To', align: 'decimal' },
        { title: 'Mean', align: 'decimal' },
        { title: 'Sigma', align: 'decimal' },
        { title: 'Worst from', align: 'decimal' },
        { title: 'Worst to', align: 'decimal' },
        { title: 'In limits, %', align: 'decimal' },
      ],
      rows: plan.stacks.map((stack) => [
        stack.feature,
        texts.byId(stack.requirement) ?? stack.requirement,
        ...[stack.lower, stack.upper, stack.mean].map((value) => fixed(value, 3)),
        shortest(stack.sigma, 4),
        ...[stack.worstLower, stack.worstUpper].map((value) => fixed(value, 3)),
        percent(stack.inLimits),
      ]),
    },
  ];
}
