import type { Catalog } from '../catalog/catalog.js';
import type { ChecksAfterRow } from '../catalog/generated/checks-after.js';
import type { FurnaceClassesRow } from '../catalog/generated/furnace-classes.js';
import type { MaterialsRow } from '../catalog/generated/materials.js';
import type { TreatmentsRow } from '../catalog/generated/treatments.js';

/**
 * The loosest furnace class whose temperature uniformity is not above the tolerance of the step
 * (AMS 2750 classes).
 *
 * @param toleranceC permitted deviation of the set point, +-C
 * @returns undefined when the tolerance is tighter than the best class
 * @example
 * furnaceClass(defaultCatalog(), 14)?.class // -> "5"
 */
export function furnaceClass(catalog: Catalog, toleranceC: number): FurnaceClassesRow | undefined {
  return [...catalog.furnaceClasses]
    .sort((a, b) => b.uniformityC - a.uniformityC)
    .find((row) => row.uniformityC <= toleranceC);
}

/** Load sensors and where they sit, and the sensors of a uniformity survey. */
export interface LoadSensors {
  readonly places: readonly string[];
  readonly survey: number | undefined;
  readonly instrumentation: string;
}

const smallFurnaceM3 = 0.085;
const largeFurnaceM3 = 6.4;

/**
 * Load sensors of a heat treatment: one in the thickest section and one on the thinnest; in HIP one
 * high and one low (common practice). Survey sensors by furnace volume: 5 below 0.085 m3, 9 up to
 * 6.4 m3 (AMS 2750, from memory).
 *
 * @param roomMm clear width, depth and height of the furnace, mm
 * @example
 * loadSensors('hip', false, [450, 450, 1200]).places // -> ["high in the vessel","low in the vessel"]
 */
export function loadSensors(
  treatment: TreatmentsRow['treatment'],
  onPlate: boolean,
  roomMm: readonly [number, number, number] | undefined,
): LoadSensors {
  const volumeM3 = roomMm === undefined ? undefined : (roomMm[0] * roomMm[1] * roomMm[2]) / 1e9;
  return {
    places:
      treatment === 'hip'
        ? ['high in the vessel', 'low in the vessel']
        : [
            onPlate
              ? 'in the plate under the thickest part'
              : 'in or on the thickest section of a part',
            'on the thinnest section of a part',
          ],
    survey:
      volumeM3 === undefined || volumeM3 > largeFurnaceM3
        ? undefined
        : volumeM3 < smallFurnaceM3
          ? 5
          : 9,
    instrumentation: 'type B or better: load sensors, recorded',
  };
}

/**
 * What is checked after a treatment, and the witness pieces that go with the parts.
 *
 * @param condition condition that the treatment reaches
 * @example
 * checksAfterTreatment(defaultCatalog(), materialById(defaultCatalog(), 's17400'), 'age', 'H1025').map((row) => row.id) // -> ["age-tensile","visual","hardness-h1025"]
 */
export function checksAfterTreatment(
  catalog: Catalog,
  material: MaterialsRow,
  treatment: TreatmentsRow['treatment'],
  condition: string,
): readonly ChecksAfterRow[] {
  const names = ['any', material.family, material.id];
  return catalog.checksAfter.filter(
    (row) =>
      row.treatments.some((each) => each === 'any' || each === treatment) &&
      row.appliesTo.some((each) => names.includes(each)) &&
      (row.condition === undefined || condition.startsWith(row.condition)),
  );
}
