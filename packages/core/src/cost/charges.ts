import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import type { PlanningContext } from '../job/planning-context.js';
import {
  type CostInput,
  type CostReckoning,
  centreInput,
  givenInput,
  rateInput,
  reckonedInput,
} from './inputs.js';
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
  | 'contingency'
  | 'margin';

/** One traceable amount, minor currency units for the lot. */
export interface Charge {
  /** What it is for, unique within its operation. */
  readonly id: string;
  readonly kind: ChargeKind;
  readonly label: string;
  readonly amount: number;
  /** The reckoning in figures. */
  readonly formula: string;
  /** Multiplied they give the amount, with minutes against rates per hour. */
  readonly inputs: readonly CostInput[];
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
 * charges, queue and turnaround. Where the work centre offers a dedicated fixture, it is taken in
 * place of soft jaws and probing when that costs less at the lot size.
 *
 * @param options.programmed whether the visit needs a program
 * @param options.probed whether the part is probed on a datum in the visit
 * @param options.pieces what is loaded, when it is not the single parts (plates)
 * @param options.loads how often the lot charge falls due
 */
export function visitCost(
  centre: WorkCentresRow,
  context: PlanningContext,
  options: VisitOptions,
): WorkCost {
  const plain = heldVisit(centre, context, options);
  const { fixtureCost, fixtureLoadMin } = centre;
  if (!options.programmed || fixtureCost === undefined || fixtureLoadMin === undefined)
    return plain;
  const fixture = { cost: fixtureCost, loadMin: fixtureLoadMin };
  const fixed = heldVisit(centre, context, options, fixture);
  return totalOf(fixed.charges) < totalOf(plain.charges) ? fixed : plain;
}

export interface VisitOptions {
  readonly programmed: boolean;
  readonly probed: boolean;
  readonly pieces?: number;
  readonly loads?: number;
}

/** Id of the charge that a dedicated fixture brings. */
const fixtureCharge = 'fixture';

/** Whether the parts of a visit are held in a dedicated fixture. */
export function isFixed({ charges }: WorkCost): boolean {
  return charges.some(({ id }) => id === fixtureCharge);
}

function heldVisit(
  centre: WorkCentresRow,
  context: PlanningContext,
  options: VisitOptions,
  fixture?: { readonly cost: number; readonly loadMin: number },
): WorkCost {
  const { quantity, minorPerMajor } = context;
  const { currency } = context.job.order;
  const charges: Charge[] = [];
  const add = (
    kind: ChargeKind,
    label: string,
    amount: number,
    formula: string,
    inputs: readonly CostInput[],
    id: string = kind,
  ): void => {
    if (amount !== 0)
      charges.push({ id, kind, label, amount, formula, inputs, source: centre.source });
  };
  const byTime = (
    kind: ChargeKind,
    label: string,
    minutes: number,
    how: string,
    inputs: readonly CostInput[],
  ): void =>
    add(
      kind,
      label,
      charge(minutes, centre.ratePerH, minorPerMajor),
      `${how} x ${centre.ratePerH}/h`,
      [...inputs, rateInput(centre, context)],
    );
  const minutesInput = (name: string, minutes: number): CostInput =>
    centreInput(centre, name, minutes, 'min');
  byTime('set-up', `set up ${centre.name}`, centre.setupMin, `${centre.setupMin} min`, [
    minutesInput('set-up time', centre.setupMin),
  ]);
  if (options.programmed)
    byTime(
      'programming',
      `program ${centre.name}`,
      centre.programmingMin,
      `${centre.programmingMin} min`,
      [minutesInput('programming time', centre.programmingMin)],
    );
  const pieces = options.pieces ?? quantity;
  const loads = options.loads ?? 1;
  if (fixture !== undefined)
    add(
      'set-up',
      `dedicated fixture, ${centre.name}`,
      toMinor(fixture.cost, minorPerMajor),
      String(fixture.cost),
      [centreInput(centre, 'cost of a dedicated fixture', fixture.cost, currency)],
      fixtureCharge,
    );
  // A fixture locates the part, which spares the probing.
  const probed = fixture === undefined && options.probed && centre.probingMin > 0;
  const loadMin = fixture?.loadMin ?? centre.loadMin;
  const perPiece = loadMin + (probed ? centre.probingMin : 0);
  const loadTime = minutesInput(
    fixture === undefined ? 'load time' : 'load time in the fixture',
    loadMin,
  );
  byTime(
    'load',
    `load${probed ? ' and probe' : ''}, ${centre.name}`,
    perPiece * pieces,
    `${perPiece} min x ${pieces}`,
    [
      probed
        ? reckonedInput('load and probe time', perPiece, 'min', {
            formula: 'load time + probing time',
            inputs: [loadTime, minutesInput('probing time', centre.probingMin)],
          })
        : loadTime,
      options.pieces === undefined
        ? givenInput('parts', pieces, 'parts')
        : {
            ...givenInput('pieces loaded', pieces, '1'),
            source: 'the plan',
            confidence: 'computed',
          },
    ],
  );
  add(
    'lot-charge',
    `lot charge, ${centre.name}`,
    toMinor(centre.lotCharge * loads, minorPerMajor),
    `${centre.lotCharge} x ${loads} load${loads === 1 ? '' : 's'}`,
    [
      centreInput(centre, 'charge of a lot', centre.lotCharge, currency),
      { name: 'loads', value: loads, unit: '1', source: 'the plan', confidence: 'computed' },
    ],
  );
  add(
    'unit-charge',
    `charge per part, ${centre.name}`,
    toMinor(centre.unitCharge * quantity, minorPerMajor),
    `${centre.unitCharge} x ${quantity}`,
    [
      centreInput(centre, 'charge of a part', centre.unitCharge, currency),
      givenInput('parts', quantity, 'parts'),
    ],
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

/**
 * Run time of a step at a work centre.
 *
 * @param minutes for the lot
 * @param details.id what the time is for, unique within the operation; the kind if absent
 * @param details.from how the minutes came about
 */
export function runCost(
  centre: WorkCentresRow,
  context: PlanningContext,
  minutes: number,
  label: string,
  details: {
    readonly id?: string;
    readonly kind?: 'run' | 'furnace';
    readonly from?: CostReckoning;
  } = {},
): WorkCost {
  const { kind = 'run', from } = details;
  const amount = charge(minutes, centre.ratePerH, context.minorPerMajor);
  const run: CostInput = {
    name: kind === 'run' ? 'run time' : 'furnace time',
    value: minutes,
    unit: 'min',
    source: from === undefined ? 'the plan' : 'reckoned',
    confidence: 'computed',
    ...(from === undefined ? {} : { from }),
  };
  const line: Charge = {
    id: details.id ?? kind,
    kind,
    label,
    amount,
    formula: `${minutes.toFixed(1)} min x ${centre.ratePerH}/h`,
    inputs: [run, rateInput(centre, context)],
    source: centre.source,
  };
  return {
    charges: amount === 0 ? [] : [line],
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
