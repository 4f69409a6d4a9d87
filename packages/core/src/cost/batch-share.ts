/** Alike parts that share a batch: how many, and the weight of one. */
export interface BatchPart {
  readonly quantity: number;
  /** Count, mass, footprint, volume or cut area of one part, by whichever the charge is shared. */
  readonly weight: number;
}

/**
 * What one part of each kind bears of the charge of a batch, in the unit of the charge: charge x
 * weight / sum of quantity x weight. The batch is always charged in full, so the shares of all parts
 * add up to it. Not rounded.
 *
 * @param charge of the whole batch, any money unit
 * @returns share of one part, in the order of the kinds
 * @throws RangeError when nothing has weight, or a number is negative
 *
 * Source: activity costing of mixed builds as in Rickenbacher, Spierings and Wegener 2013, Rapid
 * Prototyping Journal 19(3) 208-214 (structure from memory).
 *
 * @example
 * batchShares(250, [{ quantity: 8, weight: 420 }, { quantity: 4, weight: 900 }, { quantity: 1, weight: 2600 }])[0] // -> ~10.983264
 */
export function batchShares(charge: number, parts: readonly BatchPart[]): readonly number[] {
  if (parts.some(({ quantity, weight }) => !(quantity >= 0) || !(weight >= 0)))
    throw new RangeError('quantities and weights must not be negative');
  const total = parts.reduce((sum, { quantity, weight }) => sum + quantity * weight, 0);
  if (!(total > 0)) throw new RangeError('no part of the batch has weight');
  return parts.map(({ weight }) => charge * (weight / total));
}
