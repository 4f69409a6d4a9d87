import type { Catalog } from '../catalog/catalog.js';
import { perPart } from '../cost/money.js';
import { requirementsOf } from '../job/requirements.js';
import type { Job } from '../job/types.js';
import type { RouteModel, SolveOptions } from '../route/model.js';
import { accessOf } from '../route/set-ups.js';
import { axisCharts } from './axis-charts.js';
import { findConflicts, withoutRequirements } from './conflicts.js';
import { costLines } from './cost-lines.js';
import { plannedFeatures } from './features.js';
import { operationsOf } from './operations.js';
import { partChainStacks } from './part-chains.js';
import { requirementStacks } from './requirement-stacks.js';
import { type OtherRoute, schedulePlan } from './schedule-plan.js';
import { cautionList, inspectionItems } from './sections.js';
import { type SolvedJob, solveAtQuantity, solveJob } from './solve-job.js';
import { stockPlan } from './stock.js';
import { thermalPlan } from './thermal-plan.js';
import { tidy } from './tidy.js';
import type { Conflict, Plan, PlanHeader, QuantityBreak } from './types.js';

export interface PlanOptions extends SolveOptions {
  /** Lot size in place of the job's. */
  readonly quantity?: number;
}

/**
 * Plans a job from start to end: route, stock, stack-ups, heat treatment, inspection, cost and days.
 * Lengths in mm, roughness in um, money in integer minor units of the job's currency. A job that
 * cannot be made gives a plan with `feasible: false` and `conflicts`; where single requirements are
 * to blame, the rest is planned without them. Throws RangeError when the catalogue lacks a table row
 * that planning needs.
 */
export function planJob(job: Job, catalog: Catalog, options: PlanOptions = {}): Plan {
  const quantity = options.quantity ?? job.order.quantity;
  const breaks = job.order.quantityBreaks;
  const first = solveJob(job, catalog, quantity, options, undefined, breaks);
  if (first.chosen.plan !== undefined) return tidy(writePlan(first, job, catalog, [], options));
  const report = findConflicts(first, job, catalog);
  if (report.setAside === undefined)
    return tidy(writePlan(first, job, catalog, report.conflicts, options));
  const rest = withoutRequirements(job, report.setAside, (feature) =>
    requirementsOf(feature, () => first.context.defaultValue('rz-per-ra')),
  );
  // Found anew, so that its notebook holds every default that the chains rest on.
  const second = solveJob(rest, catalog, quantity, options, undefined, breaks);
  const more =
    second.chosen.plan === undefined ? findConflicts(second, rest, catalog).conflicts : [];
  return tidy(writePlan(second, rest, catalog, [...report.conflicts, ...more], options));
}

/**
 * The choice problem behind a plan in the open form `route-model/1`, with every constraint that the
 * planner added, so that any outside solver can check the optimum.
 */
export function routeModel(job: Job, catalog: Catalog, options: PlanOptions = {}): RouteModel {
  return solveJob(job, catalog, options.quantity ?? job.order.quantity, options).chosen.model;
}

function writePlan(
  solved: SolvedJob,
  job: Job,
  catalog: Catalog,
  conflicts: readonly Conflict[],
  options: PlanOptions,
): Plan {
  const { context, chosen, totals } = solved;
  const planned = chosen.plan !== undefined;
  const operations = planned ? operationsOf(solved) : [];
  const stacks = [...requirementStacks(solved, operations), ...partChainStacks(solved, operations)];
  const charts = planned ? axisCharts(solved, operations) : [];
  const features = plannedFeatures(solved, operations, stacks);
  const currency = catalog.currencies.find((row) => row.code === job.order.currency);
  const inspection = planned ? inspectionItems(solved) : [];
  const schedule = schedulePlan(solved, operations, () => fastestRoute(solved, options));
  const thermal = thermalPlan(solved, operations);
  context.assume({
    what: 'scrap',
    value: 'none: every part that is started is taken to end good',
    source: 'rule of the planner, no source',
    confidence: 'practice',
  });
  noteAssumedAccess(solved);
  return {
    schema: 'plan/1',
    job: header(solved),
    feasible: planned && conflicts.length === 0,
    operations,
    features,
    stacks,
    charts,
    thermal,
    stock: planned
      ? stockPlan(solved)
      : { faces: [], heightOffPlateMm: 0, heightOffPlateParts: [] },
    inspection,
    cost: {
      currency: job.order.currency,
      minorDigits: currency?.minorDigits ?? 2,
      priceYear: String(context.defaultValue('price-year')),
      lines: planned ? costLines(solved, operations) : [],
      perLot: planned ? totals.lot : 0,
      perPart: planned ? perPart(totals.lot, context.quantity) : 0,
      breaks: planned ? quantityBreaks(solved, options) : [],
    },
    schedule,
    questions: [],
    assumptions: context.assumptions(),
    findings: context.findings(),
    cautions: cautionList(solved, operations),
    proof: {
      status: chosen.solution.status,
      optimal: chosen.solution.status === 'optimal',
      objective: planned ? chosen.solution.objective : 0,
      lowerBound: planned ? chosen.solution.lowerBound : 0,
      gap: planned ? chosen.solution.gap : 0,
      nodes: chosen.solution.nodes,
      constants: planned ? totals.inspection + totals.contingency + totals.margin : 0,
    },
    conflicts,
  };
}

/** Tool directions that the job did not give, where the plan rests on them. */
function noteAssumedAccess({ chosen, context }: SolvedJob): void {
  for (const { feature, steps } of chosen.chains) {
    const directed = steps.some((step) => step.setUp.directions.length > 0);
    if (feature.access.length > 0 || !directed) continue;
    context.find({
      id: 'access-assumed',
      severity: 'warning',
      message: `no access direction given: ${accessOf(feature).join(', ')} assumed`,
      about: feature.id,
    });
  }
}

function header(solved: SolvedJob): PlanHeader {
  const { job, material, quantity } = solved.context;
  const { part, order, geometry } = job;
  const massKg = solved.planning.part.massKg;
  return {
    part: part.name,
    number: part.number,
    revision: part.revision,
    material: {
      id: material.id,
      name: material.name,
      designation: material.uns ?? material.otherDesignation ?? material.id,
    },
    printer: part.printer,
    endUse: part.endUse,
    condition: solved.chosen.plan?.route.condition ?? part.condition ?? 'not planned',
    quantity,
    ...(order.customer === undefined ? {} : { customer: order.customer }),
    ...(order.reference === undefined ? {} : { reference: order.reference }),
    ...(order.dueOn === undefined ? {} : { dueOn: order.dueOn }),
    regulated: part.regulated,
    standards: part.standards,
    hazards: part.hazards,
    ...(geometry.boxMm === undefined ? {} : { boxMm: geometry.boxMm }),
    ...(massKg === undefined ? {} : { massKg }),
  };
}

/** The job at other quantities, each solved anew, with what changes in the route. */
function quantityBreaks(solved: SolvedJob, options: PlanOptions): readonly QuantityBreak[] {
  const here = routeMarks(solved);
  return [...new Set(solved.context.job.order.quantityBreaks)]
    .sort((a, b) => a - b)
    .map((quantity): QuantityBreak => {
      const other =
        quantity === solved.context.quantity ? solved : solveAtQuantity(solved, quantity, options);
      const feasible = other.chosen.plan !== undefined;
      const there = routeMarks(other);
      return {
        quantity,
        perPart: feasible ? perPart(other.totals.lot, quantity) : 0,
        perLot: feasible ? other.totals.lot : 0,
        days: feasible ? other.days : 0,
        routeChanges: markChanges(here, there),
        feasible,
      };
    });
}

/** The route with the fewest days, where that is not what the job asks for anyway. */
function fastestRoute(solved: SolvedJob, options: PlanOptions): OtherRoute | undefined {
  const { job, catalog, quantity } = solved.context;
  if (job.policy.objective === 'days') return undefined;
  const hurried: Job = { ...job, policy: { ...job.policy, objective: 'days' } };
  const other = solveJob(hurried, catalog, quantity, options);
  if (other.chosen.plan === undefined) return undefined;
  return {
    what: ['the fastest route', ...markChanges(routeMarks(solved), routeMarks(other))].join('; '),
    days: other.days,
    costsPerLot: other.totals.lot - solved.totals.lot,
  };
}

function markChanges(here: ReadonlySet<string>, there: ReadonlySet<string>): readonly string[] {
  return [
    ...[...there].filter((mark) => !here.has(mark)).map((mark) => `in: ${mark}`),
    ...[...here].filter((mark) => !there.has(mark)).map((mark) => `out: ${mark}`),
  ].sort();
}

/** Operations by what and where, for comparing routes. */
function routeMarks(solved: SolvedJob): ReadonlySet<string> {
  return new Set(
    solved.chosen.works.map((work) =>
      work.kind === 'part'
        ? `${work.work.title} (${work.work.centre.name})`
        : `${work.setUp.centre.name}, ${work.setUp.holding}${work.setUp.stage === 'soft' ? ', before the age' : work.setUp.stage === 'datum' ? ', datums' : ''}`,
    ),
  );
}
