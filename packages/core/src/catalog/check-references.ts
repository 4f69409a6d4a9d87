import type { Problem } from '../problems/problem.js';
import { type Catalog, rowKey, rowPlace, tableRows } from './catalog.js';
import { type TableName, tableSchemas } from './generated/table-schemas.js';
import { schedulesFor } from './lookup.js';
import { propertyName } from './read-rows.js';

/** States of a surface before any process. */
const asBuiltStates = ['as-built-wall', 'as-built-downskin', 'as-built-supported', 'pbf-eb-wall'];

/** Operations that the planner adds by itself. */
const plannerOperations = ['final-inspection'];

function enumValues(table: TableName, column: string): readonly string[] {
  return tableSchemas[table].columns[column]?.values ?? [];
}

interface Reference {
  readonly table: TableName;
  readonly column: string;
  readonly accept: readonly string[];
}

function referencesOf(catalog: Catalog): readonly Reference[] {
  const materials = catalog.materials.map((row) => row.id);
  const processes = catalog.processes.map((row) => row.id);
  const alloyFamilies = enumValues('materials', 'family');
  const processFamilies = enumValues('processes', 'family');
  const treatments = enumValues('treatments', 'treatment');
  const alloys = [...materials, ...alloyFamilies, 'any'];
  return [
    { table: 'treatments', column: 'material', accept: materials },
    { table: 'dimension-changes', column: 'material', accept: [...materials, 'any'] },
    { table: 'relief', column: 'material', accept: materials },
    { table: 'relief-laws', column: 'material', accept: materials },
    { table: 'thermal-routes', column: 'applies_to', accept: alloys },
    { table: 'checks-after', column: 'applies_to', accept: alloys },
    { table: 'process-needs', column: 'process', accept: processes },
    { table: 'process-yields', column: 'process', accept: [...processes, ...treatments] },
    { table: 'process-needs', column: 'families', accept: [...alloyFamilies, 'any'] },
    { table: 'tool-reach', column: 'process', accept: processes },
    { table: 'removal-rates', column: 'process', accept: processes },
    { table: 'surface-layers', column: 'state', accept: [...processes, ...asBuiltStates] },
    { table: 'as-built', column: 'material', accept: alloys },
    {
      table: 'work-centres',
      column: 'processes',
      accept: [...processes, ...treatments, ...plannerOperations],
    },
    {
      table: 'cautions',
      column: 'applies_to',
      accept: [...processes, ...processFamilies, ...treatments, ...alloys],
    },
  ];
}

/** Cells that name a row of another table which does not exist. */
export function checkReferences(catalog: Catalog): Problem[] {
  return [
    ...referencesOf(catalog).flatMap((reference) => unknownNames(catalog, reference)),
    ...routesWithoutSchedule(catalog),
    ...incompleteProcesses(catalog),
    ...strayConditions(catalog),
  ];
}

function unknownNames(catalog: Catalog, { table, column, accept }: Reference): Problem[] {
  return tableRows(catalog, table).flatMap((row) => {
    const cell = row[propertyName(column)];
    const names = Array.isArray(cell) ? cell.map(String) : [String(cell)];
    return names
      .filter((name) => !accept.includes(name))
      .map(
        (name): Problem => ({
          code: 'unknown-id',
          place: rowPlace(catalog, table, row, column),
          message: `${rowKey(table, row)}: ${column} names something that is not in the catalogue`,
          value: name,
          accept: accept.join(', '),
        }),
      );
  });
}

/** Every alloy that a thermal route is for needs a schedule for each of its steps. */
function routesWithoutSchedule(catalog: Catalog): Problem[] {
  const kinds = enumValues('treatments', 'treatment');
  return catalog.thermalRoutes.flatMap((route) => {
    const place = rowPlace(catalog, 'thermal-routes', { id: route.id }, 'steps');
    const steps = route.steps ?? [];
    const alloys = catalog.materials.filter(({ id, family }) =>
      route.appliesTo.some((name) => name === id || name === family || name === 'any'),
    );
    const missing = steps.flatMap((step): Problem[] => {
      const kind = step.split(':')[0] ?? '';
      if (!kinds.includes(kind))
        return [
          {
            code: 'unknown-id',
            place,
            message: `${route.id}: a step is no treatment`,
            value: step,
            accept: kinds.join(', '),
          },
        ];
      return alloys
        .filter((alloy) => schedulesFor(catalog, alloy.id, step).length === 0)
        .map((alloy) => ({
          code: 'inconsistent',
          place,
          message: `${route.id}: ${alloy.id} has no schedule for this step`,
          value: step,
          accept: `a row in ${tableSchemas.treatments.file} with material ${alloy.id}, or a route that leaves the alloy out`,
        }));
    });
    if (route.onPlateSteps <= steps.length) return missing;
    return [
      ...missing,
      {
        code: 'inconsistent',
        place: rowPlace(catalog, 'thermal-routes', { id: route.id }, 'on_plate_steps'),
        message: `${route.id}: more steps on the plate than steps`,
        value: String(route.onPlateSteps),
        accept: `0 to ${steps.length}`,
      },
    ];
  });
}

/** A process is of use only with its needs, a work centre and the surface that it leaves. */
function incompleteProcesses(catalog: Catalog): Problem[] {
  const needs = new Set(catalog.processNeeds.map((row) => row.process));
  const states = new Set(catalog.surfaceLayers.map((row) => row.state));
  const run = new Set(catalog.workCentres.flatMap((row) => row.processes));
  return catalog.processes.flatMap((row) => {
    const lacking = [
      ...(needs.has(row.id) ? [] : [tableSchemas['process-needs'].file]),
      ...(states.has(row.id) ? [] : [tableSchemas['surface-layers'].file]),
      ...(run.has(row.id) ? [] : [tableSchemas['work-centres'].file]),
    ];
    return lacking.map((file) => ({
      code: 'inconsistent' as const,
      place: rowPlace(catalog, 'processes', { id: row.id }),
      message: `${row.id}: no row of ${file} is for this process`,
      accept: `a row of ${file} that names ${row.id}`,
    }));
  });
}

/** A size change for a condition that no schedule reaches would never be used. */
function strayConditions(catalog: Catalog): Problem[] {
  return catalog.dimensionChanges
    .filter((row) => row.condition !== 'any' && row.material !== 'any')
    .flatMap((row) => {
      const reached = schedulesFor(catalog, row.material, row.treatment).map(
        (schedule) => schedule.condition,
      );
      if (reached.includes(row.condition)) return [];
      return [
        {
          code: 'unknown-id' as const,
          place: rowPlace(catalog, 'dimension-changes', { ...row }, 'condition'),
          message: `${row.material}: no ${row.treatment} schedule reaches this condition`,
          value: row.condition,
          accept: [...new Set([...reached, 'any'])].join(', '),
        },
      ];
    });
}
