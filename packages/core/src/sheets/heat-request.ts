import type { Job } from '../job/types.js';
import type { Operation, Plan, ThermalCycle } from '../plan/types.js';
import { doubtWord } from '../plan/unconfirmed.js';
import type { Confidence } from '../problems/finding.js';
import { heatStepBlocks } from './heat-request-steps.js';
import { shortest } from './print-numbers.js';
import { framedSheet, issuedField, orderOf } from './sheet-frame.js';
import type { Block, Field, Sheet, SheetOptions } from './types.js';

export interface HeatRequestOptions extends SheetOptions {
  /** Ask only for what this work centre does; a request goes to one supplier. */
  readonly workCentre?: string;
}

/**
 * The request to the heat treater as a sheet: parts and condition as received, governing documents,
 * every step with its temperatures, times, gas and cooling, furnace and sensors, loading, acceptance,
 * certificate and safety. It asks for the operations of one
 * work centre, else for those that go outside, else for all heat.
 * Temperatures in C, times in minutes and hours, masses in kg. Values that nobody has read in a
 * source are marked for confirmation against the governing specification.
 *
 * @param job the job behind the plan: adds the build plate, powder and notes of the part
 * @example
 * heatRequest({schema:'plan/1',job:{part:'Nose ring',number:'LB-7',revision:'B',material:{id:'r56407',name:'Ti-6Al-4V ELI',designation:'R56407'},printer:'pbf-lb',endUse:'fatigue',condition:'HIP',quantity:4,regulated:false,standards:[],hazards:[]},operations:[],thermal:{route:'none',reason:'',cycles:[],rejected:[]},cautions:[]},{format:'A4'}).title // -> "Heat treatment request"
 */
export function heatRequest(plan: Plan, options: HeatRequestOptions, job?: Job): Sheet {
  const steps = requestedSteps(plan, options.workCentre);
  return framedSheet(plan, options, {
    kind: 'heat-request',
    title: 'Heat treatment request',
    header: headerFields(plan, options, steps, job),
    blocks: [
      ...noticeBlocks(plan, steps),
      ...documentBlocks(plan, steps),
      ...steps.flatMap((step) => heatStepBlocks(plan, step.cycle, step.operation, job)),
      ...standingBlocks(plan, steps, job),
    ],
  });
}

interface HeatStep {
  readonly cycle: ThermalCycle;
  readonly operation: Operation | undefined;
}

function requestedSteps(plan: Plan, workCentre: string | undefined): readonly HeatStep[] {
  const all = plan.thermal.cycles.map((cycle) => ({
    cycle,
    operation: plan.operations.find((each) => each.seq === cycle.operation),
  }));
  if (workCentre !== undefined)
    return all.filter((step) => step.operation?.workCentre.id === workCentre);
  const outside = all.filter((step) => step.operation?.workCentre.sourcing === 'outside');
  return outside.length > 0 ? outside : all;
}

function headerFields(
  plan: Plan,
  options: SheetOptions,
  steps: readonly HeatStep[],
  job: Job | undefined,
): readonly Field[] {
  const { job: head } = plan;
  const first = steps[0]?.cycle;
  const box = head.boxMm?.map((edge) => shortest(edge, 1)).join(' × ');
  return [
    { label: 'Part number', value: head.number },
    { label: 'Revision', value: head.revision },
    { label: 'Purchase order', value: orderOf(plan, options) ?? '' },
    { label: 'Quantity', value: String(head.quantity) },
    { label: 'Serial numbers', value: '' },
    { label: 'Alloy', value: `${head.material.name} (${head.material.designation})` },
    { label: 'Powder lot', value: '' },
    { label: 'Printed by', value: head.printer },
    {
      label: 'Mass of a part',
      value: head.massKg === undefined ? '' : `${shortest(head.massKg, 3)} kg`,
    },
    { label: 'Envelope of a part', value: box === undefined ? '' : `${box} mm` },
    { label: 'Delivered', value: first === undefined ? '' : deliveryText(first, job) },
    { label: 'Condition received', value: conditionReceived(plan, first) },
    { label: 'Condition wanted', value: steps[steps.length - 1]?.cycle.conditionAfter ?? '' },
    issuedField(options),
  ];
}

function deliveryText(first: ThermalCycle, job: Job | undefined): string {
  if (!first.onPlate) return 'loose parts';
  const plate = job?.geometry.plateMaterial;
  return plate === undefined ? 'on the build plate' : `on the build plate (${plate})`;
}

/** The condition after the heat before the first step that is asked for. */
function conditionReceived(plan: Plan, first: ThermalCycle | undefined): string {
  const index = plan.thermal.cycles.findIndex((cycle) => cycle.operation === first?.operation);
  return index > 0 ? (plan.thermal.cycles[index - 1]?.conditionAfter ?? 'as built') : 'as built';
}

function noticeBlocks(plan: Plan, steps: readonly HeatStep[]): readonly Block[] {
  const blocks: Block[] = [];
  if (plan.job.regulated)
    blocks.push({
      type: 'box',
      tone: 'notice',
      title: 'Regulated part: approved procedure required',
      items: [
        'Treat only to the approved procedure for this part and revision. Procedure no.: ______________________',
      ],
    });
  if (steps.length === 0)
    blocks.push({
      type: 'paragraph',
      text: 'The plan has no heat treatment.',
    });
  const doubtful = steps.filter(({ cycle }) => isDoubtful(cycle.confidence));
  if (doubtful.length > 0)
    blocks.push({
      type: 'box',
      tone: 'notice',
      title: 'To be confirmed against the governing specification before the first load',
      items: doubtful.map(({ cycle }) => confirmItem(cycle)),
    });
  return blocks;
}

/** The schedule, each value that is to be confirmed with why, and where it comes from. */
function confirmItem({ schedule, confidence, source, toConfirm = [] }: ThermalCycle): string {
  const doubt =
    toConfirm.length === 0
      ? (doubtWord(confidence) ?? confidence)
      : toConfirm
          .map((entry) => `${entry.what} ${entry.value} (${doubtWord(entry.confidence)})`)
          .join(', ');
  return `${schedule}: ${doubt}. Taken from: ${source}`;
}

/** Nobody has seen the value in a source. */
export function isDoubtful(confidence: Confidence): boolean {
  return confidence === 'memory' || confidence === 'practice' || confidence === 'invented';
}

function documentBlocks(plan: Plan, steps: readonly HeatStep[]): readonly Block[] {
  const documents = [
    ...new Set([...plan.job.standards, ...steps.map(({ cycle }) => cycle.governing)]),
  ].filter((name) => name !== 'none');
  return [
    {
      type: 'table',
      title: 'Governing documents; they override the figures below',
      columns: [
        { title: 'Document', align: 'left' },
        { title: 'Edition', align: 'left', entryWidthMm: 30 },
      ],
      rows: documents.map((name) => [name, '']),
    },
  ];
}

function standingBlocks(
  plan: Plan,
  steps: readonly HeatStep[],
  job: Job | undefined,
): readonly Block[] {
  const witnesses = [
    ...new Set(
      steps.flatMap(({ cycle }) =>
        (cycle.checks ?? []).flatMap((each) => (each.witness === undefined ? [] : [each.witness])),
      ),
    ),
  ];
  const loading = [
    'Orientation and supports so that no part leans on another; no contact between parts.',
    ...(plan.job.material.name.startsWith('Ti')
      ? [
          'No contact with nickel, iron or copper; ceramic or coated separators; titanium or stainless getter foil.',
        ]
      : []),
    ...(witnesses.length === 0
      ? []
      : [`Witness pieces with the parts through every step: ${witnesses.join('; ')}.`]),
  ];
  return [
    { type: 'heading', text: 'For all steps' },
    { type: 'list', title: 'Loading', items: loading },
    {
      type: 'list',
      title: 'Cleaning, handling, packing',
      items: [
        'Clean and dry before heating: no fingerprints, oil, marking ink or loose powder.',
        'Clean gloves; protect datum faces; no stamp or tag on thin walls.',
      ],
    },
    {
      type: 'list',
      title: 'Rework',
      items: ['Not more than one repeat of a step, and only with our written approval.'],
    },
    {
      type: 'list',
      title: 'Certificate',
      items: [
        'Chart of time and part temperature, and of pressure, vacuum and dew point where they apply.',
        'Furnace class, date of the uniformity survey, calibration dates of the instruments.',
        'Deviations, lots and serial numbers, results of the checks above.',
      ],
    },
    {
      type: 'box',
      tone: 'hold',
      title: 'Powder statement',
      items: [powderStatement(job)],
    },
    {
      type: 'box',
      tone: 'caution',
      title: 'Safety',
      items: [
        'Residual metal powder can be inside: do not blow out in the open.',
        'No sealed volume in a furnace or vessel unless it is meant to collapse.',
        ...plan.job.hazards,
        ...plan.cautions
          .filter((caution) => caution.operations.some((seq) => isStep(steps, seq)))
          .map((caution) => caution.text),
      ],
    },
    { type: 'sign-off', boxes: ['Requested by', 'Accepted by the heat treater', 'Date'] },
  ];
}

function isStep(steps: readonly HeatStep[], seq: number): boolean {
  return steps.some(({ cycle }) => cycle.operation === seq);
}

function powderStatement(job: Job | undefined): string {
  const method = 'Method (weight, scan): ______________________';
  switch (job?.geometry.trappedPowder) {
    case 'none':
      return 'The parts have no channels or cavities that hold powder.';
    case 'open-channels':
    case 'closed-cavity':
      return job.geometry.powderProof
        ? `Channels and cavities are proven empty. ${method}`
        : `Channels and cavities have to be proven empty before the parts leave. ${method}`;
    default:
      return `Channels and cavities proven empty: yes / none / no. ${method}`;
  }
}
