import type { Place } from '../problems/problem.js';
import { type AsBuiltRow, asBuilt } from './generated/as-built.js';
import { type CautionsRow, cautions } from './generated/cautions.js';
import { type ChecksAfterRow, checksAfter } from './generated/checks-after.js';
import { type CurrenciesRow, currencies } from './generated/currencies.js';
import { type DimensionChangesRow, dimensionChanges } from './generated/dimension-changes.js';
import { type FurnaceClassesRow, furnaceClasses } from './generated/furnace-classes.js';
import { type FurnaceInstrumentsRow, furnaceInstruments } from './generated/furnace-instruments.js';
import { type Iso286DeviationsRow, iso286Deviations } from './generated/iso286-deviations.js';
import { type Iso286GradesRow, iso286Grades } from './generated/iso286-grades.js';
import { type Iso2768Row, iso2768 } from './generated/iso2768.js';
import { type MaterialsRow, materials } from './generated/materials.js';
import { type MethodsRow, methods } from './generated/methods.js';
import { type PlanningDefaultsRow, planningDefaults } from './generated/planning-defaults.js';
import { type PrintErrorsRow, printErrors } from './generated/print-errors.js';
import { type PrintLimitsRow, printLimits } from './generated/print-limits.js';
import { type ProcessNeedsRow, processNeeds } from './generated/process-needs.js';
import { type ProcessYieldsRow, processYields } from './generated/process-yields.js';
import { type ProcessesRow, processes } from './generated/processes.js';
import { type ReliefRow, relief } from './generated/relief.js';
import { type ReliefLawsRow, reliefLaws } from './generated/relief-laws.js';
import { type RemovalRatesRow, removalRates } from './generated/removal-rates.js';
import { type SkinLayersRow, skinLayers } from './generated/skin-layers.js';
import { type SurfaceLayersRow, surfaceLayers } from './generated/surface-layers.js';
import { type TableName, tableSchemas } from './generated/table-schemas.js';
import { type ThermalRoutesRow, thermalRoutes } from './generated/thermal-routes.js';
import { type ThreadTolerancesRow, threadTolerances } from './generated/thread-tolerances.js';
import { type ThreadsRow, threads } from './generated/threads.js';
import { type ToolReachRow, toolReach } from './generated/tool-reach.js';
import { type TreatmentsRow, treatments } from './generated/treatments.js';
import { type WorkCentresRow, workCentres } from './generated/work-centres.js';
import { propertyName, type Row } from './read-rows.js';

/** The rows of every table under the table's name in camel case. */
export interface CatalogTables {
  readonly materials: readonly MaterialsRow[];
  readonly treatments: readonly TreatmentsRow[];
  readonly dimensionChanges: readonly DimensionChangesRow[];
  readonly relief: readonly ReliefRow[];
  readonly reliefLaws: readonly ReliefLawsRow[];
  readonly thermalRoutes: readonly ThermalRoutesRow[];
  readonly furnaceClasses: readonly FurnaceClassesRow[];
  readonly furnaceInstruments: readonly FurnaceInstrumentsRow[];
  readonly checksAfter: readonly ChecksAfterRow[];
  readonly processes: readonly ProcessesRow[];
  readonly processNeeds: readonly ProcessNeedsRow[];
  readonly processYields: readonly ProcessYieldsRow[];
  readonly toolReach: readonly ToolReachRow[];
  readonly removalRates: readonly RemovalRatesRow[];
  readonly surfaceLayers: readonly SurfaceLayersRow[];
  readonly skinLayers: readonly SkinLayersRow[];
  readonly asBuilt: readonly AsBuiltRow[];
  readonly printErrors: readonly PrintErrorsRow[];
  readonly printLimits: readonly PrintLimitsRow[];
  readonly workCentres: readonly WorkCentresRow[];
  readonly planningDefaults: readonly PlanningDefaultsRow[];
  readonly methods: readonly MethodsRow[];
  readonly cautions: readonly CautionsRow[];
  readonly threads: readonly ThreadsRow[];
  readonly threadTolerances: readonly ThreadTolerancesRow[];
  readonly currencies: readonly CurrenciesRow[];
  readonly iso286Grades: readonly Iso286GradesRow[];
  readonly iso286Deviations: readonly Iso286DeviationsRow[];
  readonly iso2768: readonly Iso2768Row[];
}

/** Where a row of a shop's own table stands, and what the shop gave. */
export interface ShopRow {
  readonly file: string;
  /** Counted from 1. */
  readonly line: number;
  readonly columns: readonly string[];
  /** The row as it was before, when the shop changed one. */
  readonly base?: Row;
}

/** Everything that planning knows about alloys, treatments, processes and the shop. */
export interface Catalog extends CatalogTables {
  /** Rows that a shop brought in or changed, by `rowId`; empty in the default catalogue. */
  readonly shopRows: Readonly<Record<string, ShopRow>>;
}

/** Table name -> property of `Catalog`. */
export const tableProperties: Readonly<Record<TableName, keyof CatalogTables>> = {
  materials: 'materials',
  treatments: 'treatments',
  'dimension-changes': 'dimensionChanges',
  relief: 'relief',
  'relief-laws': 'reliefLaws',
  'thermal-routes': 'thermalRoutes',
  'furnace-classes': 'furnaceClasses',
  'furnace-instruments': 'furnaceInstruments',
  'checks-after': 'checksAfter',
  processes: 'processes',
  'process-needs': 'processNeeds',
  'process-yields': 'processYields',
  'tool-reach': 'toolReach',
  'removal-rates': 'removalRates',
  'surface-layers': 'surfaceLayers',
  'skin-layers': 'skinLayers',
  'as-built': 'asBuilt',
  'print-errors': 'printErrors',
  'print-limits': 'printLimits',
  'work-centres': 'workCentres',
  'planning-defaults': 'planningDefaults',
  methods: 'methods',
  cautions: 'cautions',
  threads: 'threads',
  'thread-tolerances': 'threadTolerances',
  currencies: 'currencies',
  'iso286-grades': 'iso286Grades',
  'iso286-deviations': 'iso286Deviations',
  iso2768: 'iso2768',
};

/**
 * The built-in catalogue. Its rates are invented; its schedules and capabilities are starting
 * points with source and confidence in each row, to be replaced by a shop's own.
 *
 * @returns the same tables at each call; money in EUR, lengths in mm, roughness in um
 * @example
 * defaultCatalog().materials.find((row) => row.id === 's31603')?.densityKgM3 // -> 7950
 */
export function defaultCatalog(): Catalog {
  return {
    materials,
    treatments,
    dimensionChanges,
    relief,
    reliefLaws,
    thermalRoutes,
    furnaceClasses,
    furnaceInstruments,
    checksAfter,
    processes,
    processNeeds,
    processYields,
    toolReach,
    removalRates,
    surfaceLayers,
    skinLayers,
    asBuilt,
    printErrors,
    printLimits,
    workCentres,
    planningDefaults,
    methods,
    cautions,
    threads,
    threadTolerances,
    currencies,
    iso286Grades,
    iso286Deviations,
    iso2768,
    shopRows: {},
  };
}

/** The rows of a table by the table's name, as plain records. */
export function tableRows(catalog: CatalogTables, table: TableName): readonly Row[] {
  const rows: readonly object[] = catalog[tableProperties[table]];
  return rows.map((row) => ({ ...row }));
}

/**
 * The key of a row for people: the values of the key columns, ` / ` between them.
 *
 * @example
 * rowKey('threads', { designation: 'M8x1' }) // -> "M8x1"
 */
export function rowKey(table: TableName, row: Row): string {
  return tableSchemas[table].key.map((name) => String(row[propertyName(name)] ?? '')).join(' / ');
}

/** Where a row stands: in the shop's file when the shop gave it, else in the catalogue's. */
export function rowPlace(catalog: Catalog, table: TableName, row: Row, column?: string): Place {
  const key = rowKey(table, row);
  const shop = catalog.shopRows[rowId(table, key)];
  return {
    file: shop?.file ?? `data/${tableSchemas[table].file}`,
    ...(shop === undefined ? {} : { line: shop.line }),
    ...(column === undefined ? {} : { column }),
    path: key,
  };
}

/** Identity of a row over all tables, as `Catalog.shopRows` uses it. */
export function rowId(table: TableName, key: string): string {
  return `${table}: ${key}`;
}
