import type { RelaxReport } from '../plan/relax.js';
import type { Plan } from '../plan/types.js';
import { assumptionTable } from './assumption-table.js';
import { fixed, workingDays } from './print-numbers.js';
import { breakBlocks, costBlocks, money } from './quote-cost.js';
import { questionBlocks } from './quote-questions.js';
import { framedSheet, issuedField, notFeasibleBlocks, partFields } from './sheet-frame.js';
import type { Block, Sheet, SheetOptions } from './types.js';

/** What no price of a plan holds. */
export const leftOut: readonly string[] = [
  'printing cost and time',
  'assembly',
  'packing',
  'transport between operations in-house',
  'scrap (every part started is taken to end good)',
];

/**
 * What the lot costs and why: cost by operation, price at other quantities, the days, what was
 * assumed and what is left out, and questions to the customer when there is a report of what looser
 * requirements would save. Money in major units of the plan's currency, times in working days, printed
 * ready to read. It throws nothing.
 *
 * @example
 * quoteSheet({schema:'plan/1',job:{part:'Nose ring',number:'LB-7',revision:'B',material:{id:'r56407',name:'Ti-6Al-4V ELI',designation:'R56407'},condition:'HIP',quantity:4},feasible:true,operations:[],cost:{currency:'EUR',minorDigits:2,priceYear:'2026',lines:[],perLot:40000,perPart:10000,breaks:[]},schedule:{days:3,late:false,lateDays:0,steps:[]},questions:[],assumptions:[],findings:[],conflicts:[]},{format:'A4'}).header[6].value // -> "100.00 EUR"
 */
export function quoteSheet(plan: Plan, options: SheetOptions, relax?: RelaxReport): Sheet {
  const { cost, job, schedule } = plan;
  return framedSheet(plan, options, {
    kind: 'quote',
    title: 'Quote',
    header: [
      ...partFields(plan, options),
      { label: 'A part', value: plan.feasible ? money(cost.perPart, cost) : '' },
      {
        label: job.quantity === 1 ? 'The lot' : `The lot of ${job.quantity}`,
        value: plan.feasible ? money(cost.perLot, cost) : '',
      },
      { label: 'From start to ready', value: workingDays(schedule.days) },
      ...(schedule.readyOn === undefined ? [] : [{ label: 'Ready', value: schedule.readyOn }]),
      ...(job.customer === undefined ? [] : [{ label: 'Customer', value: job.customer }]),
      { label: 'Prices of', value: cost.priceYear },
      { label: 'Valid until', value: '' },
      issuedField(options),
    ],
    blocks: [
      ...notFeasibleBlocks(plan, 'The figures below are no offer.'),
      ...rateNotice(plan),
      ...lateNotice(plan),
      ...costBlocks(plan),
      ...breakBlocks(plan),
      ...dayBlocks(plan),
      ...questionBlocks(plan, relax),
      ...exclusionBlocks(),
      ...(plan.assumptions.length === 0
        ? []
        : [
            { type: 'heading' as const, text: 'Assumptions' },
            assumptionTable(plan.assumptions, []),
          ]),
    ],
  });
}

/** Rates that ship with the catalogue are invented, and a price made of them binds nobody. */
function rateNotice({ cost }: Plan): readonly Block[] {
  if (!cost.lines.some((line) => line.source.includes('invented'))) return [];
  return [
    {
      type: 'box',
      tone: 'notice',
      title: 'Made with invented rates',
      items: ["Lay the shop's own rates over the catalogue before this goes to a customer."],
    },
  ];
}

function lateNotice({ schedule }: Plan): readonly Block[] {
  if (!schedule.late) return [];
  return [
    {
      type: 'box',
      tone: 'notice',
      title: `Late by ${workingDays(schedule.lateDays)}`,
      items: [`Ready ${schedule.readyOn ?? ''}, due ${schedule.dueOn ?? ''}.`],
    },
  ];
}

/** Queue and work of one operation after the other, on one scale of days. */
function dayBlocks({ operations, schedule }: Plan): readonly Block[] {
  const titles = new Map(operations.map((operation) => [operation.seq, operation.title]));
  if (schedule.steps.length === 0) return [];
  return [
    { type: 'heading', text: 'Days' },
    {
      type: 'bars',
      title: `${workingDays(schedule.days)} from start to ready, one operation after the other`,
      legend: { dark: 'work', light: 'queue and turnaround' },
      bars: schedule.steps.map((step) => {
        const from = step.endsAfterDays - step.queueDays - step.workDays;
        const worked = from + step.queueDays;
        return {
          label: `${step.operation} ${titles.get(step.operation) ?? ''}`,
          value: `day ${fixed(step.endsAfterDays, 1)}`,
          segments: [
            { from, to: worked, tone: 'light' as const },
            { from: worked, to: step.endsAfterDays, tone: 'dark' as const },
          ],
        };
      }),
    },
  ];
}

function exclusionBlocks(): readonly Block[] {
  return [
    { type: 'heading', text: 'Not in the price' },
    { type: 'list', title: 'Left out of every line above', items: leftOut },
  ];
}
