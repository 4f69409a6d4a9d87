import { badPartsFound, zeroAcceptancePlan } from '../inspection/sample-plans.js';
import { normalSamplePlan, type QualityLimit } from '../inspection/sample-plans-iso-2859.js';
import type { InspectionItem, Plan } from '../plan/types.js';
import { shortest } from './print-numbers.js';
import type { Block } from './types.js';

/** Risk of accepting a lot that the sample is meant to find out (common practice, no source). */
const consumerRisk = 0.1;

/** How a characteristic is accepted: parts measured, bad ones allowed, and what that finds out. */
export interface ItemSample {
  readonly sample: number;
  readonly accept: number;
  readonly reject: number;
  /** Bad parts in the lot that the sample finds with a probability of 90 %; 1 when all are measured. */
  readonly findsBadParts: number | undefined;
}

/**
 * How a characteristic of a plan is accepted: the plan takes no bad part, in a sample as in the lot.
 *
 * @example
 * itemSample({sample:5},{job:{quantity:24}}) // -> {"sample":5,"accept":0,"reject":1,"findsBadParts":9}
 */
export function itemSample(item: InspectionItem, plan: Plan): ItemSample {
  const lotSize = plan.job.quantity;
  const sample = Math.min(item.sample, lotSize);
  return {
    sample,
    accept: 0,
    reject: 1,
    findsBadParts: badPartsFound({ lotSize, sampleSize: sample, accept: 0 }, consumerRisk),
  };
}

const limits: readonly QualityLimit[] = [0.65, 1, 2.5];
const shares: readonly number[] = [0.025, 0.05, 0.1];
/** A smaller lot is measured whole by every row of the table. */
const leastLot = 5;

/** What the samples of the plan prove, and other samples for this lot to choose from. */
export function sampleBlocks(plan: Plan): readonly Block[] {
  const lotSize = plan.job.quantity;
  const sizes = [...new Set(plan.inspection.map((item) => itemSample(item, plan).sample))]
    .filter((size) => size < lotSize)
    .sort((a, b) => a - b);
  if (sizes.length === 0 || lotSize < leastLot) return [];
  return [
    { type: 'heading', text: 'Samples' },
    {
      type: 'list',
      title: `Accepted with no bad part in the sample; lot of ${lotSize}`,
      items: sizes.map((sampleSize) => {
        const found = badPartsFound({ lotSize, sampleSize, accept: 0 }, consumerRisk);
        const proves =
          found === undefined
            ? 'finds no lot out with 90 % probability'
            : `finds a lot with ${found} or more bad parts (${share(found / lotSize)}) with 90 % probability`;
        return `${sampleSize} of ${lotSize}: ${proves}.`;
      }),
    },
    {
      type: 'table',
      title: 'Other samples for this lot, where the customer asks for one',
      columns: [
        { title: 'Rule', align: 'left' },
        { title: 'Asked', align: 'left' },
        { title: 'Parts', align: 'decimal' },
        { title: 'Accept with up to, bad', align: 'decimal' },
        { title: 'Reject from, bad', align: 'decimal' },
        { title: 'Finds from, bad in the lot', align: 'decimal' },
        { title: 'Values', align: 'left' },
      ],
      rows: [
        ...limits.map((limit) => standardRow(lotSize, limit)),
        ...shares.map((bad) => zeroRow(lotSize, bad)),
      ],
    },
  ];
}

function standardRow(lotSize: number, limit: QualityLimit): readonly string[] {
  const { planLetter, sampleSize, accept, reject, confidence } = normalSamplePlan(lotSize, limit);
  return [
    'ISO 2859-1, level II, single, normal',
    `AQL ${limit}, letter ${planLetter}`,
    ...counts(lotSize, { sampleSize, accept, reject }),
    confidence === 'read' ? 'read in a source' : 'from memory: confirm',
  ];
}

function zeroRow(lotSize: number, badShare: number): readonly string[] {
  const found = zeroAcceptancePlan({ lotSize, badShare, consumerRisk });
  return [
    'no bad part, hypergeometric',
    `${share(badShare)} bad found with 90 %`,
    ...counts(lotSize, found),
    'computed',
  ];
}

function counts(
  lotSize: number,
  { sampleSize, accept, reject }: { sampleSize: number; accept: number; reject: number },
): readonly string[] {
  const found = badPartsFound({ lotSize, sampleSize, accept }, consumerRisk);
  return [
    sampleSize >= lotSize ? 'all' : String(sampleSize),
    String(accept),
    String(reject),
    found === undefined ? 'none' : String(found),
  ];
}

function share(value: number): string {
  return `${shortest(100 * value, 1)} %`;
}
