import { lotFlow, type ScheduledWork, transferBatchOf } from './lot-flow.js';

/** One way to bring the date in, with the days that the lot would then take. */
export interface Shortening {
  readonly id: 'overlap' | 'extra-shift' | 'own-queues' | `express-${number}` | 'all';
  readonly what: string;
  readonly days: number;
  /** Against the days as planned, above 0. */
  readonly savesDays: number;
}

/** A supplier's faster service. */
export interface Express {
  readonly operation: number;
  readonly turnaroundDays: number;
}

/** What a schedule rests on. */
export interface ScheduleBasis {
  readonly works: readonly ScheduledWork[];
  readonly quantity: number;
  /** Parts that move on together. */
  readonly transferBatch: number;
  readonly shiftsPerDay: number;
  readonly express: readonly Express[];
}

/** In how many transfer batches the overlap moves the lot. */
const overlapBatches = 4;

/**
 * Ways to bring the date in, each computed anew, most days saved first; ways that save nothing are
 * left out. Overlap: the lot moves on in four batches. Extra shift: one more a day at the own work
 * centres, furnaces apart. Own queues: the lot goes first at every own work centre. Express: a
 * supplier's faster service where there is one. All: everything together. Days as working days.
 *
 * Source: recomputed by `lotFlow`, no rule of thumb.
 *
 * @example
 * shortenings({ works: [{ operation: 10, workCentre: 'a', sourcing: 'in-house', queueDays: 2, turnaroundDays: 0, setupDays: 0, runDays: 4, partByPart: true, byTheClock: false }], quantity: 8, transferBatch: 8, shiftsPerDay: 1, express: [] }).map((way) => [way.id, way.savesDays]) // -> [["all",4],["extra-shift",2],["own-queues",2]]
 */
export function shortenings(basis: ScheduleBasis): readonly Shortening[] {
  const { works, quantity, transferBatch, shiftsPerDay, express } = basis;
  const planned = lotFlow(works, quantity, transferBatch).days;
  const smaller = Math.min(
    transferBatchOf(quantity, transferBatch),
    Math.ceil(quantity / overlapBatches),
  );
  const sooner = (work: ScheduledWork, offers: readonly Express[]): ScheduledWork => {
    const offer = offers.find(({ operation }) => operation === work.operation);
    return offer === undefined ? work : { ...work, turnaroundDays: offer.turnaroundDays };
  };
  const shifted = (work: ScheduledWork): ScheduledWork => {
    if (work.sourcing === 'outside' || work.byTheClock) return work;
    const share = shiftsPerDay / (shiftsPerDay + 1);
    return { ...work, setupDays: work.setupDays * share, runDays: work.runDays * share };
  };
  const first = (work: ScheduledWork): ScheduledWork =>
    work.sourcing === 'outside' ? work : { ...work, queueDays: 0 };
  const way = (
    id: Shortening['id'],
    what: string,
    changed: readonly ScheduledWork[],
    batch = transferBatch,
  ): Shortening => {
    const { days } = lotFlow(changed, quantity, batch);
    return { id, what, days, savesDays: planned - days };
  };
  const singles = [
    way('overlap', `pass the lot on in batches of ${smaller}`, works, smaller),
    way('extra-shift', 'one more shift a day at the own work centres', works.map(shifted)),
    way('own-queues', 'first in the queue at every own work centre', works.map(first)),
    ...express.map((offer) =>
      way(
        `express-${offer.operation}`,
        `express service for operation ${offer.operation}`,
        works.map((work) => sooner(work, [offer])),
      ),
    ),
  ].filter(({ savesDays }) => savesDays > 1e-9);
  if (singles.length === 0) return [];
  const all = way(
    'all',
    'all of these together',
    works.map((work) => shifted(first(sooner(work, express)))),
    smaller,
  );
  return [...(singles.length > 1 ? [all] : []), ...singles].sort(
    (a, b) => b.savesDays - a.savesDays || (a.id < b.id ? -1 : 1),
  );
}
