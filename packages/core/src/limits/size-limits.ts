import type { Deviations, SizeLimits } from './types.js';

// Binary sums of decimal lengths are off in the sixteenth digit; a picometre is below any meaning.
const tidy = (value: number): number => Math.round(value * 1e9) / 1e9 + 0;

/** A length in mm to the picometre. */
export const tidyMm: (valueMm: number) => number = tidy;

/** A deviation in um to the picometre. */
export function tidyUm(valueUm: number): number {
  return Math.round(valueUm * 1e6) / 1e6 + 0;
}

type Rest = Omit<
  SizeLimits,
  'nominalMm' | 'lowerMm' | 'upperMm' | 'upperDeviationUm' | 'lowerDeviationUm'
>;

/** Limits from the nominal size and its two deviations. */
export function limitsFromDeviations(
  nominalMm: number,
  { upperDeviationUm, lowerDeviationUm }: Deviations,
  rest: Rest,
): SizeLimits {
  return {
    nominalMm,
    lowerMm: tidyMm(nominalMm + lowerDeviationUm / 1000),
    upperMm: tidyMm(nominalMm + upperDeviationUm / 1000),
    upperDeviationUm,
    lowerDeviationUm,
    ...rest,
  };
}
