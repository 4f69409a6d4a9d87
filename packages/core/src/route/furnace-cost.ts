import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import { type Charge, runCost, type WorkCost } from '../cost/charges.js';
import { type CostInput, defaultInput, reckonedInput } from '../cost/inputs.js';
import { toMinor } from '../cost/money.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Cycle } from '../thermal/cycle-types.js';
import type { LoadCapacity } from '../thermal/load.js';

/** How a lot goes through a furnace. */
export interface LoadShare {
  /** Loads that the lot is spread over. */
  readonly loads: number;
  /** Full loads that the lot pays for: parts or plates over those of a full load; `loads` when it
   * runs alone or nothing limits a load. */
  readonly paid: number;
  readonly pieces: number;
  readonly shared: boolean;
}

/** The lot's share of full loads, by plates on the floor, volume or mass, whichever fills first. */
export function loadShare(
  pieces: number,
  capacity: LoadCapacity | undefined,
  alone: boolean,
): LoadShare {
  const loads = Math.ceil(pieces / (capacity?.count ?? pieces));
  const shared = !alone && capacity !== undefined;
  return { loads, paid: shared ? pieces / capacity.count : loads, pieces, shared };
}

/**
 * What heating a lot costs: its share of the furnace's time, and in the shop's own furnaces its share
 * of electricity and argon at their prices. An outside treater's hour holds both.
 */
export function furnaceCost(
  centre: WorkCentresRow,
  cycle: Cycle,
  share: LoadShare,
  capacity: LoadCapacity | undefined,
  context: PlanningContext,
  label: string,
  source: string,
): WorkCost {
  const paid = paidLoads(share, capacity);
  const time = runCost(centre, context, cycle.totalMinutes * share.paid, label, {
    kind: 'furnace',
    from: {
      formula: `${paid.name} x time of a cycle`,
      inputs: [
        paid,
        {
          name: 'time of a cycle',
          value: cycle.totalMinutes,
          unit: 'min',
          source: `heat treatment of the plan: ${source}`,
          confidence: 'computed',
        },
      ],
    },
  });
  const own = centre.sourcing === 'in-house';
  return {
    charges: [
      ...time.charges,
      ...(own
        ? [
            consumed('electricity', cycle.energyKwh, 'kWh', paid, label, context),
            consumed('argon', cycle.argonM3, 'm3', paid, label, context),
          ].flat()
        : []),
    ],
    setupMinutes: 0,
    runMinutes: cycle.totalMinutes * share.loads,
    leadMinutes: 0,
  };
}

function paidLoads(share: LoadShare, capacity: LoadCapacity | undefined): CostInput {
  const computed = { unit: '1', source: 'the plan', confidence: 'computed' } as const;
  if (!share.shared || capacity === undefined)
    return { name: 'loads', value: share.loads, ...computed };
  return reckonedInput('share of full loads', share.paid, '1', {
    formula: `pieces / most in a load`,
    inputs: [
      { name: 'pieces', value: share.pieces, ...computed },
      {
        name: 'most in a load',
        value: capacity.count,
        ...computed,
        source: `furnace and part, limited by ${capacity.limitedBy}`,
      },
    ],
  });
}

/** What a cycle uses of something, times its price; nothing where the use is not known. */
function consumed(
  what: 'electricity' | 'argon',
  perLoad: number | undefined,
  unit: 'kWh' | 'm3',
  paid: CostInput,
  label: string,
  context: PlanningContext,
): readonly Charge[] {
  if (perLoad === undefined) return [];
  const price = {
    ...defaultInput(`${what}-price`, `price of ${what}`, context),
    unit: `${context.job.order.currency}/${unit}`,
  };
  const used = perLoad * paid.value;
  const amount = toMinor(used * price.value, context.minorPerMajor);
  if (amount === 0) return [];
  return [
    {
      id: what,
      kind: 'furnace',
      label: `${what}, ${label}`,
      amount,
      formula: `${used.toFixed(2)} ${unit} x ${price.value}/${unit}`,
      inputs: [
        reckonedInput(what, used, unit, {
          formula: `${paid.name} x ${what} of a load`,
          inputs: [
            paid,
            {
              name: `${what} of a load`,
              value: perLoad,
              unit,
              source: 'heat treatment of the plan: mass, furnace and cycle',
              confidence: 'computed',
            },
          ],
        }),
        price,
      ],
      source: price.source,
    },
  ];
}
