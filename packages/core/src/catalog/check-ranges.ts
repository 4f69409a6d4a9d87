import type { Problem } from '../problems/problem.js';
import { type Catalog, rowKey, rowPlace, tableRows } from './catalog.js';
import { type TableName, tableSchemas } from './generated/table-schemas.js';
import { sourceColumns } from './provenance.js';
import { type Cell, propertyName, type Row } from './read-rows.js';

/** Columns whose numbers must not fall from left to right; empty cells are skipped. */
const rising: Partial<Record<TableName, readonly (readonly string[])[]>> = {
  materials: [['solidus_c', 'liquidus_c']],
  treatments: [
    ['minimum_c', 'temperature_c', 'maximum_c'],
    ['soak_min_min', 'soak_max_min'],
  ],
  'dimension-changes': [['low_per_mm', 'change_per_mm', 'high_per_mm']],
  relief: [['left_low', 'left_typical', 'left_high']],
  'relief-laws': [['from_c', 'to_c']],
  processes: [
    ['it_best', 'it_economic', 'it_coarse'],
    ['ra_low_um', 'ra_high_um'],
    ['stock_min_mm', 'stock_max_mm'],
    ['effect_low_um', 'effect_typical_um', 'effect_high_um'],
    ['lead_days_low', 'lead_days_high'],
  ],
  'process-needs': [['rate_low', 'rate_high']],
  'tool-reach': [['depth_ratio_min', 'depth_ratio_max']],
  'removal-rates': [['rate_low', 'rate_high']],
  'surface-layers': [
    ['rz_low_um', 'rz_high_um'],
    ['layer_low_um', 'layer_high_um'],
  ],
  'skin-layers': [['low_um', 'typical_um', 'high_um']],
  'as-built': [
    ['angle_low_deg', 'angle_high_deg'],
    ['low', 'typical', 'high'],
  ],
  threads: [['pitch_mm', 'major_mm']],
  'thread-tolerances': [['over_mm', 'to_mm']],
  'iso286-grades': [['over_mm', 'up_to_mm']],
  'iso286-deviations': [['over_mm', 'up_to_mm']],
  iso2768: [['over_mm', 'up_to_mm']],
};

/** Rows whose numbers contradict each other, and values that do not say where they come from. */
export function checkRanges(catalog: Catalog): Problem[] {
  const tables = Object.keys(tableSchemas).filter(isTable);
  return [
    ...tables.flatMap((table) =>
      tableRows(catalog, table).flatMap((row) => [
        ...falling(catalog, table, row),
        ...unsourced(catalog, table, row),
      ]),
    ),
    ...meltingSchedules(catalog),
  ];
}

function isTable(name: string): name is TableName {
  return name in tableSchemas;
}

function falling(catalog: Catalog, table: TableName, row: Row): Problem[] {
  return (rising[table] ?? []).flatMap((columns) => {
    const filled = columns
      .map((column) => ({ column, value: row[propertyName(column)] }))
      .filter((cell): cell is { column: string; value: number } => isNumber(cell.value));
    return filled.flatMap(({ column, value }, index) => {
      const before = filled[index - 1];
      if (before === undefined || before.value <= value) return [];
      return [
        {
          code: 'inconsistent' as const,
          place: rowPlace(catalog, table, row, column),
          message: `${rowKey(table, row)}: ${column} is less than ${before.column}`,
          value: String(value),
          accept: `${before.value} or more`,
        },
      ];
    });
  });
}

function unsourced(catalog: Catalog, table: TableName, row: Row): Problem[] {
  const { columns, key } = tableSchemas[table];
  const missing = new Set<string>();
  for (const name of Object.keys(columns)) {
    if (key.includes(name) || !isNumber(row[propertyName(name)])) continue;
    const { source, confidence } = sourceColumns(table, name);
    const absent = (tag: string): boolean => row[propertyName(tag)] === undefined;
    if (source !== undefined && absent(source)) missing.add(source);
    if (confidence[0] !== undefined && confidence.every(absent)) missing.add(confidence[0]);
  }
  return [...missing].map((tag) => ({
    code: 'missing-field',
    place: rowPlace(catalog, table, row, tag),
    message: `${rowKey(table, row)}: a value does not say where it comes from`,
    accept:
      columns[tag]?.values?.join(', ') ??
      'the standard, the paper, or "common practice, no source"',
  }));
}

function meltingSchedules(catalog: Catalog): Problem[] {
  return catalog.treatments.flatMap((row) => {
    const alloy = catalog.materials.find(({ id }) => id === row.material);
    const hottest = Math.max(row.maximumC ?? row.temperatureC, row.step2TemperatureC ?? 0);
    if (alloy?.solidusC === undefined || hottest < alloy.solidusC) return [];
    return [
      {
        code: 'inconsistent' as const,
        place: rowPlace(catalog, 'treatments', { id: row.id }, 'maximum_c'),
        message: `${row.id}: the schedule reaches the solidus of ${alloy.id}`,
        value: String(hottest),
        accept: `less than ${alloy.solidusC}`,
      },
    ];
  });
}

function isNumber(cell: Cell): cell is number {
  return typeof cell === 'number';
}
