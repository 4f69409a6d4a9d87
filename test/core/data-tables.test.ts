import { readdirSync, readFileSync } from 'node:fs';
import { defaultCatalog, type TableName, tableProperties, tableSchemas } from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { sourceColumns } from '../../packages/core/src/catalog/provenance.js';
import { propertyName } from '../../packages/core/src/catalog/read-rows.js';

const folder = new URL('../../data/', import.meta.url);
const files = readdirSync(folder).filter((name) => name.endsWith('.csv'));
const catalog = defaultCatalog();
const tables = Object.keys(tableSchemas).filter((name): name is TableName => name in tableSchemas);

describe('every row of the data says where it comes from', () => {
  test.each(tables)('%s: source and confidence of every number', (table) => {
    const { columns, key } = tableSchemas[table];
    const tags = new Set<unknown>(['read', 'memory', 'practice', 'computed', 'invented']);
    const rows: readonly object[] = catalog[tableProperties[table]];
    expect(rows.length).toBeGreaterThan(0);
    for (const row of rows) {
      const cells = new Map<string, unknown>(Object.entries(row));
      const cell = (column: string): unknown => cells.get(propertyName(column));
      if ('source' in columns) expect(cell('source'), JSON.stringify(row)).toMatch(/\S/);
      if ('confidence' in columns) expect(tags, JSON.stringify(row)).toContain(cell('confidence'));
      for (const column of Object.keys(columns)) {
        if (key.includes(column) || typeof cell(column) !== 'number') continue;
        const { source, confidence } = sourceColumns(table, column);
        expect(cell(source ?? ''), `${column} of ${JSON.stringify(row)}`).toMatch(/\S/);
        const given = confidence.map(cell).filter((tag) => tag !== undefined);
        expect(given.length, `${column} of ${JSON.stringify(row)}`).toBeGreaterThan(0);
        for (const tag of given) expect(tags).toContain(tag);
      }
    }
  });

  test('processes and materials, which tag groups of columns, have no row without a tag', () => {
    for (const row of catalog.processes) expect(row.leadSource).toMatch(/\S/);
    for (const row of catalog.materials) expect(row.densitySource).toMatch(/\S/);
  });
});

describe('no address and no trademark in the data', () => {
  const addresses =
    /https?:|www\.|\b[a-z0-9-]+\.(com|org|net|info|io|cn|de|gov|edu|blog|app|life)\b/i;
  const trademarks = new RegExp(
    [
      '®',
      '™',
      ...[
        'Inconel',
        'Hastelloy',
        'Incoloy',
        'Monel',
        'Nimonic',
        'Waspaloy',
        'Haynes',
        'Stellite',
        'Ampco',
        'Ti64ELI',
        'Scalmalloy',
        'Vascomax',
        '17-4 ?PH',
        '15-5 ?PH',
        'DMLS',
        'EBM',
        'SLM',
        'Nital',
        'Teflon',
      ].map((word) => `\\b${word}\\b`),
    ].join('|'),
    'i',
  );

  test('the patterns find what they are for', () => {
    for (const text of ['see http://x', 'at www.x', 'scribd.com/document']) {
      expect(addresses.test(text), text).toBe(true);
    }
    for (const text of ['Inconel 718', 'alloy®', 'INCONEL', '17-4PH', '15-5 PH'])
      expect(trademarks.test(text), text).toBe(true);
    for (const text of ['UNS N07718', 'doi 10.3390/ma15103624', 'arXiv 2404.19084'])
      expect(addresses.test(text) || trademarks.test(text), text).toBe(false);
  });

  test.each(files)('%s', (file) => {
    readFileSync(new URL(file, folder), 'utf8')
      .split('\n')
      .forEach((line, index) => {
        expect(line, `line ${index + 1}`).not.toMatch(addresses);
        expect(line, `line ${index + 1}`).not.toMatch(trademarks);
      });
  });
});

describe('invented money says so', () => {
  test.each(['methods', 'work-centres'] as const)('%s', (table) => {
    for (const row of catalog[tableProperties[table]])
      expect('source' in row ? row.source : '').toMatch(/rates? invented|invented rate/);
  });
});
