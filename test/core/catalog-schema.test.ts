import { readFileSync } from 'node:fs';
import { defaultCatalog, mergeShop, type TableName, tableRows, tableSchemas } from '@offplate/core';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';

const schema = new URL('../../schema/catalog.schema.json', import.meta.url);
const valid = new Ajv2020({ discriminator: false, strict: false }).compile(
  JSON.parse(readFileSync(schema, 'utf8')),
);
const names = Object.keys(tableSchemas) as TableName[];

describe('the published schema of the catalogue', () => {
  test.each(names)('%s', (table) => {
    const rows = tableRows(defaultCatalog(), table);
    expect(rows.length).toBeGreaterThan(0);
    const plain = JSON.parse(JSON.stringify({ schema: 'catalog/1', table, rows }));
    expect(valid(plain), JSON.stringify(valid.errors?.[0])).toBe(true);
    expect(valid({ ...plain, table: 'no-table' })).toBe(false);
    expect(valid({ ...plain, rows: [{ ...plain.rows[0], spare: 1 }] })).toBe(false);
  });

  test('a shop table too', () => {
    const cells = [
      ['id', 'rate_per_h'],
      ['saw', '61'],
    ];
    const { catalog, problems } = mergeShop(defaultCatalog(), [
      { table: 'work-centres', file: 'work-centres.csv', cells },
    ]);
    expect(problems).toEqual([]);
    const rows = tableRows(catalog, 'work-centres');
    expect(rows).toContainEqual(expect.objectContaining({ id: 'saw', ratePerH: 61 }));
    expect(
      valid(JSON.parse(JSON.stringify({ schema: 'catalog/1', table: 'work-centres', rows }))),
    ).toBe(true);
  });

  test('the list of the tables', () => {
    const tables = names.map((table) => ({ table, doc: tableSchemas[table].doc, rows: 3 }));
    expect(valid({ schema: 'catalog/1', tables })).toBe(true);
  });
});
