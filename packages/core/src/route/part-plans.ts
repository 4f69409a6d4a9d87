import { addCosts, objectiveOf, type WorkCost } from '../cost/charges.js';
import type { PartGeometry } from '../job/part-geometry.js';
import type { PlanningContext } from '../job/planning-context.js';
import { treatmentChange } from '../thermal/dimension-change.js';
import { heatDistortionPer100Mm } from '../thermal/heat-distortion.js';
import { routeCurl } from '../thermal/route-curl.js';
import { type ThermalChoice, type ThermalRoute, thermalRoutes } from '../thermal/routes.js';
import { stepReasons } from '../thermal/step-reasons.js';
import type { PartCurl } from './as-built-state.js';
import type { ChainContext, Growth } from './chain.js';
import type { PlannedFinish } from './finishes.js';
import {
  cutOffWork,
  finishWork,
  type PartWork,
  powderRemoval,
  supportWorks,
} from './part-works.js';
import { type TestChoice, testWorks } from './test-works.js';
import { thermalWork } from './thermal-work.js';
import { undominatedCosts, workPlaces } from './work-places.js';

/** One way to treat the whole part: heat, cut-off, supports and part-wide finishes. */
export interface PartPlan {
  readonly id: string;
  readonly route: ThermalRoute;
  readonly works: readonly PartWork[];
  readonly cost: WorkCost;
  readonly objective: number;
  readonly chains: ChainContext;
}

export interface PartPlanChoice {
  readonly plans: readonly PartPlan[];
  readonly thermal: ThermalChoice;
  /** What stops every plan, when there is none. */
  readonly obstacles: readonly string[];
}

const cutOffProcesses = ['cut-off-band-saw', 'cut-off-wire-edm'];

/**
 * @param sets sets of part-wide finishes to consider
 */
export function partPlans(
  part: PartGeometry,
  context: PlanningContext,
  sets: readonly (readonly PlannedFinish[])[],
): PartPlanChoice {
  const thermal = thermalRoutes(context);
  const obstacles: string[] = [];
  if (thermal.accepted.length === 0)
    obstacles.push(
      ...thermal.rejected.map((entry) => `thermal route ${entry.route}: ${entry.reason}`),
    );
  if (thermal.accepted.length === 0 && thermal.rejected.length === 0)
    obstacles.push(
      `no thermal route for ${context.material.name} printed by ${context.job.part.printer}`,
    );
  const powder = workPlaces((here) => powderRemoval(part, here), context);
  if (powder.length === 0) obstacles.push('no work centre for powder removal');
  const supports = supportWorks(context);
  if ('missing' in supports) obstacles.push(`no process or work centre for ${supports.missing}`);
  const cuts = cutOffProcesses.flatMap((id) => {
    const process = context.processes.get(id);
    if (process === undefined) return [];
    const places = workPlaces((here) => cutOffWork(process, part, here), context);
    return places.length === 0 ? [] : [{ process: id, places }];
  });
  if (cuts.length === 0) obstacles.push('no way to cut the part off the plate');
  const missing = context.job.policy.required.find(
    (id) =>
      context.catalog.processNeeds.some((row) => row.process === id && row.level === 'part') &&
      !sets.some((set) => set.some((finish) => finish.process.id === id)),
  );
  if (missing !== undefined)
    obstacles.push(
      `required finish ${missing} is forbidden, unsuited to the alloy or has no work centre`,
    );
  if (powder.length === 0 || 'missing' in supports || missing !== undefined)
    return { plans: [], thermal, obstacles };
  const supportPlaces = supports.map((work) =>
    context.bothAims === true
      ? workPlaces((here) => {
          const alone = supportWorks(here, work.process);
          return 'missing' in alone ? undefined : alone[0];
        }, context)
      : [work],
  );
  const tests = testWorks(context);
  noteTests(tests, obstacles, context);
  if (tests.lacking.some(({ process }) => context.job.policy.required.includes(process)))
    return { plans: [], thermal, obstacles };
  const plans: PartPlan[] = [];
  for (const route of thermal.accepted) {
    const reasons = stepReasons(route, context.job.part);
    const heat = route.steps.map((step, index) =>
      workPlaces((here) => thermalWork(step, part, here, reasons[index] ?? []), context),
    );
    for (const cut of cuts)
      for (const set of sets) {
        const finishes = set.map((finish) =>
          workPlaces((here) => finishWork(finish, part, here), context),
        );
        const finishKey = set.map((finish) => `${finish.process.id}.${finish.placement}`).join('+');
        const id = [route.id, cut.process, finishKey === '' ? 'no-finish' : finishKey].join('/');
        const chains = chainContext(route, cut.process, set, finishKey, part, context);
        const works = [powder, ...heat, cut.places, ...supportPlaces, ...finishes, ...tests.places];
        combinations(works).forEach(({ works: all, cost }, index) => {
          plans.push({
            id: index === 0 ? id : `${id}#${index + 1}`,
            route,
            works: all.sort((x, y) => x.stage - y.stage),
            cost,
            objective: objectiveOf(cost, context),
            chains,
          });
        });
      }
  }
  return { plans: plans.sort((a, b) => (a.id < b.id ? -1 : 1)), thermal, obstacles };
}

/** One place for each piece of work, in every way that no other beats in money and time. */
function combinations(
  works: readonly (readonly PartWork[])[],
): readonly { readonly works: PartWork[]; readonly cost: WorkCost }[] {
  return works.reduce<readonly { readonly works: PartWork[]; readonly cost: WorkCost }[]>(
    (found, places) => {
      const longer = found.flatMap(({ works: before, cost }) =>
        places.map((work) => ({ works: [...before, work], cost: addCosts(cost, work.cost) })),
      );
      return longer.length < 2 ? longer : undominatedCosts(longer, ({ cost }) => cost);
    },
    [{ works: [], cost: addCosts() }],
  );
}

/** A test that the service calls for and the plan leaves out is said; one that the job requires stops it. */
function noteTests(tests: TestChoice, obstacles: string[], context: PlanningContext): void {
  for (const { process, reason } of tests.lacking) {
    if (context.job.policy.required.includes(process)) {
      obstacles.push(`required ${process}: ${reason}`);
      continue;
    }
    const name = context.catalog.processes.find((row) => row.id === process)?.name ?? process;
    context.find({
      id: 'test-left-out',
      severity: 'warning',
      message: `${name.toLowerCase()} is left out: ${reason}; agree how the part is proven`,
      about: process,
      source: 'common practice, no source',
    });
  }
}

function chainContext(
  route: ThermalRoute,
  cutOff: string,
  finishes: ChainContext['finishes'],
  finishKey: string,
  part: PartGeometry,
  context: PlanningContext,
): ChainContext {
  const last = route.steps[route.steps.length - 1];
  const slowdown =
    last?.treatment === 'age' && !last.onPlate
      ? (context.optionalDefault(`age-slowdown-${context.material.family}`) ?? 1)
      : 1;
  const aged = slowdown > 1;
  const ageGrowth = growthOver(route.steps.slice(-1), context);
  const growth = growthOver(route.steps, context);
  const curl = curlOf(route, part, context);
  const heatFormPer100Mm = heatDistortionPer100Mm(route.steps, context);
  return {
    key: [
      cutOff,
      route.relieved,
      curl?.formMm ?? 0,
      heatFormPer100Mm,
      finishKey,
      aged,
      aged ? ageGrowth.meanPerMm : 0,
      growth.meanPerMm,
      growth.sigmaPerMm,
    ].join('|'),
    cutOff,
    relieved: route.relieved,
    ...(curl === undefined ? {} : { curl }),
    heatFormPer100Mm,
    ageFormPer100Mm: aged ? heatDistortionPer100Mm(route.steps.slice(-1), context) : 0,
    growth,
    ageGrowth,
    aged,
    slowdown,
    finishes,
  };
}

/** Curl that stock has to cover: the typical one and a standard deviation. */
function curlOf(
  route: ThermalRoute,
  part: PartGeometry,
  context: PlanningContext,
): PartCurl | undefined {
  const curl = routeCurl(route, part.boxMm, context);
  if (!curl.known) return undefined;
  return {
    formMm: curl.after.typicalMm + curl.sigmaAfterMm,
    lengthMm: Math.max(part.boxMm[0], part.boxMm[1]),
    source: curl.source,
    confidence: curl.confidence,
  };
}

/** Changes of size over some treatments: means add, spreads (low to high = 6 sigma) add in quadrature. */
function growthOver(steps: ThermalRoute['steps'], context: PlanningContext): Growth {
  const { catalog, material } = context;
  const rows = steps.flatMap((step) => {
    const row = treatmentChange(catalog, material.id, step.treatment, step.schedule.condition);
    return row === undefined ? [] : [row];
  });
  return {
    meanPerMm: rows.reduce((sum, row) => sum + row.changePerMm, 0),
    sigmaPerMm: Math.hypot(...rows.map((row) => (row.highPerMm - row.lowPerMm) / 6)),
    source:
      [...new Set(rows.map((row) => row.source))].join('; ') ||
      'no change of size in the catalogue',
    confidence: rows[0]?.confidence ?? 'practice',
  };
}
