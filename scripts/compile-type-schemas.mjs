// Turns the types of what core hands out (plan, route model, chart result, stack
// result) into published JSON Schemas.
// `--check` changes nothing and fails if one is stale.
import { readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { createGenerator } from 'ts-json-schema-generator';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const documents = [
  { name: 'plan', version: 1, type: 'Plan', file: 'packages/core/src/plan/types.ts' },
  { name: 'route-model', version: 1, type: 'RouteModel', file: 'packages/core/src/route/model.ts' },
  {
    name: 'comparison',
    version: 1,
    type: 'PlanComparison',
    file: 'packages/core/src/plan/compare-types.ts',
  },
  {
    name: 'break-evens',
    version: 1,
    type: 'BreakEvens',
    file: 'packages/core/src/plan/break-even.ts',
  },
  {
    name: 'parts-to-start',
    version: 1,
    type: 'PartsToStart',
    file: 'packages/core/src/plan/parts-to-start.ts',
  },
  { name: 'relax', version: 1, type: 'RelaxReport', file: 'packages/core/src/plan/relax.ts' },
  {
    name: 'missing-answers',
    version: 1,
    type: 'MissingAnswers',
    file: 'packages/core/src/plan/missing-answers.ts',
  },
  {
    name: 'frontier',
    version: 1,
    type: 'Frontier',
    file: 'packages/core/src/plan/frontier.ts',
  },
  {
    name: 'mesh-report',
    version: 1,
    type: 'MeshReport',
    file: 'packages/core/src/geometry/mesh-report.ts',
  },
  {
    name: 'screen',
    version: 1,
    type: 'PrintScreen',
    file: 'packages/core/src/plan/screen-types.ts',
  },
  {
    name: 'chart-result',
    version: 1,
    type: 'ChartResult',
    file: 'packages/core/src/chart/types.ts',
  },
  {
    name: 'stack-result',
    version: 1,
    type: 'StackReport',
    file: 'packages/core/src/stack/stack-report.ts',
  },
];

const stale = [];
for (const { name, version, type, file } of documents) {
  const { $schema: _draft, ...body } = createGenerator({
    path: join(root, file),
    tsconfig: join(root, 'packages/core/tsconfig.json'),
    type,
    expose: 'export',
    topRef: false,
    additionalProperties: false,
    skipTypeCheck: true,
    sortProps: true,
  }).createSchema(type);
  const text = JSON.stringify(
    {
      $schema: 'https://json-schema.org/draft/2020-12/schema',
      $id: `urn:offplate:schema:${name}:${version}`,
      ...body,
    },
    null,
    2,
  )
    .replaceAll('#/definitions/', '#/$defs/')
    .replace('"definitions":', '"$defs":');
  const target = `schema/${name}.schema.json`;
  let present = '';
  try {
    present = readFileSync(join(root, target), 'utf8');
  } catch (error) {
    if (error.code !== 'ENOENT') throw error;
  }
  if (present === `${text}\n`) continue;
  stale.push(target);
  if (!process.argv.includes('--check')) writeFileSync(join(root, target), `${text}\n`);
}
if (stale.length > 0 && process.argv.includes('--check')) {
  process.stderr.write(`stale, run node scripts/compile-type-schemas.mjs: ${stale.join(', ')}\n`);
  process.exitCode = 1;
}
