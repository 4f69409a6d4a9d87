import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import type { PlanningContext } from '../job/planning-context.js';
import { coolingRate, inertBelow, rampOf } from './cycle-rates.js';
import type { Cycle, CycleLoad } from './cycle-types.js';
import { furnaceClass } from './furnace-practice.js';
import { argonOf, energyOf, heatedMasses } from './furnace-use.js';
import { type HeatLeg, heatCurve } from './heat-curve.js';
import type { ThermalStep } from './route-types.js';
import { coolsBetween, readCooling } from './schedule-text.js';

const roomC = 20;
/** Parts of Al-Si-Mg on the plate are heated slowly through this band, C. */
const slowBand = { fromC: 200, toC: 300 } as const;

/**
 * Plans the cycle of one treatment in one furnace: ramp limited by the usual rate, by the temperature
 * difference inside the section and by the heating power; a hold to even out; soak by section; second
 * step; cooling to the release temperature. The soak is the schedule's shortest plus the section rule;
 * the build plate counts as section while parts are on it.
 */
export function planCycle(
  step: ThermalStep,
  centre: WorkCentresRow,
  load: CycleLoad,
  context: PlanningContext,
): Cycle {
  const { schedule, treatment } = step;
  const section = sectionMm(step, context);
  const masses = heatedMasses(load, context);
  const { rampCPerMin, rampLimit } = rampOf(step, centre, section, masses, context);
  const cooling = readCooling(schedule.cooling ?? '');
  const coolCPerMin = coolingRate(step, cooling, context);
  const releaseC = Math.max(
    roomC,
    Math.min(
      context.defaultValue('release-temperature'),
      cooling.finishBelowC ?? Number.POSITIVE_INFINITY,
    ),
  );
  const inertBelowC = inertBelow(step, cooling, context);
  const soakMinutes = soakOf(step, section, context);
  const drawn = heatCurve(roomC, [
    ...heatingLegs(step, rampCPerMin, section, context),
    ...soakLegs(step, soakMinutes, { rampCPerMin, coolCPerMin, releaseC }, context),
    { toC: releaseC, rateCPerMin: coolCPerMin },
  ]);
  const energyKwh = energyOf(step, centre, masses, drawn, context);
  const argonM3 = argonOf(step, centre, drawn, inertBelowC ?? releaseC, context);
  return {
    soakMinutes,
    rampCPerMin,
    rampLimit,
    coolCPerMin,
    releaseC,
    ...(inertBelowC === undefined ? {} : { inertBelowC }),
    holds: drawn.holds,
    totalMinutes: Math.ceil(drawn.totalMinutes - 1e-9),
    uniformityClass: uniformityText(schedule.toleranceC, context),
    ...(energyKwh === undefined ? {} : { energyKwh }),
    ...(argonM3 === undefined || treatment === 'hip' ? {} : { argonM3 }),
    curve: drawn.points.map(([minutes, celsius]) => [Math.round(minutes), celsius]),
  };
}

function heatingLegs(
  step: ThermalStep,
  rampCPerMin: number,
  section: number,
  context: PlanningContext,
): readonly HeatLeg[] {
  const set = step.schedule.temperatureC;
  const legs: HeatLeg[] = [];
  if (step.onPlate && context.material.family === 'aluminium' && set > slowBand.fromC)
    legs.push(
      { toC: slowBand.fromC, rateCPerMin: rampCPerMin },
      {
        toC: Math.min(slowBand.toC, set),
        rateCPerMin: Math.min(rampCPerMin, context.defaultValue('ramp-aluminium-on-plate')),
      },
    );
  if (isEvened(step, section, context))
    legs.push(
      { toC: context.defaultValue('equalise-temperature'), rateCPerMin: rampCPerMin },
      { hold: 'equalise', minutes: context.defaultValue('equalise-hold') },
    );
  legs.push({ toC: set, rateCPerMin: rampCPerMin });
  return legs;
}

function soakLegs(
  { schedule }: ThermalStep,
  soakMinutes: number,
  rates: { readonly rampCPerMin: number; readonly coolCPerMin: number; readonly releaseC: number },
  context: PlanningContext,
): readonly HeatLeg[] {
  const second = schedule.step2TemperatureC;
  if (second === undefined) return [{ hold: 'soak', minutes: soakMinutes }];
  const first = schedule.soakMinMin ?? soakMinutes;
  const between = schedule.betweenSteps ?? '';
  const ownSoak = schedule.step2SoakMin ?? soakMinutes;
  if (coolsBetween(between))
    return [
      { hold: 'soak', minutes: first },
      { toC: rates.releaseC, rateCPerMin: rates.coolCPerMin },
      { toC: second, rateCPerMin: rates.rampCPerMin },
      { hold: 'second soak', minutes: ownSoak },
    ];
  const rateCPerMin = readCooling(between).rateCPerMin ?? context.defaultValue('cool-furnace');
  const fall = Math.abs(schedule.temperatureC - second) / rateCPerMin;
  return [
    { hold: 'soak', minutes: first },
    { toC: second, rateCPerMin },
    {
      hold: 'second soak',
      minutes: schedule.totalSoakMin === undefined ? ownSoak : schedule.totalSoakMin - first - fall,
    },
  ];
}

/** Thickness that heat has to go through: the part's thickest section, and the plate under it. */
function sectionMm(step: ThermalStep, context: PlanningContext): number {
  return Math.max(
    context.job.geometry.thickestSectionMm ?? 0,
    step.onPlate ? context.defaultValue('plate-thickness') : 0,
  );
}

const evenedFamilies: readonly string[] = [
  'nickel',
  'stainless-austenitic',
  'stainless-ph',
  'maraging',
  'tool-steel',
];

/** Steels and nickel alloys of some section are held on the way up to even out. */
function isEvened(step: ThermalStep, section: number, context: PlanningContext): boolean {
  return (
    step.treatment !== 'hip' &&
    section >= 25 &&
    evenedFamilies.includes(context.material.family) &&
    step.schedule.temperatureC >= context.defaultValue('equalise-temperature') + 50
  );
}

function soakOf(step: ThermalStep, section: number, context: PlanningContext): number {
  const { schedule, treatment } = step;
  const least = schedule.soakMinMin ?? schedule.totalSoakMin ?? 0;
  const slow =
    treatment === 'solution-anneal' || treatment === 'anneal' || treatment === 'homogenise';
  if (treatment === 'hip' || treatment === 'quench') return least;
  const from = slow ? 25 : 50;
  if (section <= from) return least;
  const perMm = context.defaultValue(slow ? 'section-soak-anneal' : 'section-soak-relief') / 25;
  const wanted = Math.ceil(least + (section - from) * perMm);
  if (
    schedule.soakMaxMin !== undefined &&
    schedule.soakMaxMin > least &&
    wanted > schedule.soakMaxMin
  )
    context.find({
      id: 'soak-over-window',
      severity: 'warning',
      message: `section ${section} mm asks for ${wanted} min, the schedule's window ends at ${schedule.soakMaxMin} min; agree the soak with the heat treater`,
      about: schedule.id,
      source: schedule.standard,
    });
  return wanted;
}

function uniformityText(toleranceC: number | undefined, context: PlanningContext): string {
  if (toleranceC === undefined) return 'as the governing specification says';
  const fit = furnaceClass(context.catalog, toleranceC);
  return fit === undefined
    ? 'class 1, ask: the tolerance is tighter'
    : `class ${fit.class} (±${fit.uniformityC} °C)`;
}
