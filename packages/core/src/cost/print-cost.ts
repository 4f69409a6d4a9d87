/** What a kilogram of printed metal costs before and after the work around the print. */
export interface PrintedKilogram {
  /** Print time, hours per kg, recoating left out. */
  readonly hoursPerKg: number;
  /** Powder and machine time. */
  readonly printing: number;
  readonly preparation: number;
  readonly postProcessing: number;
  readonly total: number;
}

/**
 * Cost of a kilogram of printed metal from the build rate and published shares of the total: printing
 * = powder + hours x rate; total = printing / its share; preparation and post-processing by theirs.
 * Money in one unit, e.g. USD.
 *
 * @param input.powderPerKg money for a kg
 * @param input.ratePerHour of the printer
 * @param input.densityGCm3 above 0
 * @param input.buildRateMm3S above 0
 * @param input.printShare share of printing in the total, above 0; with preparationShare at most 1
 * @throws RangeError when a number is out of range
 *
 * Source: shares by cost heading as quoted in trade press (preparation 14.4, printing 59.2, post-
 * processing 26.4 %); the sum itself is arithmetic.
 *
 * @example
 * printedKilogram({ powderPerKg: 120, ratePerHour: 30, densityGCm3: 8.15, buildRateMm3S: 4.2, printShare: 0.592, preparationShare: 0.144 }).printing // -> ~363.451
 */
export function printedKilogram(input: {
  readonly powderPerKg: number;
  readonly ratePerHour: number;
  readonly densityGCm3: number;
  readonly buildRateMm3S: number;
  readonly printShare: number;
  readonly preparationShare: number;
}): PrintedKilogram {
  const { densityGCm3, buildRateMm3S, printShare, preparationShare } = input;
  if (!(densityGCm3 > 0)) throw new RangeError(`density must be above 0: ${densityGCm3}`);
  if (!(buildRateMm3S > 0)) throw new RangeError(`build rate must be above 0: ${buildRateMm3S}`);
  if (!(printShare > 0 && preparationShare >= 0 && printShare + preparationShare <= 1))
    throw new RangeError(`shares out of range: ${printShare}, ${preparationShare}`);
  const hoursPerKg = 1e6 / densityGCm3 / buildRateMm3S / 3600;
  const printing = input.powderPerKg + input.ratePerHour * hoursPerKg;
  const total = printing / printShare;
  return {
    hoursPerKg,
    printing,
    preparation: total * preparationShare,
    postProcessing: total * (1 - printShare - preparationShare),
    total,
  };
}
