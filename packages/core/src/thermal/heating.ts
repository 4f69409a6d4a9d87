/**
 * Temperature difference between the faces and the middle of a slab that is heated from both sides at
 * an even rate, C: rate s^2 / (8 a). Source: Carslaw and Jaeger, Conduction of Heat in Solids, slab
 * with surface temperature rising at an even rate, after the start has died out (from memory).
 *
 * @param rateCPerMin heating rate of the faces, C/min
 * @param sectionMm thickness of the slab, mm
 * @param diffusivityMm2PerS conductivity over density times specific heat, mm2/s
 * @example
 * sectionDifferenceC(7, 100, 4) // -> ~36.46
 */
export function sectionDifferenceC(
  rateCPerMin: number,
  sectionMm: number,
  diffusivityMm2PerS: number,
): number {
  return ((rateCPerMin / 60) * sectionMm ** 2) / (8 * diffusivityMm2PerS);
}

/**
 * Fastest ramp that keeps the section within a temperature difference, C/min.
 *
 * @example
 * sectionRampCPerMin(30, 100, 4) // -> 5.76
 */
export function sectionRampCPerMin(
  differenceC: number,
  sectionMm: number,
  diffusivityMm2PerS: number,
): number {
  return (differenceC * 8 * diffusivityMm2PerS * 60) / sectionMm ** 2;
}

/**
 * Diffusivity of heat, mm2/s, from values at room temperature.
 *
 * @param conductivityWPerMK conductivity, W/(m K)
 * @param heatCapacityJPerKgK specific heat, J/(kg K)
 * @example
 * heatDiffusivity(14.6, 7950, 450) // -> ~4.081
 */
export function heatDiffusivity(
  conductivityWPerMK: number,
  densityKgPerM3: number,
  heatCapacityJPerKgK: number,
): number {
  return (1e6 * conductivityWPerMK) / (densityKgPerM3 * heatCapacityJPerKgK);
}

/** A piece of the load: mass and specific heat. */
export interface HeatedMass {
  readonly kg: number;
  readonly heatCapacityJPerKgK: number;
}

/**
 * Fastest ramp that the heating power gives to a load, C/min: power times efficiency over the sum of
 * mass times specific heat.
 *
 * @example
 * powerRampCPerMin(60, 0.5, [{ kg: 200, heatCapacityJPerKgK: 450 }]) // -> 20
 */
export function powerRampCPerMin(
  heatingKw: number,
  efficiency: number,
  load: readonly HeatedMass[],
): number {
  return (heatingKw * 1000 * efficiency * 60) / heatPerDegree(load);
}

/**
 * Electricity to heat a load, kWh: the heat in it over the efficiency.
 *
 * @param riseC from room temperature to the hold, C
 * @example
 * heatingEnergyKwh(0.5, [{ kg: 200, heatCapacityJPerKgK: 450 }], 880) // -> 44
 */
export function heatingEnergyKwh(
  efficiency: number,
  load: readonly HeatedMass[],
  riseC: number,
): number {
  return (heatPerDegree(load) * riseC) / (efficiency * 3.6e6);
}

/** J/K. */
function heatPerDegree(load: readonly HeatedMass[]): number {
  return load.reduce((sum, piece) => sum + piece.kg * piece.heatCapacityJPerKgK, 0);
}
