import type { Catalog } from '../catalog/catalog.js';
import { perPart } from '../cost/money.js';
import type { Job } from '../job/types.js';
import { type ChainLibrary, chainLibrary } from '../route/planning.js';
import type { PlanOptions } from './plan-job.js';
import { routeChanges } from './route-marks.js';
import { type SolvedJob, solveJob } from './solve-job.js';

/** What a changed job saves against the job as it stands; negative when it costs more. */
export interface Saving {
  /** Minor currency units. */
  readonly savesPerPart: number;
  readonly savesPerLot: number;
  /** Working days. */
  readonly savesDays: number;
  /** Operations that fall away or come in. */
  readonly routeChanges: readonly string[];
}

/** A solved job against which changes of it are held. */
export interface VariantBase {
  readonly base: SolvedJob;
  readonly currency: string;
  readonly minorDigits: number;
  /**
   * Solves the job with other features, everything else being the same; chains of features that did
   * not change are not looked for again. Undefined when it cannot be made.
   */
  withFeatures(features: Job['features']): SolvedJob | undefined;
  /** Solves any other job; undefined when it cannot be made. */
  solve(job: Job): SolvedJob | undefined;
  savingOf(solved: SolvedJob): Saving;
}

/** Throws RangeError when the job itself cannot be planned. */
export function variantBase(job: Job, catalog: Catalog, options: PlanOptions = {}): VariantBase {
  const quantity = options.quantity ?? job.order.quantity;
  const library = chainLibrary(quantity);
  const base = solveJob(job, catalog, quantity, options, library);
  const { plan, solution } = base.chosen;
  if (plan === undefined || solution.partPlan === undefined)
    throw new RangeError('the job cannot be planned as it stands: see the conflicts of its plan');
  const start = { partPlan: solution.partPlan, chains: solution.chains };
  const solved = (changed: Job, chains: ChainLibrary): SolvedJob | undefined => {
    const found = solveJob(changed, catalog, quantity, { ...options, start }, chains);
    return found.chosen.plan === undefined ? undefined : found;
  };
  const { currency } = job.order;
  return {
    base,
    currency,
    minorDigits: catalog.currencies.find((row) => row.code === currency)?.minorDigits ?? 2,
    withFeatures: (features) => solved({ ...job, features }, library),
    solve: (changed) => solved(changed, chainLibrary(quantity)),
    savingOf: (other) => {
      const savesPerLot = base.totals.lot - other.totals.lot;
      return {
        savesPerPart: perPart(savesPerLot, quantity),
        savesPerLot,
        savesDays: base.days - other.days,
        routeChanges: routeChanges(base.chosen.works, other.chosen.works),
      };
    },
  };
}

/** An amount as it stands in a sentence: `12.40 EUR`. */
export function moneyWords(minor: number, currency: string, minorDigits: number): string {
  return `${(Math.abs(minor) / 10 ** minorDigits).toFixed(minorDigits)} ${currency}`;
}
