import type { PlanningContext } from '../job/planning-context.js';
import type { ThermalStep } from './routes.js';

/** Times and temperatures of one treatment as it is planned. */
export interface Cycle {
  readonly soakMinutes: number;
  readonly rampCPerMin: number;
  readonly totalMinutes: number;
  readonly uniformityClass: string;
  /** Minutes from the start against temperature, C. */
  readonly curve: readonly (readonly [number, number])[];
}

const roomC = 20;

/** AMS 2750F temperature uniformity classes: +- C (read in a furnace article, 2026). */
const uniformityClasses: readonly (readonly [number, number])[] = [
  [6, 28],
  [5, 14],
  [4, 10],
  [3, 8],
  [2, 6],
  [1, 3],
];

/**
 * Plans the cycle of one treatment: ramp, soak by section, cool to the release temperature. The soak
 * is the schedule's shortest plus the section rule; the build plate counts as section while parts are
 * on it.
 */
export function planCycle(step: ThermalStep, context: PlanningContext): Cycle {
  const { schedule, treatment } = step;
  const hip = treatment === 'hip';
  const rampCPerMin = context.defaultValue(hip ? 'hip-ramp' : 'ramp');
  const coolCPerMin = hip ? rampCPerMin : context.defaultValue('cool');
  const release = Math.max(context.defaultValue('release-temperature'), roomC);
  const soakMinutes = soak(step, context);
  const second = schedule.step2TemperatureC;
  const curve: [number, number][] = [[0, roomC]];
  let at = (schedule.temperatureC - roomC) / rampCPerMin;
  curve.push([at, schedule.temperatureC]);
  if (second === undefined) {
    at += soakMinutes;
    curve.push([at, schedule.temperatureC]);
  } else {
    const secondSoak =
      schedule.step2SoakMin ?? Math.max(0, soakMinutes - (schedule.soakMinMin ?? 0));
    at += schedule.soakMinMin ?? soakMinutes;
    curve.push([at, schedule.temperatureC]);
    at += Math.abs(schedule.temperatureC - second) / coolCPerMin;
    curve.push([at, second]);
    at =
      schedule.totalSoakMin === undefined
        ? at + secondSoak
        : Math.max(at, (curve[1]?.[0] ?? 0) + schedule.totalSoakMin);
    curve.push([at, second]);
  }
  const last = curve[curve.length - 1]?.[1] ?? schedule.temperatureC;
  at += Math.max(0, last - release) / coolCPerMin;
  curve.push([at, Math.min(last, release)]);
  return {
    soakMinutes,
    rampCPerMin,
    totalMinutes: Math.ceil(at),
    uniformityClass: uniformityClass(schedule.toleranceC),
    curve: curve.map(([minutes, celsius]) => [Math.round(minutes), celsius]),
  };
}

function soak(step: ThermalStep, context: PlanningContext): number {
  const { schedule, treatment } = step;
  const least = schedule.soakMinMin ?? schedule.totalSoakMin ?? 0;
  const plate = step.onPlate ? context.defaultValue('plate-thickness') : 0;
  const section = Math.max(context.job.geometry.thickestSectionMm ?? 0, plate);
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

/** The loosest class whose uniformity is not above the tolerance of the step. */
export function uniformityClass(toleranceC: number | undefined): string {
  if (toleranceC === undefined) return 'as the governing specification says';
  const fit = uniformityClasses.find(([, uniformity]) => uniformity <= toleranceC);
  return fit === undefined
    ? 'class 1, ask: the tolerance is tighter'
    : `class ${fit[0]} (+-${fit[1]} C)`;
}
