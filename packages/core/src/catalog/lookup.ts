import { InputError } from '../problems/problem.js';
import type { Catalog } from './catalog.js';
import type { CurrenciesRow } from './generated/currencies.js';
import type { DimensionChangesRow } from './generated/dimension-changes.js';
import type { MaterialsRow } from './generated/materials.js';
import type { MethodsRow } from './generated/methods.js';
import type { PlanningDefaultsRow } from './generated/planning-defaults.js';
import type { ProcessNeedsRow } from './generated/process-needs.js';
import type { ProcessesRow } from './generated/processes.js';
import type { SkinLayersRow } from './generated/skin-layers.js';
import type { SurfaceLayersRow } from './generated/surface-layers.js';
import type { ThreadsRow } from './generated/threads.js';
import type { TreatmentsRow } from './generated/treatments.js';
import type { WorkCentresRow } from './generated/work-centres.js';

type Lookup<R> = (catalog: Catalog, key: string) => R;

/** The error of a lookup that found nothing: names what the catalogue has. */
export function rowMissing(what: string, key: string, accepted: Iterable<string>): InputError {
  return new InputError([
    {
      code: 'unknown-id',
      place: {},
      message: `the catalogue has no such entry in ${what}`,
      value: key,
      accept: [...accepted].join(', '),
    },
  ]);
}

/** An index is built at the first lookup in a table and lives as long as the table. */
function lookup<R>(
  what: string,
  rowsOf: (catalog: Catalog) => readonly R[],
  keyOf: (row: R) => string,
): Lookup<R> {
  const indexes = new WeakMap<readonly R[], ReadonlyMap<string, R>>();
  return (catalog, key) => {
    const rows = rowsOf(catalog);
    const index = indexes.get(rows) ?? new Map(rows.map((row) => [keyOf(row), row]));
    indexes.set(rows, index);
    const found = index.get(key);
    if (found === undefined) throw rowMissing(what, key, index.keys());
    return found;
  };
}

/**
 * The alloy with this id.
 *
 * @throws InputError that lists the alloys of the catalogue
 * @example
 * materialById(defaultCatalog(), 'r56400').family // -> "titanium"
 */
export const materialById: Lookup<MaterialsRow> = lookup(
  'materials',
  (catalog) => catalog.materials,
  (row) => row.id,
);

/**
 * The heat treatment schedule with this id: temperatures in C, times in min.
 *
 * @throws InputError that lists the schedules
 * @example
 * treatmentById(defaultCatalog(), 's17400-age-1').temperatureC // -> 482
 */
export const treatmentById: Lookup<TreatmentsRow> = lookup(
  'treatments',
  (catalog) => catalog.treatments,
  (row) => row.id,
);

/**
 * What a process can do: ISO 286 grades, Ra in um, stock per side in mm, size shift in um.
 *
 * @throws InputError that lists the processes
 * @example
 * processById(defaultCatalog(), 'reaming').itEconomic // -> 7
 */
export const processById: Lookup<ProcessesRow> = lookup(
  'processes',
  (catalog) => catalog.processes,
  (row) => row.id,
);

/**
 * What a process wants first and how it is timed.
 *
 * @throws InputError that lists the processes
 * @example
 * processNeedsOf(defaultCatalog(), 'drilling').opensSolid // -> true
 */
export const processNeedsOf: Lookup<ProcessNeedsRow> = lookup(
  'process-needs',
  (catalog) => catalog.processNeeds,
  (row) => row.process,
);

/**
 * A work centre of the shop or of a supplier: EUR per hour, minutes, mm.
 *
 * @throws InputError that lists the work centres
 * @example
 * workCentreById(defaultCatalog(), 'saw').processes // -> ["cut-off-band-saw"]
 */
export const workCentreById: Lookup<WorkCentresRow> = lookup(
  'work-centres',
  (catalog) => catalog.workCentres,
  (row) => row.id,
);

/**
 * A method of measurement or test: expanded uncertainty in um, minutes, EUR per hour.
 *
 * @throws InputError that lists the methods
 * @example
 * methodById(defaultCatalog(), 'calliper').uncertaintyUm // -> 40
 */
export const methodById: Lookup<MethodsRow> = lookup(
  'methods',
  (catalog) => catalog.methods,
  (row) => row.id,
);

/**
 * A scalar default of planning with its unit.
 *
 * @throws InputError that lists the defaults
 * @example
 * planningDefaultById(defaultCatalog(), 'minimum-probability').value // -> 0.9973
 */
export const planningDefaultById: Lookup<PlanningDefaultsRow> = lookup(
  'planning-defaults',
  (catalog) => catalog.planningDefaults,
  (row) => row.id,
);

/**
 * Rz and defect layer, um, that a process or the printer leaves.
 *
 * @throws InputError that lists the states
 * @example
 * surfaceLayerOf(defaultCatalog(), 'as-built-wall').rzHighUm // -> 90
 */
export const surfaceLayerOf: Lookup<SurfaceLayersRow> = lookup(
  'surface-layers',
  (catalog) => catalog.surfaceLayers,
  (row) => row.state,
);

/**
 * A skin that heat or spark erosion leaves: depth in um.
 *
 * @throws InputError that lists the skins
 * @example
 * skinLayerById(defaultCatalog(), 'recast-wire-one-cut').typicalUm // -> 25
 */
export const skinLayerById: Lookup<SkinLayersRow> = lookup(
  'skin-layers',
  (catalog) => catalog.skinLayers,
  (row) => row.id,
);

/**
 * An ISO metric thread by its designation: diameters and pitch in mm (ISO 261).
 *
 * @throws InputError that lists the threads
 * @example
 * threadByDesignation(defaultCatalog(), 'M8').pitchMm // -> 1.25
 */
export const threadByDesignation: Lookup<ThreadsRow> = lookup(
  'threads',
  (catalog) => catalog.threads,
  (row) => row.designation,
);

/**
 * A currency by its ISO 4217 code.
 *
 * @throws InputError that lists the codes
 * @example
 * currencyByCode(defaultCatalog(), 'JPY').minorDigits // -> 0
 */
export const currencyByCode: Lookup<CurrenciesRow> = lookup(
  'currencies',
  (catalog) => catalog.currencies,
  (row) => row.code,
);

/**
 * Schedules that carry out one step of a thermal route for an alloy, those meant for planning first.
 * A step is a kind of treatment; an age may name its condition: `age:H900`.
 *
 * @returns an empty list when the alloy has no such schedule
 * @example
 * schedulesFor(defaultCatalog(), 's17400', 'age:H1025').map((row) => row.id) // -> ["s17400-age-3"]
 */
export function schedulesFor(
  catalog: Catalog,
  materialId: string,
  step: string,
): readonly TreatmentsRow[] {
  const [kind, condition] = step.split(':');
  return catalog.treatments
    .filter((row) => row.material === materialId && row.treatment === kind)
    .filter((row) => condition === undefined || row.condition === condition)
    .sort((a, b) => Number(b.planningDefault) - Number(a.planningDefault));
}

/**
 * Change of size by one treatment, mm per mm, + grows. The row for the alloy and condition comes
 * first, then the alloy in any condition, then any alloy.
 *
 * @throws InputError when not even a row for any alloy exists
 * @example
 * dimensionChangeOf(defaultCatalog(), 's17400', 'age', 'H900').changePerMm // -> -0.0005
 */
export function dimensionChangeOf(
  catalog: Catalog,
  materialId: string,
  treatment: TreatmentsRow['treatment'],
  condition: string,
): DimensionChangesRow {
  const rows = catalog.dimensionChanges.filter((row) => row.treatment === treatment);
  const pick = (material: string, state: string): DimensionChangesRow | undefined =>
    rows.find((row) => row.material === material && row.condition === state);
  const found =
    pick(materialId, condition) ??
    pick(materialId, 'any') ??
    pick('any', condition) ??
    pick('any', 'any');
  if (found === undefined)
    throw rowMissing('dimension-changes', `${materialId} / ${treatment} / ${condition}`, [
      ...new Set(catalog.dimensionChanges.map((row) => row.treatment)),
    ]);
  return found;
}
