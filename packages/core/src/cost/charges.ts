import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import type { PlanningContext } from '../job/planning-context.js';
import { charge, toMinor } from './money.js';

export type ChargeKind =
  | 'set-up'
  | 'programming'
  | 'run'
  | 'load'
  | 'lot-charge'
  | 'unit-charge'
  | 'furnace'
  | 'inspection'
  | 'margin';

/** One traceable amount, minor currency units for the lot. */
export interface Charge {
  readonly kind: ChargeKind;
  readonly label: string;
  readonly amount: number;
  readonly formula: string;
  readonly source: string;
}

/** What a piece of work costs and how long it holds the lot up. */
export interface WorkCost {
  readonly charges: readonly Charge[];
  readonly setupMinutes: number;
  readonly runMinutes: number;
  /** Share of the lead time, working minutes: queue, turnaround and (in-house) the work itself. */
  readonly leadMinutes: number;
}

export function totalOf(charges: readonly Charge[]): number {
  return charges.reduce((sum, entry) => sum + entry.amount, 0);
}

/** Working minutes of a day. */
export function minutesPerDay(context: PlanningContext): number {
  return 60 * context.defaultValue('hours-per-shift') * context.defaultValue('shifts-per-day');
}

/**
 * Fixed charges of one visit to a work centre: set-up, programming, loading, probing, lot and unit
 * charges, queue and turnaround.
 *
 * @param options.programmed whether the visit needs a program
 * @param options.probed whether the part is probed on a datum in the visit
 * @param options.pieces what is loaded, when it is not the single parts (plates)
 * @param options.loads how often the lot charge falls due
 */
export function visitCost(
  centre: WorkCentresRow,
  context: PlanningContext,
  options: {
    readonly programmed: boolean;
    readonly probed: boolean;
    readonly pieces?: number;
    readonly loads?: number;
  },
): WorkCost {
  const { quantity, minorPerMajor } = context;
  const source = centre.source;
  const charges: Charge[] = [];
  const add = (kind: ChargeKind, label: string, amount: number, formula: string): void => {
    if (amount !== 0) charges.push({ kind, label, amount, formula, source });
  };
  const byTime = (kind: ChargeKind, label: string, minutes: number, how: string): void =>
    add(
      kind,
      label,
      charge(minutes, centre.ratePerH, minorPerMajor),
      `${how} x ${centre.ratePerH}/h`,
    );
  byTime('set-up', `set up ${centre.name}`, centre.setupMin, `${centre.setupMin} min`);
  if (options.programmed)
    byTime(
      'programming',
      `program ${centre.name}`,
      centre.programmingMin,
      `${centre.programmingMin} min`,
    );
  const pieces = options.pieces ?? quantity;
  const loads = options.loads ?? 1;
  const perPiece = centre.loadMin + (options.probed ? centre.probingMin : 0);
  byTime(
    'load',
    `load${options.probed && centre.probingMin > 0 ? ' and probe' : ''}, ${centre.name}`,
    perPiece * pieces,
    `${perPiece} min x ${pieces}`,
  );
  add(
    'lot-charge',
    `lot charge, ${centre.name}`,
    toMinor(centre.lotCharge * loads, minorPerMajor),
    `${centre.lotCharge} x ${loads} load${loads === 1 ? '' : 's'}`,
  );
  add(
    'unit-charge',
    `charge per part, ${centre.name}`,
    toMinor(centre.unitCharge * quantity, minorPerMajor),
    `${centre.unitCharge} x ${quantity}`,
  );
  const setupMinutes = centre.setupMin + (options.programmed ? centre.programmingMin : 0);
  const working = centre.sourcing === 'in-house' ? setupMinutes + perPiece * pieces : 0;
  return {
    charges,
    setupMinutes,
    runMinutes: perPiece * pieces,
    leadMinutes: (centre.queueDays + centre.turnaroundDays) * minutesPerDay(context) + working,
  };
}

/** Run time of a step at a work centre, minutes for the lot. */
export function runCost(
  centre: WorkCentresRow,
  context: PlanningContext,
  minutes: number,
  label: string,
  kind: ChargeKind = 'run',
): WorkCost {
  const amount = charge(minutes, centre.ratePerH, context.minorPerMajor);
  return {
    charges:
      amount === 0
        ? []
        : [
            {
              kind,
              label,
              amount,
              formula: `${minutes.toFixed(1)} min x ${centre.ratePerH}/h`,
              source: centre.source,
            },
          ],
    setupMinutes: 0,
    runMinutes: minutes,
    leadMinutes: centre.sourcing === 'in-house' ? minutes : 0,
  };
}

export function addCosts(...costs: readonly WorkCost[]): WorkCost {
  return {
    charges: ([] as Charge[]).concat(...costs.map((cost) => cost.charges)),
    setupMinutes: costs.reduce((sum, cost) => sum + cost.setupMinutes, 0),
    runMinutes: costs.reduce((sum, cost) => sum + cost.runMinutes, 0),
    leadMinutes: costs.reduce((sum, cost) => sum + cost.leadMinutes, 0),
  };
}

/** What the route model minimises, by the job's policy. */
export function objectiveOf(cost: WorkCost, context: PlanningContext): number {
  return weigh(totalOf(cost.charges), cost.leadMinutes, context);
}

/** Run times taken together, without their charges being written out. */
export interface RunSum {
  /** Minor currency units. */
  readonly money: number;
  readonly leadMinutes: number;
}

export const noRun: RunSum = { money: 0, leadMinutes: 0 };

export function addRun(
  sum: RunSum,
  centre: WorkCentresRow,
  minutes: number,
  context: PlanningContext,
): RunSum {
  return {
    money: sum.money + charge(minutes, centre.ratePerH, context.minorPerMajor),
    leadMinutes: sum.leadMinutes + (centre.sourcing === 'in-house' ? minutes : 0),
  };
}

/** What run times add to the objective, by the job's policy. */
export function runObjective({ money, leadMinutes }: RunSum, context: PlanningContext): number {
  return weigh(money, leadMinutes, context);
}

function weigh(money: number, leadMinutes: number, context: PlanningContext): number {
  const { objective, costPerDay } = context.job.policy;
  if (objective === 'cost') return money;
  if (objective === 'days') return Math.round(leadMinutes * 100);
  const perMinute = toMinor(costPerDay ?? 0, context.minorPerMajor) / minutesPerDay(context);
  return money + Math.round(leadMinutes * perMinute);
}
