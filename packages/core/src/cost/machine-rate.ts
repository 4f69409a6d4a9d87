/** What an hour of a machine is made of; money in one unit, e.g. EUR. */
export interface MachineCost {
  readonly price: number;
  /** Years over which the price is written off, above 0. */
  readonly years: number;
  /** Money a year. */
  readonly maintenancePerYear: number;
  /** Floor space, insurance and the like, money a year. */
  readonly floorPerYear: number;
  /** Hours a year in which the machine could run, above 0. */
  readonly hoursPerYear: number;
  /** Share of these hours in which it does, above 0 to 1. */
  readonly utilisation: number;
  /** Mean power, kW. */
  readonly powerKw: number;
  /** Money for a kWh. */
  readonly pricePerKwh: number;
}

/**
 * Hourly rate of a machine without labour: (price / years + maintenance + floor) / (hours a year x
 * utilisation) + power x price of energy, in the money unit of the inputs per hour.
 *
 * @throws RangeError when years, hours or utilisation are out of range
 *
 * Source: plain activity costing (common practice, no source).
 *
 * @example
 * machineRate({ price: 600000, years: 5, maintenancePerYear: 30000, floorPerYear: 10000, hoursPerYear: 8000, utilisation: 0.8, powerKw: 5, pricePerKwh: 0.2 }) // -> ~26
 */
export function machineRate(machine: MachineCost): number {
  const { price, years, hoursPerYear, utilisation } = machine;
  if (!(years > 0)) throw new RangeError(`years must be above 0: ${years}`);
  if (!(hoursPerYear > 0)) throw new RangeError(`hours a year must be above 0: ${hoursPerYear}`);
  if (!(utilisation > 0 && utilisation <= 1))
    throw new RangeError(`utilisation must lie above 0 and at most at 1: ${utilisation}`);
  const yearly = price / years + machine.maintenancePerYear + machine.floorPerYear;
  return yearly / (hoursPerYear * utilisation) + machine.powerKw * machine.pricePerKwh;
}
