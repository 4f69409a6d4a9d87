import { integrate } from '../numeric/quadrature.js';

/** Gas constant, J/(mol K). */
const gasConstant = 8.314;
const zeroC = 273.15;

/** Constants of the Zener-Wert-Avrami law of stress relaxation. */
export interface ReliefLaw {
  readonly activationKJPerMol: number;
  readonly exponent: number;
  /** Natural logarithm of the rate constant, the rate in 1/h. */
  readonly lnRatePerHour: number;
}

/** A cycle with the share of the stress that it left. */
export interface ReliefPoint {
  readonly temperatureC: number;
  readonly minutes: number;
  /** Stress after over stress before, above 0 and below 1. */
  readonly left: number;
}

/**
 * Share of the residual stress that a hold leaves: exp(-(A t)^m) with A = B exp(-Q/(R T)).
 * Source: the Zener-Wert-Avrami law of thermal stress relaxation (from memory); no constants for
 * powder-bed metal were found in print, so they are fitted to measured cycles.
 *
 * @param temperatureC hold temperature, C
 * @param minutes length of the hold, min
 * @returns 1 without heat, towards 0 with more of it
 * @example
 * shareLeft({ activationKJPerMol: 280, exponent: 0.2161, lnRatePerHour: 32.566 }, 650, 120) // -> ~0.608
 */
export function shareLeft(law: ReliefLaw, temperatureC: number, minutes: number): number {
  if (minutes <= 0) return 1;
  return Math.exp(-Math.exp(law.exponent * logDose(law, temperatureC, minutes)));
}

/** ln(A t). */
function logDose(law: ReliefLaw, temperatureC: number, minutes: number): number {
  return (
    law.lnRatePerHour - activation(law.activationKJPerMol, temperatureC) + Math.log(minutes / 60)
  );
}

/** Q / (R T). */
function activation(activationKJPerMol: number, temperatureC: number): number {
  return (activationKJPerMol * 1000) / (gasConstant * (temperatureC + zeroC));
}

/**
 * Fits exponent and rate of the law through two cycles, the activation energy given.
 *
 * @param activationKJPerMol near the self-diffusion of the alloy, kJ/mol
 * @throws RangeError when a share lies outside 0 to 1 or the two cycles are equally strong
 * @example
 * fitReliefLaw(280, { temperatureC: 700, minutes: 120, left: 180 / 380 }, { temperatureC: 900, minutes: 60, left: 0.1 }).exponent // -> ~0.2161
 */
export function fitReliefLaw(
  activationKJPerMol: number,
  a: ReliefPoint,
  b: ReliefPoint,
): ReliefLaw {
  const bare: ReliefLaw = { activationKJPerMol, exponent: 1, lnRatePerHour: 0 };
  const doseA = logDose(bare, a.temperatureC, a.minutes);
  const doseB = logDose(bare, b.temperatureC, b.minutes);
  if (doseA === doseB) throw new RangeError('the two cycles are equally strong: no exponent');
  const exponent = (logRelief(a.left) - logRelief(b.left)) / (doseA - doseB);
  return { activationKJPerMol, exponent, lnRatePerHour: logRelief(a.left) / exponent - doseA };
}

/**
 * The law through one cycle, activation energy and exponent given: an estimate, since the spread
 * over other temperatures hangs on both.
 *
 * @param exponent 0.22 when nothing better is known (the value that fits S31603)
 * @throws RangeError when the share lies outside 0 to 1
 * @example
 * calibrateReliefLaw(250, 0.22, { temperatureC: 800, minutes: 120, left: 0.1 }).lnRatePerHour // -> ~31.118
 */
export function calibrateReliefLaw(
  activationKJPerMol: number,
  exponent: number,
  point: ReliefPoint,
): ReliefLaw {
  const bare: ReliefLaw = { activationKJPerMol, exponent, lnRatePerHour: 0 };
  return {
    ...bare,
    lnRatePerHour:
      logRelief(point.left) / exponent - logDose(bare, point.temperatureC, point.minutes),
  };
}

/** ln(-ln left). */
function logRelief(left: number): number {
  if (!(left > 0 && left < 1)) throw new RangeError(`share left ${left}: above 0 and below 1`);
  return Math.log(-Math.log(left));
}

/**
 * Minutes at one temperature that relieve as much as a whole heating curve, by adding up
 * exp(-Q/R (1/T - 1/Tref)) dt over its straight pieces.
 *
 * @param curve minutes from the start against temperature in C, minutes rising
 * @param referenceC temperature of the equivalent hold, C
 * @example
 * equivalentMinutes({ activationKJPerMol: 280, exponent: 0.2161, lnRatePerHour: 32.566 }, [[0, 20], [176, 900]], 900) // -> ~7.66
 */
export function equivalentMinutes(
  law: ReliefLaw,
  curve: readonly (readonly [minutes: number, celsius: number])[],
  referenceC: number,
): number {
  const reference = activation(law.activationKJPerMol, referenceC);
  let sum = 0;
  for (let i = 1; i < curve.length; i++) {
    const [from, cold] = curve[i - 1] ?? [0, 0];
    const [to, hot] = curve[i] ?? [0, 0];
    if (to <= from) continue;
    const rate = (minute: number): number => {
      const celsius = cold + ((hot - cold) * (minute - from)) / (to - from);
      return Math.exp(reference - activation(law.activationKJPerMol, celsius));
    };
    sum += integrate(rate, from, to, [], 1e-10).value;
  }
  return sum;
}

/**
 * Stress after a hold at fixed strain under power-law (Norton) creep:
 * sigma = [sigma0^(1-n) + (n-1) E A t]^(1/(1-n)). What is left hardly depends on the start, so that
 * an absolute figure says more than a percentage.
 *
 * @param stressMPa stress at the start, MPa
 * @param exponent stress exponent n, above 1
 * @param modulusMPa Young's modulus at the temperature, MPa
 * @param creepRate A of rate = A sigma^n, MPa^-n per hour
 * @param minutes length of the hold, min
 * @example
 * creepRelaxation(380, 5, 140000, 8.0771e-16, 120) // -> ~180
 */
export function creepRelaxation(
  stressMPa: number,
  exponent: number,
  modulusMPa: number,
  creepRate: number,
  minutes: number,
): number {
  if (!(exponent > 1)) throw new RangeError(`stress exponent ${exponent}: above 1`);
  if (stressMPa <= 0) return 0;
  return (
    (stressMPa ** (1 - exponent) + (exponent - 1) * modulusMPa * creepRate * (minutes / 60)) **
    (1 / (1 - exponent))
  );
}

/** Constant of the time-temperature parameter. */
const parameterConstant = 20;

/**
 * Time-temperature parameter T (20 + log10 t) / 1000 of a hold (Larson-Miller 1952, Hollomon-Jaffe
 * 1945), T in K, t in h. Compare cycles of one alloy that lie within 50 C of each other.
 *
 * @example
 * reliefParameter(700, 120) // -> ~19.756
 */
export function reliefParameter(temperatureC: number, minutes: number): number {
  return ((temperatureC + zeroC) * (parameterConstant + Math.log10(minutes / 60))) / 1000;
}

/**
 * Minutes at another temperature with the same time-temperature parameter. Meant for moves of up to
 * 50 C round a proven cycle.
 *
 * @example
 * sameReliefMinutes(700, 120, 750) // -> ~12.22
 */
export function sameReliefMinutes(temperatureC: number, minutes: number, otherC: number): number {
  const parameter = reliefParameter(temperatureC, minutes) * 1000;
  return 60 * 10 ** (parameter / (otherC + zeroC) - parameterConstant);
}
