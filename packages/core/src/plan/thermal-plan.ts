import type { TreatmentsRow } from '../catalog/generated/treatments.js';
import type { Confidence } from '../problems/finding.js';
import type { PartWork } from '../route/part-works.js';
import { treatmentChange } from '../thermal/dimension-change.js';
import { checksAfterTreatment, loadSensors } from '../thermal/furnace-practice.js';
import { remainingCurl } from '../thermal/remaining-stress.js';
import { reliefCycleOf } from '../thermal/route-curl.js';
import { roomOf } from '../thermal/route-objections.js';
import { type FurnaceGas, heatSkin } from '../thermal/surface-skin.js';
import { plannedCutOff } from './cut-off.js';
import type { SolvedJob } from './solve-job.js';
import type { Operation, ThermalCycle, ThermalPlan } from './types.js';
import { doubtWord, valuesToConfirm } from './unconfirmed.js';

/** The heat-treatment part of the plan. */
export function thermalPlan(solved: SolvedJob, operations: readonly Operation[]): ThermalPlan {
  const { chosen, planning } = solved;
  const route = chosen.plan?.route;
  const works = chosen.works.flatMap((work) =>
    work.kind === 'part' && work.work.thermal !== undefined ? [work.work] : [],
  );
  const seqs = operations
    .filter((operation) => operation.kind === 'thermal')
    .map((operation) => operation.seq);
  noteUnconfirmed(works, solved);
  noteAlphaCase(works, operations, solved);
  noteShare(works, solved);
  const cutOff = route === undefined ? undefined : plannedCutOff(route, solved);
  return {
    route: route?.id ?? 'none',
    reason: route?.reason ?? '',
    cycles: works.map((work, index) => cycleOf(work, seqs[index] ?? 0, solved)),
    rejected: planning.choice.thermal.rejected,
    ...(cutOff === undefined ? {} : { cutOff }),
  };
}

/** Schedules that nobody has read in their specification are to be confirmed. */
function noteUnconfirmed(works: readonly PartWork[], { context }: SolvedJob): void {
  for (const { thermal } of works) {
    if (thermal === undefined) continue;
    const { schedule } = thermal.step;
    const confidence = scheduleConfidence(schedule);
    if (confidence !== 'memory' && confidence !== 'practice' && confidence !== 'invented') continue;
    context.find({
      id: 'schedule-unconfirmed',
      severity: 'note',
      message: `${thermal.step.treatment} of ${context.material.name}: ${confirmText(thermal)}; confirm against ${schedule.standard === 'none' ? 'the governing specification' : schedule.standard}`,
      about: schedule.id,
      source: schedule.source,
    });
  }
}

/** Values and why they are doubtful: `set point 800 °C (common practice), soak 120 min (recalled ...)`. */
function confirmText(thermal: NonNullable<PartWork['thermal']>): string {
  return valuesToConfirm(thermal)
    .map(({ what, value, confidence }) => `${what} ${value} (${doubtWord(confidence)})`)
    .join(', ');
}

/** A load that is shared is one that others fill up with the same cycle. */
function noteShare(works: readonly PartWork[], { context }: SolvedJob): void {
  for (const { thermal, title, centre } of works)
    if (thermal?.share.shared === true && thermal.capacity !== undefined)
      context.assume({
        what: `share of the load, ${title.toLowerCase()}`,
        value: `${thermal.share.pieces} of ${thermal.capacity.count} ${thermal.step.onPlate ? 'plates' : 'parts'} in a full load of ${centre.name}, limited by ${thermal.capacity.limitedBy}: other work fills the rest with the same cycle`,
        source: 'rule of the planner, no source; the policy can ask for furnaces of its own',
        confidence: 'practice',
      });
}

const takesSkinOff = ['pickling', 'chemical-milling', 'chemical-polishing', 'electropolishing'];

/** Titanium that is loaded loses its alpha case before it goes into service. */
function noteAlphaCase(
  works: readonly PartWork[],
  operations: readonly Operation[],
  { context, chosen }: SolvedJob,
): void {
  if (context.material.family !== 'titanium' || works.length === 0) return;
  if (!['fatigue', 'pressure'].includes(context.job.part.endUse)) return;
  const hot = Math.max(
    ...operations.filter((each) => each.kind === 'thermal').map((each) => each.seq),
  );
  const pickled = operations.some((each) => each.seq > hot && takesSkinOff.includes(each.process));
  const printed = chosen.chains.filter((chain) => chain.steps.length === 0);
  if (pickled || printed.length === 0) return;
  context.find({
    id: 'alpha-case',
    severity: 'warning',
    message: `faces that stay as printed (${printed.map((chain) => chain.feature.id).join(', ')}) keep the alpha case of the heat treatment: pickle after the last hot step, or prove the case by a section`,
    source: 'alpha case starts fatigue cracks; order of work common practice, no source',
  });
}

/** Gas that the load meets in this furnace. */
function gasOf(work: PartWork): FurnaceGas {
  const asked = (work.thermal?.step.schedule.atmosphere ?? '').toLowerCase();
  const protectedGas = /argon|vacuum|inert/.test(asked);
  const has = work.centre.atmospheres;
  return protectedGas && (has === undefined || has.some((gas) => gas !== 'air')) ? 'clean' : 'air';
}

function cycleOf(work: PartWork, operation: number, solved: SolvedJob): ThermalCycle {
  if (work.thermal === undefined) throw new RangeError(`${work.process} has no cycle`);
  const { step, cycle, share, capacity } = work.thermal;
  const { schedule } = step;
  const { context } = solved;
  const sensors = loadSensors(step.treatment, step.onPlate, roomOf(work.centre));
  const change = treatmentChange(
    context.catalog,
    context.material.id,
    step.treatment,
    schedule.condition,
  );
  const skin = heatSkin(
    context.catalog,
    context.material,
    gasOf(work),
    schedule.temperatureC,
    cycle.soakMinutes,
  );
  const left = remainingCurl(context.catalog, context.material.id, reliefCycleOf(step));
  return {
    operation,
    treatment: step.treatment,
    schedule: schedule.id,
    onPlate: step.onPlate,
    temperatureC: schedule.temperatureC,
    toleranceC: schedule.toleranceC ?? 0,
    soakMinutes: cycle.soakMinutes,
    rampCPerMin: cycle.rampCPerMin,
    rampLimit: cycle.rampLimit,
    coolCPerMin: cycle.coolCPerMin,
    releaseC: cycle.releaseC,
    ...(cycle.inertBelowC === undefined ? {} : { inertBelowC: cycle.inertBelowC }),
    holds: cycle.holds,
    totalMinutes: cycle.totalMinutes,
    atmosphere: schedule.atmosphere ?? 'as the governing specification says',
    cooling: schedule.cooling ?? 'as the governing specification says',
    ...(schedule.pressureMpaMin === undefined ? {} : { pressureMPa: schedule.pressureMpaMin }),
    conditionAfter: schedule.condition,
    governing: schedule.standard,
    uniformityClass: cycle.uniformityClass,
    instrumentation: sensors.instrumentation,
    sensors: sensors.places,
    ...(sensors.survey === undefined ? {} : { surveySensors: sensors.survey }),
    loads: {
      count: share.loads,
      of: step.onPlate ? 'plates' : 'parts',
      fullLoads: share.paid,
      ...(capacity === undefined ? {} : { most: capacity.count, limitedBy: capacity.limitedBy }),
    },
    ...(cycle.energyKwh === undefined ? {} : { energyKwh: cycle.energyKwh }),
    ...(cycle.argonM3 === undefined ? {} : { argonM3: cycle.argonM3 }),
    ...(change === undefined
      ? {}
      : {
          sizeChange: {
            lowPerMm: change.lowPerMm,
            meanPerMm: change.changePerMm,
            highPerMm: change.highPerMm,
            source: change.source,
            confidence: change.confidence,
          },
        }),
    ...(left.known
      ? {
          curlLeft: {
            low: left.low,
            typical: left.typical,
            high: left.high,
            method: left.method,
            note: left.note,
            source: left.source,
            confidence: left.confidence,
          },
        }
      : {}),
    skin: {
      what: skin.what,
      ...(skin.depthUm === undefined ? {} : { depthUm: skin.depthUm }),
      source: skin.source,
      confidence: skin.confidence,
    },
    checks: checksAfterTreatment(
      context.catalog,
      context.material,
      step.treatment,
      schedule.condition,
    ).map((row) => ({
      check: row.check,
      ...(row.witness === undefined ? {} : { witness: row.witness }),
      source: row.source,
      confidence: row.confidence,
    })),
    confidence: scheduleConfidence(schedule),
    source: schedule.source,
    toConfirm: valuesToConfirm(work.thermal),
    curve: cycle.curve,
  };
}

const trust: readonly Confidence[] = [
  'memory',
  'practice',
  'invented',
  'computed',
  'read',
  'given',
];

function scheduleConfidence(schedule: TreatmentsRow): Confidence {
  return weakest([
    schedule.temperatureConfidence,
    schedule.soakConfidence,
    schedule.toleranceConfidence,
  ]);
}

/** The least trusted of some tags. */
export function weakest(tags: readonly (Confidence | undefined)[]): Confidence {
  const known = tags.filter((tag) => tag !== undefined);
  return trust.find((tag) => known.includes(tag)) ?? 'practice';
}
