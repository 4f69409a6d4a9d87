import type { Policy } from '../job/types.js';
import { toMinor } from './money.js';

/**
 * What a lot costs with the policy's contingency and margin, each rounded once to whole minor units.
 *
 * @param worked cost of the route and of inspection, minor units
 */
export function lotTotal(
  worked: number,
  { contingencyPercent, marginPercent }: Pick<Policy, 'contingencyPercent' | 'marginPercent'>,
): number {
  const contingency = toMinor((worked * contingencyPercent) / 100, 1);
  const margin = toMinor(((worked + contingency) * marginPercent) / 100, 1);
  return worked + contingency + margin;
}
