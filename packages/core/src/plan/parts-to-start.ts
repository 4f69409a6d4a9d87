import type { Catalog } from '../catalog/catalog.js';
import type { ProcessYieldsRow } from '../catalog/generated/process-yields.js';
import { type Charge, totalOf } from '../cost/charges.js';
import { perPart } from '../cost/money.js';
import { afterRework, enoughGood, partsToStart } from '../cost/yield.js';
import type { Job } from '../job/types.js';
import type { Confidence } from '../problems/finding.js';
import type { PlanOptions } from './plan-job.js';
import { type SolvedJob, solveAtQuantity, solveJob } from './solve-job.js';
import { tidy } from './tidy.js';

/** How many parts to start so that enough end good, schema `parts-to-start/1`. Money in minor units. */
export interface PartsToStart {
  readonly schema: 'parts-to-start/1';
  readonly currency: string;
  readonly minorDigits: number;
  /** Good parts wanted. */
  readonly ordered: number;
  readonly start: number;
  /** Probability asked for, and reached with the parts started. */
  readonly target: number;
  readonly enough: number;
  /** Probability of enough good parts when only as many are started as are ordered. */
  readonly enoughWithoutSpare: number;
  /** Probability that a part that is started ends good. */
  readonly good: number;
  readonly operations: readonly OperationYield[];
  readonly cost: {
    /** The lot as ordered, with none lost. */
    readonly orderedLot: number;
    /** The lot as started, every part through every operation. */
    readonly startedLot: number;
    /** What the spare parts cost: the difference. */
    readonly spare: number;
    readonly perGoodPart: number;
    /** Expected: spent on parts up to the operation in which they are lost. */
    readonly expectedScrap: number;
    /** Expected: run time spent again on parts that go through an operation again. */
    readonly expectedRework: number;
  };
}

export interface OperationYield {
  readonly operation: string;
  readonly workCentre: string;
  /** Times that its processes are done on one part: features, each counted. */
  readonly steps: number;
  /** Probability that a part is lost here, rework included. */
  readonly lost: number;
  /** Mean number of passes of a step. */
  readonly passes: number;
  /** Parts of the start that are expected to come through this operation. */
  readonly expectedThrough: number;
  readonly confidence: Confidence;
}

export interface PartsToStartOptions extends PlanOptions {
  /** Least probability of enough good parts; the policy's or else the catalogue's default if absent. */
  readonly target?: number;
}

/**
 * How many parts to start so that the ordered number ends good with the wanted probability. Each step
 * spoils a part by itself with the share of its process (table process-yields), so the number of good
 * parts is binomial over the whole chain. The route is chosen for the lot that is started; when that
 * changes the route, the parts are counted again. Spare parts are priced as if each went through every
 * operation, which is the dear side. The choice of the route does not weigh yields.
 *
 * @throws RangeError when the job cannot be planned or the target is no probability below 1
 */
export function planStart(
  job: Job,
  catalog: Catalog,
  options: PartsToStartOptions = {},
): PartsToStart {
  const ordered = options.quantity ?? job.order.quantity;
  const base = solveJob(job, catalog, ordered, options);
  if (base.chosen.plan === undefined)
    throw new RangeError('the job cannot be planned as it stands: see the conflicts of its plan');
  const target =
    options.target ??
    job.policy.enoughGoodProbability ??
    base.context.defaultValue('enough-good-probability');
  let solved = base;
  let operations = yieldsOf(solved);
  let start = partsToStart(goodShare(operations), ordered, target);
  // A larger lot may take another route with a poorer yield; the count then only grows.
  while (start > solved.context.quantity) {
    solved = solveAtQuantity(solved, start, options);
    operations = yieldsOf(solved);
    start = Math.max(start, partsToStart(goodShare(operations), ordered, target));
  }
  const good = goodShare(operations);
  const expected = expectedLosses(operations, start);
  return tidy({
    schema: 'parts-to-start/1' as const,
    currency: job.order.currency,
    minorDigits: Math.round(Math.log10(base.context.minorPerMajor)),
    ordered,
    start,
    target,
    enough: enoughGood(good, start, ordered),
    enoughWithoutSpare: enoughGood(good, ordered, ordered),
    good,
    operations: operations.map(({ charges: _charges, ...entry }, index) => ({
      ...entry,
      expectedThrough: expected.through[index] ?? 0,
    })),
    cost: {
      orderedLot: base.totals.lot,
      startedLot: solved.totals.lot,
      spare: solved.totals.lot - base.totals.lot,
      perGoodPart: perPart(solved.totals.lot, ordered),
      expectedScrap: Math.round(expected.scrap),
      expectedRework: Math.round(expected.rework),
    },
  });
}

interface WorkYield extends Omit<OperationYield, 'expectedThrough'> {
  readonly charges: readonly Charge[];
}

function goodShare(operations: readonly WorkYield[]): number {
  return operations.reduce((good, { lost }) => good * (1 - lost), 1);
}

function yieldsOf({ chosen, planning, context }: SolvedJob): readonly WorkYield[] {
  const rows = new Map(context.catalog.processYields.map((row) => [row.process, row]));
  return chosen.works.map((work): WorkYield => {
    if (work.kind === 'part') {
      const { title, centre, process, cost } = work.work;
      return workYield(title, centre.name, [rows.get(process)], cost.charges);
    }
    const { setUp, chains } = work;
    const steps = chains.flatMap((chain) =>
      chain.steps
        .filter((step) => step.setUp.id === setUp.id)
        .map((step) => ({ step, count: chain.feature.count })),
    );
    return workYield(
      `Machine, ${setUp.holding}`,
      setUp.centre.name,
      steps.flatMap(({ step, count }) =>
        Array.from({ length: count }, () => rows.get(step.process.id)),
      ),
      [
        ...(planning.setUps.get(setUp.id)?.cost.charges ?? []),
        ...steps.flatMap(({ step }) => step.cost.charges),
      ],
    );
  });
}

function workYield(
  operation: string,
  workCentre: string,
  rows: readonly (ProcessYieldsRow | undefined)[],
  charges: readonly Charge[],
): WorkYield {
  const shares = rows.map((row) =>
    afterRework({ scrap: row?.scrapShare ?? 0, rework: row?.reworkShare ?? 0 }),
  );
  return {
    operation,
    workCentre,
    steps: rows.length,
    lost: 1 - shares.reduce((kept, { lost }) => kept * (1 - lost), 1),
    passes:
      shares.length === 0 ? 1 : shares.reduce((sum, { passes }) => sum + passes, 0) / shares.length,
    confidence: rows.find((row) => row !== undefined)?.confidence ?? 'practice',
    charges,
  };
}

/** Charges that are spent again when a step is done again. */
const repeated: readonly Charge['kind'][] = ['run', 'furnace'];

function expectedLosses(
  operations: readonly WorkYield[],
  started: number,
): { readonly through: readonly number[]; readonly scrap: number; readonly rework: number } {
  const through: number[] = [];
  let parts = started;
  let spent = 0;
  let scrap = 0;
  let rework = 0;
  for (const { charges, lost, passes } of operations) {
    const runs = totalOf(charges.filter(({ kind }) => repeated.includes(kind)));
    spent += totalOf(charges) / started;
    scrap += parts * lost * spent;
    rework += (parts * (passes - 1) * runs) / started;
    parts *= 1 - lost;
    through.push(parts);
  }
  return { through, scrap, rework };
}
