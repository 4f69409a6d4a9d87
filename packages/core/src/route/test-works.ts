import { addCosts, runCost, visitCost } from '../cost/charges.js';
import { stepTiming } from '../cost/step-timing.js';
import type { PlanningContext, Process } from '../job/planning-context.js';
import type { EndUse } from '../job/types.js';
import { cheapest, type PartWork, stageOrder } from './part-works.js';
import { workPlaces } from './work-places.js';

interface TestRule {
  readonly process: string;
  readonly endUses: readonly EndUse[];
  /** Only for parts with channels or cavities. */
  readonly hollow: boolean;
  readonly stage: number;
  readonly why: string;
}

/** Which tests a service calls for and when they see what they look for (common practice, no source). */
const rules: readonly TestRule[] = [
  {
    process: 'ct-testing',
    endUses: ['pressure', 'fatigue'],
    hollow: true,
    stage: stageOrder.insideTest,
    why: 'no eye or dye reaches the channels: a part with powder or a flaw inside is not worth machining',
  },
  {
    process: 'penetrant-testing',
    endUses: ['pressure', 'fatigue'],
    hollow: false,
    stage: stageOrder.faceTest,
    why: 'flaws open to the machined faces start cracks and leaks; later finishes would hide them',
  },
  {
    process: 'pressure-testing',
    endUses: ['pressure'],
    hollow: false,
    stage: stageOrder.pressureTest,
    why: 'proves the strength of walls and seals after the last cut, before a coating could close a leak',
  },
  {
    process: 'leak-testing',
    endUses: ['pressure'],
    hollow: false,
    stage: stageOrder.leakTest,
    why: 'proves tightness of the finished, clean and dry part',
  },
];

/** The tests of a job, and those that it needs but cannot have, with the reason. */
export interface TestChoice {
  /** For each test, the places at which it is worth doing. */
  readonly places: readonly (readonly PartWork[])[];
  readonly lacking: readonly { readonly process: string; readonly reason: string }[];
}

/**
 * Tests of the whole part that its service, its standards or the policy call for: tomography,
 * penetrant, pressure and leak test.
 */
export function testWorks(context: PlanningContext): TestChoice {
  const places: (readonly PartWork[])[] = [];
  const lacking: { process: string; reason: string }[] = [];
  for (const rule of rules) {
    const asked = reasonsFor(rule, context);
    if (asked.length === 0) continue;
    const process = context.processes.get(rule.process);
    const found =
      process === undefined
        ? []
        : workPlaces((here) => testWork(process, rule, asked, here), context);
    if (found.length > 0) places.push(found);
    else
      lacking.push({
        process: rule.process,
        reason: context.job.policy.forbidden.includes(rule.process)
          ? 'the policy forbids it'
          : 'no work centre for it takes this part',
      });
  }
  return { places, lacking };
}

function reasonsFor(rule: TestRule, context: PlanningContext): readonly string[] {
  const { part, policy } = context.job;
  const standard = context.catalog.processes.find((row) => row.id === rule.process)?.itSource;
  const named = part.standards.find(
    (text) => standard !== undefined && plain(text).includes(plain(standard)),
  );
  const serves = rule.endUses.includes(part.endUse) && (!rule.hollow || isHollow(context));
  return [
    ...(policy.required.includes(rule.process) ? ['the job requires it'] : []),
    ...(named === undefined ? [] : [`the drawing names ${named}`]),
    ...(serves ? [`for ${part.endUse} service`] : []),
  ];
}

function plain(text: string): string {
  return text.toLowerCase().replace(/[^a-z0-9]/g, '');
}

function isHollow({ job }: PlanningContext): boolean {
  return (
    ['open-channels', 'closed-cavity'].includes(job.geometry.trappedPowder) ||
    job.features.some((feature) => feature.kind === 'channel')
  );
}

function testWork(
  process: Process,
  rule: TestRule,
  asked: readonly string[],
  context: PlanningContext,
): PartWork | undefined {
  const timing = stepTiming(
    process,
    context,
    { areaMm2: 0, stockMm: 0, solidVolumeMm3: 0, count: 1 },
    1,
  );
  const works = context.workCentres
    .filter((centre) => centre.processes.includes(process.id))
    .map(
      (centre): PartWork => ({
        process: process.id,
        title: process.row.name,
        kind: 'testing',
        stage: rule.stage,
        centre,
        cost: addCosts(
          visitCost(centre, context, { programmed: false, probed: false }),
          runCost(centre, context, timing.minutes, process.row.name, timing),
        ),
        reasons: [...asked, rule.why],
      }),
    );
  return cheapest(works, context);
}
