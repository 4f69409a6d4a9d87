import type { Catalog } from '../catalog/catalog.js';
import type { DimensionChangesRow } from '../catalog/generated/dimension-changes.js';
import type { TreatmentsRow } from '../catalog/generated/treatments.js';
import { dimensionChangeOf } from '../catalog/lookup.js';
import type { Confidence } from '../problems/finding.js';

/**
 * Change of length when pores close, mm/mm: ((1 - before) / (1 - after))^(1/3) - 1, alike in all
 * directions. Only pores that are not open to the surface close. Source: mass balance, exact.
 *
 * @param before pore fraction before, 0 to 1; likewise `after`
 * @throws RangeError for fractions outside 0 to 1
 * @example
 * densificationStrain(0.005, 0) // -> ~-0.001669
 */
export function densificationStrain(before: number, after: number): number {
  for (const fraction of [before, after])
    if (!(fraction >= 0 && fraction < 1))
      throw new RangeError(`pore fraction ${fraction}: from 0 to below 1`);
  return Math.cbrt((1 - before) / (1 - after)) - 1;
}

/**
 * The catalogue's change of length for a treatment: the row for the alloy before that for any, the
 * longest condition that the one reached begins with before that for any.
 */
export function treatmentChange(
  catalog: Catalog,
  materialId: string,
  treatment: TreatmentsRow['treatment'],
  condition: string,
): DimensionChangesRow | undefined {
  return catalog.dimensionChanges
    .filter(
      (row) =>
        row.treatment === treatment &&
        (row.material === materialId || row.material === 'any') &&
        (row.condition === 'any' || condition.startsWith(row.condition)),
    )
    .sort(
      (a, b) =>
        Number(b.material !== 'any') - Number(a.material !== 'any') ||
        Number(b.condition !== 'any') - Number(a.condition !== 'any') ||
        b.condition.length - a.condition.length,
    )[0];
}

/** A size after a treatment, with the ends of its range. */
export interface ChangedSize {
  readonly lowMm: number;
  readonly typicalMm: number;
  readonly highMm: number;
  readonly source: string;
  readonly confidence: Confidence;
}

/**
 * A size after a treatment by the catalogue's change of length.
 *
 * @param condition condition that the treatment reaches, e.g. `H900`
 * @throws InputError when the catalogue has no change for the treatment
 * @example
 * sizeAfterTreatment(defaultCatalog(), 's17400', 'age', 'H900', 100).typicalMm // -> ~99.95
 */
export function sizeAfterTreatment(
  catalog: Catalog,
  materialId: string,
  treatment: TreatmentsRow['treatment'],
  condition: string,
  sizeMm: number,
): ChangedSize {
  const row = dimensionChangeOf(catalog, materialId, treatment, condition);
  return {
    lowMm: sizeMm * (1 + row.lowPerMm),
    typicalMm: sizeMm * (1 + row.changePerMm),
    highMm: sizeMm * (1 + row.highPerMm),
    source: row.source,
    confidence: row.confidence,
  };
}

/**
 * The size to make before a treatment so that its mean comes out right after it.
 *
 * @param changePerMm mean change of length, mm/mm, + grows
 * @example
 * sizeBeforeTreatment(20, -0.0005) // -> ~20.010005
 */
export function sizeBeforeTreatment(sizeMm: number, changePerMm: number): number {
  return sizeMm / (1 + changePerMm);
}
