import type { Problem } from '../problems/problem.js';
import type { Catalog } from './catalog.js';
import { checkPrintLimits } from './check-print-limits.js';
import { checkRanges } from './check-ranges.js';
import { checkReferences } from './check-references.js';

/**
 * Checks a catalogue as a whole: every name refers to something, every range rises, every schedule
 * stays below the solidus, every value says where it comes from. Each problem names the file and
 * the key of the row.
 *
 * @returns an empty list when the catalogue is sound
 * @example
 * checkCatalog(defaultCatalog()) // -> []
 */
export function checkCatalog(catalog: Catalog): readonly Problem[] {
  return [...checkReferences(catalog), ...checkRanges(catalog), ...checkPrintLimits(catalog)];
}
