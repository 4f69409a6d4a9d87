import type { CautionsRow } from '../catalog/generated/cautions.js';
import { addCosts, isFixed, minutesPerDay, totalOf } from '../cost/charges.js';
import { perPart } from '../cost/money.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Chain, ChainStep } from '../route/chain.js';
import { reaches } from '../route/masking.js';
import type { PartWork } from '../route/part-works.js';
import type { SequencedWork } from '../route/sequence.js';
import { afterAgeReasons } from './age-reasons.js';
import { noteDeepHoles } from './deep-holes.js';
import { withHoldPoints } from './hold-points.js';
import { unmetAsPrinted } from './reasons.js';
import type { SolvedJob } from './solve-job.js';
import type { Operation, OperationStep, Reason } from './types.js';
import { workingDimensions } from './working-dimensions.js';

type Visit = Extract<SequencedWork, { kind: 'visit' }>;

/** Writes the chosen route out as numbered operations: 10, 20, 30 ... and the final inspection. */
export function operationsOf(solved: SolvedJob): readonly Operation[] {
  const { chosen } = solved;
  noteDeepHoles(solved);
  const earlier = new Set<string>();
  const operations = chosen.works.map((work, index) => {
    const seq = (index + 1) * 10;
    if (work.kind === 'part') return partOperation(work.work, seq, solved);
    const operation = visitOperation(work, seq, earlier, solved);
    earlier.add(work.setUp.id);
    return operation;
  });
  return withHoldPoints(
    [...operations, inspectionOperation((operations.length + 1) * 10, solved)],
    solved.context.job.geometry.trappedPowder !== 'none',
  );
}

function partOperation(work: PartWork, seq: number, solved: SolvedJob): Operation {
  const { context, chosen } = solved;
  const masks = chosen.chains.flatMap((chain) =>
    chain.masked
      .filter((entry) => entry.finish.process.id === work.finish?.process.id)
      .map((entry) => ({ chain, cost: entry.cost })),
  );
  const cost = addCosts(work.cost, ...masks.map((mask) => mask.cost));
  const lot = totalOf(cost.charges);
  const { thermal } = work;
  return {
    seq,
    process: work.process,
    title: work.title,
    kind: work.kind,
    workCentre: { id: work.centre.id, name: work.centre.name, sourcing: work.centre.sourcing },
    access: [],
    features: masks.map((mask) => mask.chain.feature.id),
    steps: masks.map(
      (mask): OperationStep => ({
        feature: mask.chain.feature.id,
        process: 'masking',
        title: 'Mask or plug',
        runMinutesPerPart: mask.cost.runMinutes / context.quantity,
      }),
    ),
    setupMinutes: cost.setupMinutes,
    runMinutes: cost.runMinutes,
    costPerLot: lot,
    costPerPart: perPart(lot, context.quantity),
    leadDays:
      (work.cost.leadMinutes + masks.reduce((sum, mask) => sum + mask.cost.leadMinutes, 0)) /
      minutesPerDay(context),
    reasons: [
      ...work.reasons.map((text): Reason => ({ text })),
      ...finishReasons(work, chosen.chains),
    ],
    cautions: cautionsFor(
      [work.process],
      work.kind === 'thermal' ? undefined : context.processes.get(work.process)?.row.family,
      context.catalog.cautions,
    ),
    workingDimensions: [],
    parameters:
      thermal === undefined
        ? testParameters(work, context)
        : [
            {
              name: 'Set point',
              value: `${thermal.step.schedule.temperatureC} °C${thermal.step.schedule.toleranceC === undefined ? '' : ` ± ${thermal.step.schedule.toleranceC} °C`}`,
              ...confidence(thermal.step.schedule.temperatureConfidence),
            },
            {
              name: 'Soak',
              value: `${thermal.cycle.soakMinutes} min`,
              ...confidence(thermal.step.schedule.soakConfidence),
            },
            ...(thermal.step.schedule.step2TemperatureC === undefined
              ? []
              : [
                  {
                    name: 'Second step',
                    value: `${thermal.step.schedule.step2TemperatureC} °C, ${thermal.step.schedule.totalSoakMin === undefined ? `${thermal.step.schedule.step2SoakMin ?? '?'} min` : `${thermal.step.schedule.totalSoakMin} min in all`}`,
                  },
                ]),
            ...(thermal.step.schedule.pressureMpaMin === undefined
              ? []
              : [{ name: 'Pressure', value: `≥ ${thermal.step.schedule.pressureMpaMin} MPa` }]),
            {
              name: 'Atmosphere',
              value: thermal.step.schedule.atmosphere ?? 'as the governing specification says',
            },
            {
              name: 'Cooling',
              value: thermal.step.schedule.cooling ?? 'as the governing specification says',
            },
            { name: 'Furnace uniformity', value: thermal.cycle.uniformityClass },
            { name: 'Loads', value: loadsText(thermal) },
            { name: 'Condition after', value: thermal.step.schedule.condition },
            { name: 'Governing', value: thermal.step.schedule.standard },
          ],
  };
}

/** What a test is done and judged by. */
function testParameters(work: PartWork, context: PlanningContext): Operation['parameters'] {
  const row = context.processes.get(work.process)?.row;
  if (work.kind !== 'testing' || row === undefined) return [];
  return [
    {
      name: 'Standard',
      value: row.itSource ?? 'as the drawing says',
      ...confidence(row.itConfidence),
    },
    {
      name: 'Practice',
      value: row.itNote ?? 'as the drawing says',
      ...confidence(row.itConfidence),
    },
  ];
}

/** How many loads, and with how much of a full load the lot shares its furnace. */
function loadsText({ step, share, capacity }: NonNullable<PartWork['thermal']>): string {
  if (!share.shared || capacity === undefined) return String(share.loads);
  const what = step.onPlate ? 'plates' : 'parts';
  return `${share.loads}, shared: ${share.pieces} ${what}, ${capacity.count} in a full load`;
}

function confidence(tag: Operation['parameters'][number]['confidence']): {
  confidence?: NonNullable<typeof tag>;
} {
  return tag === undefined ? {} : { confidence: tag };
}

/** Features that lean on a part-wide finish to meet their roughness. */
function finishReasons(work: PartWork, chains: readonly Chain[]): readonly Reason[] {
  const { finish } = work;
  if (finish === undefined || (finish.process.needs.raRatio ?? 1) >= 1) return [];
  const { id } = finish.process;
  return chains.flatMap((chain) =>
    chain.steps.length > 0 ||
    !reaches(finish, chain.feature, true) ||
    chain.masked.some((entry) => entry.finish.process.id === id)
      ? []
      : unmetAsPrinted(chain, 0)
          .filter((requirement) => requirement.kind === 'roughness')
          .map((requirement) => ({
            text: `${chain.feature.id}: ${requirement.text}`,
            requirement: { feature: chain.feature.id, text: requirement.text },
          })),
  );
}

function visitOperation(
  visit: Visit,
  seq: number,
  earlier: ReadonlySet<string>,
  solved: SolvedJob,
): Operation {
  const { context, planning, chosen } = solved;
  const { setUp } = visit;
  const here = visit.chains.flatMap((chain) =>
    chain.steps
      .map((step, index) => ({ chain, step, index }))
      .filter(({ step }) => step.setUp.id === setUp.id),
  );
  here.sort(
    (a, b) =>
      Number(a.step.process.needs.rank !== 1) - Number(b.step.process.needs.rank !== 1) ||
      datumPlace(a.chain) - datumPlace(b.chain) ||
      (a.step.process.needs.rank ?? 9) - (b.step.process.needs.rank ?? 9) ||
      (a.chain.feature.id < b.chain.feature.id
        ? -1
        : a.chain.feature.id > b.chain.feature.id
          ? 1
          : a.index - b.index),
  );
  const fixed = planning.setUps.get(setUp.id)?.cost ?? {
    charges: [],
    setupMinutes: 0,
    runMinutes: 0,
    leadMinutes: 0,
  };
  const cost = addCosts(fixed, ...here.map(({ step }) => step.cost));
  const lot = totalOf(cost.charges);
  const families = [...new Set(here.map(({ step }) => step.process.row.family))];
  const reasons = visit.chains.flatMap((chain) => {
    const unmet = unmetAsPrinted(chain, context.job.policy.minimumProbability);
    if (unmet.length === 0)
      return [
        {
          text: chain.printedSolid
            ? `${chain.feature.id}: printed solid, too small to keep open`
            : `${chain.feature.id}: cheapest way to its requirements`,
        },
      ];
    return unmet.map((requirement) => ({
      text: `${chain.feature.id}: ${requirement.text}`,
      requirement: { feature: chain.feature.id, text: requirement.text },
    }));
  });
  return {
    seq,
    process:
      families.length === 1 &&
      here.length > 0 &&
      new Set(here.map(({ step }) => step.process.id)).size === 1
        ? (here[0]?.step.process.id ?? 'machining')
        : (families[0] ?? 'machining'),
    title: [
      `${visitTitle(here.map(({ step }) => step))}${setUp.stage === 'datum' ? ' datums' : ''}`,
      ...(setUp.directions.length === 0 ? [] : [setUp.holding]),
    ].join(', '),
    kind: families.every(
      (family) =>
        family === 'media-finishing' ||
        family === 'manual-finishing' ||
        family === 'thermal-finishing',
    )
      ? 'finishing'
      : 'machining',
    workCentre: { id: setUp.centre.id, name: setUp.centre.name, sourcing: setUp.centre.sourcing },
    setup: setUp.id,
    access: setUp.directions,
    ...(setUp.directions.length === 0
      ? {}
      : { locatedOn: locatedOn(visit, earlier, chosen.chains) }),
    features: visit.chains.map((chain) => chain.feature.id),
    steps: here.map(
      ({ chain, step }): OperationStep => ({
        feature: chain.feature.id,
        process: step.process.id,
        title: step.process.row.name,
        runMinutesPerPart: step.minutes / context.quantity,
      }),
    ),
    setupMinutes: cost.setupMinutes,
    runMinutes: cost.runMinutes,
    costPerLot: lot,
    costPerPart: perPart(lot, context.quantity),
    leadDays: cost.leadMinutes / minutesPerDay(context),
    reasons: [
      ...reasons,
      ...(setUp.stage === 'soft'
        ? []
        : visit.chains.flatMap((chain) => finishedAfterAge(chain, visit))),
    ],
    cautions: cautionsFor(
      here.map(({ step }) => step.process.id),
      families,
      context.catalog.cautions,
    ),
    workingDimensions: here.flatMap(({ chain, step, index }) =>
      workingDimensions(chain, step, index, context),
    ),
    parameters: [
      ...(setUp.stage === 'soft' ? [{ name: 'State', value: 'before the age' }] : []),
      ...(setUp.centre.fixtureCost === undefined
        ? []
        : [{ name: 'Held in', value: isFixed(fixed) ? 'a dedicated fixture' : 'soft jaws' }]),
    ],
  };
}

/** Reasons of the chains that end in this visit. */
function finishedAfterAge(chain: Chain, { setUp }: Visit): readonly Reason[] {
  return chain.steps.at(-1)?.setUp.id === setUp.id ? afterAgeReasons(chain) : [];
}

const titleOfFamily: Readonly<Record<string, string>> = {
  machining: 'Machine',
  grinding: 'Grind',
  'fine-finishing': 'Fine finish',
  'electro-erosion': 'Erode',
  electrochemical: 'Machine electrochemically',
  'media-finishing': 'Finish with media',
  'manual-finishing': 'Finish by hand',
  'thermal-finishing': 'Finish by laser',
};

function visitTitle(steps: readonly ChainStep[]): string {
  const processes = [...new Set(steps.map((step) => step.process.row.name))];
  if (processes.length === 1) return processes[0] as string;
  const families = [...new Set(steps.map((step) => step.process.row.family))];
  return families.map((family) => titleOfFamily[family] ?? family).join(' and ');
}

/** Datums first, in letter order. */
function datumPlace(chain: Chain): number {
  return chain.feature.datum === undefined ? 99 : chain.feature.datum.charCodeAt(0) - 64;
}

/**
 * The datums that the visit's features refer to and that were made before; where none is, the datums
 * made so far.
 *
 * @param earlier set-ups passed before
 */
function locatedOn(visit: Visit, earlier: ReadonlySet<string>, chains: readonly Chain[]): string {
  const made = chains
    .filter(
      ({ feature, locating }) =>
        feature.datum !== undefined && earlier.has(locating.setUp?.id ?? ''),
    )
    .map(({ feature }) => feature.datum)
    .sort();
  const wanted = new Set(
    visit.chains.flatMap(({ feature }) =>
      feature.geometric.flatMap((tolerance) => tolerance.datums.map(({ letter }) => letter)),
    ),
  );
  const referred = made.filter((letter) => letter !== undefined && wanted.has(letter));
  const letters = referred.length > 0 ? referred : made.slice(0, 3);
  return letters.length === 0
    ? 'printed faces, probed and best fitted'
    : `datum${letters.length === 1 ? '' : 's'} ${letters.join(', ')}`;
}

function inspectionOperation(seq: number, solved: SolvedJob): Operation {
  const { context, inspection, inspectionVisit, inspectionCentre } = solved;
  const cost = addCosts(
    inspectionVisit,
    ...inspection.stations.map((entry) => entry.cost),
    ...inspection.characteristics.map((entry) => entry.cost),
  );
  const lot = totalOf(cost.charges);
  return {
    seq,
    process: 'final-inspection',
    title: 'Final inspection',
    kind: 'inspection',
    workCentre: inspectionCentre,
    access: [],
    features: [...new Set(inspection.characteristics.map((entry) => entry.feature.id))],
    steps: inspection.stations.map(({ method }): OperationStep => {
      const mine = inspection.characteristics.filter((entry) => entry.method.id === method.id);
      return {
        feature: mine.map((entry) => entry.requirement.id).join(', '),
        process: method.id,
        title: method.name,
        runMinutesPerPart: mine.reduce((sum, entry) => sum + entry.minutes, 0) / context.quantity,
      };
    }),
    setupMinutes: cost.setupMinutes,
    runMinutes: cost.runMinutes,
    costPerLot: lot,
    costPerPart: perPart(lot, context.quantity),
    leadDays: cost.leadMinutes / minutesPerDay(context),
    reasons: [{ text: 'every requirement is proven before the lot leaves' }],
    cautions: cautionsFor(['final-inspection'], undefined, context.catalog.cautions),
    workingDimensions: [],
    parameters: [],
  };
}

function cautionsFor(
  processes: readonly string[],
  families: string | readonly string[] | undefined,
  rows: readonly CautionsRow[],
): readonly string[] {
  const names = new Set<string>([
    ...processes,
    ...(families === undefined ? [] : typeof families === 'string' ? [families] : families),
  ]);
  return rows.filter((row) => row.appliesTo.some((name) => names.has(name))).map((row) => row.id);
}
