import type { Catalog } from '../catalog/catalog.js';
import { minutesPerDay, totalOf, visitCost, type WorkCost } from '../cost/charges.js';
import { percentOf } from '../cost/money.js';
import { chooseMethods, type InspectionChoice } from '../inspection/choose-methods.js';
import { type PlanningContext, planningContext } from '../job/planning-context.js';
import { requirementsOf } from '../job/requirements.js';
import type { Job } from '../job/types.js';
import type { ChosenRoute } from '../route/choose-route.js';
import type { SolveOptions } from '../route/model.js';
import {
  type ChainLibrary,
  chainLibrary,
  planningAtQuantity,
  type RoutePlanning,
  routePlanning,
} from '../route/planning.js';
import { lotFlow } from '../schedule/lot-flow.js';
import { lotWorks } from './lot-works.js';
import { chooseStackedRoute, type Refusal, type StackedRoute } from './stack-loop.js';

/** The choices behind a plan for one quantity, before they are written out. */
export interface SolvedJob {
  readonly context: PlanningContext;
  /** Chains found on the way, for solving the job again. */
  readonly library: ChainLibrary;
  readonly planning: RoutePlanning;
  readonly chosen: ChosenRoute;
  /** Requirements for which exact stacks refused chains. */
  readonly refusals: readonly Refusal[];
  readonly inspection: InspectionChoice;
  readonly inspectionVisit: WorkCost;
  readonly inspectionCentre: {
    readonly id: string;
    readonly name: string;
    readonly sourcing: 'in-house' | 'outside';
  };
  /** Lot cost in minor units: model lines, inspection, contingency and margin. */
  readonly totals: {
    readonly model: number;
    readonly inspection: number;
    readonly contingency: number;
    readonly margin: number;
    readonly lot: number;
  };
  readonly leadMinutes: number;
  readonly days: number;
}

/**
 * @param alsoAt lot sizes that will be asked for next, see {@link solveAtQuantity}
 */
export function solveJob(
  job: Job,
  catalog: Catalog,
  quantity: number,
  options: SolveOptions = {},
  library: ChainLibrary = chainLibrary(quantity),
  alsoAt: readonly number[] = [],
): SolvedJob {
  const context = planningContext(job, catalog, quantity);
  notePolicy(context);
  const planning = routePlanning(
    context,
    library,
    alsoAt
      .filter((other) => other !== quantity)
      .map((other) => planningContext(job, catalog, other)),
  );
  return solvePlanning(chooseStackedRoute(planning, context, options), context, library);
}

/** The same job for another lot size, from what was found for the first. */
export function solveAtQuantity(
  solved: SolvedJob,
  quantity: number,
  options: SolveOptions = {},
): SolvedJob {
  const { job, catalog } = solved.context;
  const context = planningContext(job, catalog, quantity);
  // A learning curve shifts the balance of processes with the lot size.
  if (job.policy.learning !== undefined) return solveJob(job, catalog, quantity, options);
  const planning = planningAtQuantity(solved.planning, context);
  if (planning === undefined) return solveJob(job, catalog, quantity, options, solved.library);
  notePolicy(context);
  return solvePlanning(
    chooseStackedRoute(planning, context, options, solved.chosen),
    context,
    solved.library,
  );
}

function solvePlanning(
  { planning, chosen, refusals }: StackedRoute,
  context: PlanningContext,
  library: ChainLibrary,
): SolvedJob {
  const { job } = context;
  const items = job.features.flatMap((feature) =>
    requirementsOf(feature, () => context.defaultValue('rz-per-ra')).map((requirement) => ({
      feature,
      requirement,
    })),
  );
  const inspection = chooseMethods(items, context);
  const centre = context.workCentres.find((entry) => entry.processes.includes('final-inspection'));
  if (centre === undefined)
    throw new RangeError('the catalogue has no work centre for final-inspection');
  const inspectionVisit = visitCost(centre, context, { programmed: false, probed: false });
  const model = chosen.plan === undefined ? 0 : modelMoney(chosen, planning);
  const inspected =
    totalOf(inspectionVisit.charges) +
    [...inspection.characteristics, ...inspection.stations].reduce(
      (sum, entry) => sum + totalOf(entry.cost.charges),
      0,
    );
  const contingency = percentOf(model + inspected, job.policy.contingencyPercent);
  const margin = percentOf(model + inspected + contingency, job.policy.marginPercent);
  const leadMinutes =
    chosen.works.reduce((sum, work) => sum + workLead(work, chosen, planning), 0) +
    inspectionVisit.leadMinutes +
    [...inspection.characteristics, ...inspection.stations].reduce(
      (sum, entry) => sum + entry.cost.leadMinutes,
      0,
    );
  const route = {
    context,
    planning,
    chosen,
    refusals,
    inspection,
    inspectionVisit,
    inspectionCentre: { id: centre.id, name: centre.name, sourcing: centre.sourcing },
  };
  const { transferBatch } = job.policy;
  return {
    ...route,
    library,
    totals: {
      model,
      inspection: inspected,
      contingency,
      margin,
      lot: model + inspected + contingency + margin,
    },
    leadMinutes,
    days:
      transferBatch === undefined
        ? leadMinutes / minutesPerDay(context)
        : lotFlow(lotWorks(route), context.quantity, transferBatch).days,
  };
}

/** What the policy stands at is part of the answer, given or not. */
function notePolicy(context: PlanningContext): void {
  const { policy } = context.job;
  const standard = context.defaultValue('minimum-probability');
  if (policy.minimumProbability !== standard)
    context.assume({
      what: 'least probability that a requirement is met, in place of the default',
      value: String(policy.minimumProbability),
      source: 'policy of the job',
      confidence: 'given',
    });
  context.assume({
    what: 'policy',
    value: `objective ${policy.objective}; outside work ${policy.outsideWork ? 'allowed' : 'not allowed'}; contingency ${policy.contingencyPercent} %; margin ${policy.marginPercent} %`,
    source: 'policy of the job, or its defaults (cost, allowed, none, none)',
    confidence: 'given',
  });
  const { currency } = context.job.order;
  // The tables that ship are in euro; a shop's own may be in anything.
  if (currency !== 'EUR')
    context.find({
      id: 'currency-of-rates',
      severity: 'note',
      message: `rates and charges are taken as ${currency} as they stand in the tables; nothing is converted`,
    });
  if (policy.learning !== undefined)
    context.assume({
      what: 'learning curve of run times',
      value: `${policy.learning.percent} % at each doubling of the lot, ${policy.learning.processes?.join(', ') ?? 'all processes timed by parts'}`,
      source: 'policy of the job; cumulative average of Wright 1936',
      confidence: 'given',
    });
}

function modelMoney(chosen: ChosenRoute, planning: RoutePlanning): number {
  const setUps = chosen.solution.setups.reduce(
    (sum, id) => sum + totalOf(planning.setUps.get(id)?.cost.charges ?? []),
    0,
  );
  const chains = chosen.chains.reduce((sum, chain) => sum + totalOf(chain.cost.charges), 0);
  return setUps + chains + totalOf(chosen.plan?.cost.charges ?? []);
}

/** Lead time of one operation, working minutes; the masks against a finish count with it. */
function workLead(
  work: ChosenRoute['works'][number],
  chosen: ChosenRoute,
  planning: RoutePlanning,
): number {
  if (work.kind === 'part') {
    const finish = work.work.finish?.process.id;
    const masks = chosen.chains.flatMap((chain) =>
      chain.masked.filter((entry) => entry.finish.process.id === finish),
    );
    return work.work.cost.leadMinutes + masks.reduce((sum, mask) => sum + mask.cost.leadMinutes, 0);
  }
  const visit = planning.setUps.get(work.setUp.id)?.cost.leadMinutes ?? 0;
  const steps = work.chains.flatMap((chain) =>
    chain.steps.filter((step) => step.setUp.id === work.setUp.id),
  );
  return visit + steps.reduce((sum, step) => sum + step.cost.leadMinutes, 0);
}
