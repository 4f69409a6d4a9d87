// Turns data/tables.json into the published JSON Schema of what `offplate catalog --json` prints.
// `--check` changes nothing and fails if it is stale.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const tables = JSON.parse(readFileSync(join(root, 'data/tables.json'), 'utf8'));

// as in catalog/read-rows.ts; a test validates every table of the catalogue against the result
const propertyName = (column) =>
  column.replace(/_+([a-zA-Z0-9])/g, (_match, letter) => letter.toUpperCase());

function valueSchema(column, { type, values, min, max }) {
  const range = {
    ...(min === undefined ? {} : { minimum: min }),
    ...(max === undefined ? {} : { maximum: max }),
  };
  // what a shop's own table gives is tagged so
  const words = column.endsWith('confidence') ? [...new Set([...(values ?? []), 'given'])] : values;
  switch (type) {
    case 'number':
    case 'integer':
      return { type, ...range };
    case 'yes-no':
      return { type: 'boolean' };
    case 'list':
      return { type: 'array', items: { type: 'string', ...(words ? { enum: words } : {}) } };
    default:
      return { type: 'string', ...(words ? { enum: words } : {}) };
  }
}

function rowSchema({ columns }) {
  const entries = Object.entries(columns);
  return {
    type: 'object',
    properties: Object.fromEntries(
      entries.map(([column, spec]) => [
        propertyName(column),
        { ...valueSchema(column, spec), description: spec.doc },
      ]),
    ),
    required: entries
      .filter(([, spec]) => spec.optional !== true)
      .map(([column]) => propertyName(column)),
    additionalProperties: false,
  };
}

const document = (properties) => ({
  type: 'object',
  properties: { schema: { const: 'catalog/1' }, ...properties },
  required: ['schema', ...Object.keys(properties)],
  additionalProperties: false,
});
const listed = {
  type: 'object',
  properties: {
    table: { enum: Object.keys(tables) },
    doc: { type: 'string' },
    rows: { type: 'integer', minimum: 0 },
  },
  required: ['table', 'doc', 'rows'],
  additionalProperties: false,
};
const schema = {
  $schema: 'https://json-schema.org/draft/2020-12/schema',
  $id: 'urn:offplate:schema:catalog:1',
  title: 'Tables of the catalogue',
  oneOf: [
    document({ tables: { type: 'array', items: listed } }),
    ...Object.keys(tables).map((name) =>
      document({
        table: { const: name },
        rows: { type: 'array', items: { $ref: `#/$defs/${name}` } },
      }),
    ),
  ],
  $defs: Object.fromEntries(
    Object.entries(tables).map(([name, table]) => [
      name,
      { description: table.doc, ...rowSchema(table) },
    ]),
  ),
};

const target = join(root, 'schema/catalog.schema.json');
const text = `${JSON.stringify(schema, undefined, 2)}\n`;
const present = existsSync(target) ? readFileSync(target, 'utf8') : '';
if (present !== text && process.argv.includes('--check')) {
  console.error('stale, run node scripts/compile-catalog-schema.mjs: schema/catalog.schema.json');
  process.exitCode = 1;
} else if (present !== text) writeFileSync(target, text);
