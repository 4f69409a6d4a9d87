import { readFileSync } from 'node:fs';
import type { JobInput } from '@offplate/core';
import { jobSchemaId, maxFeatures, readJob } from '@offplate/core';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';
import { checkSchema } from '../../packages/core/src/job/check-schema.js';
import { jobSchema } from '../../packages/core/src/job/schema.js';
import { exampleJob, vocabulary } from './job-example.js';

const published = JSON.parse(
  readFileSync(new URL('../../schema/job.schema.json', import.meta.url), 'utf8'),
) as Record<string, unknown>;
const accepts = new Ajv2020({ allErrors: false, strict: true, strictTypes: false }).compile(
  published,
);

type Path = readonly (string | number)[];
type Branch = Record<string | number, unknown>;

const example = exampleJob();
const withTable: JobInput = { ...exampleJob(), features: 'tables/features.csv' };

/** Paths of all values in a document, the document itself first. */
function pathsOf(value: unknown, path: Path = []): Path[] {
  if (typeof value !== 'object' || value === null) return [path];
  return [
    path,
    ...Object.keys(value).flatMap((key) =>
      pathsOf((value as Branch)[key], [...path, Array.isArray(value) ? Number(key) : key]),
    ),
  ];
}

/** A copy of the example with one value changed; `undefined` takes it out. */
function changed(path: Path, value: unknown): unknown {
  if (path.length === 0) return value;
  const root = structuredClone(example) as unknown as Branch;
  let holder = root;
  for (const step of path.slice(0, -1)) holder = holder[step] as Branch;
  const last = path.at(-1) ?? '';
  if (value !== undefined) holder[last] = value;
  else if (Array.isArray(holder)) holder.splice(Number(last), 1);
  else delete holder[last];
  return root;
}

const substitutes: readonly unknown[] = [
  null,
  true,
  0,
  -1,
  1.5,
  7,
  1e13,
  '',
  ' ',
  'x',
  '2027-1-1',
  'y'.repeat(5000),
  [],
  ['x'],
  [1, 2, 3, 4],
  {},
  { id: 'x' },
];

describe('the published JSON Schema', () => {
  test('is versioned and tells what each field is', () => {
    expect(published.$schema).toBe('https://json-schema.org/draft/2020-12/schema');
    expect(published.$id).toBe(jobSchemaId);
    const fields = (schema: Branch): Branch[] => {
      const properties = (schema.properties ?? {}) as Record<string, Branch>;
      return Object.values(properties).flatMap((each) => [each, ...fields(each)]);
    };
    const definitions = published.$defs as { feature: Branch };
    const all = [...fields(published), ...fields(definitions.feature)];
    expect(all.length).toBeGreaterThan(60);
    expect(all.filter((each) => !each.title || !each.description)).toEqual([]);
  });

  test('accepts the examples', () => {
    expect(accepts(example)).toBe(true);
    expect(accepts(withTable)).toBe(true);
    const folder = new URL('../fixtures/job-mini/job.json', import.meta.url);
    expect(accepts(JSON.parse(readFileSync(folder, 'utf8')))).toBe(true);
  });

  test('accepts and rejects what the reader does, wherever one value is changed', () => {
    const disagreements: string[] = [];
    let rejected = 0;
    let accepted = 0;
    for (const path of pathsOf(example)) {
      for (const value of [undefined, ...substitutes]) {
        const document = changed(path, value);
        const ours = checkSchema(jobSchema, document).faults.length === 0;
        if (ours) accepted++;
        else rejected++;
        if (accepts(document ?? null) !== ours)
          disagreements.push(`${path.join('.')} = ${JSON.stringify(value)?.slice(0, 40)}: ${ours}`);
      }
    }
    expect(disagreements).toEqual([]);
    expect(accepted).toBeGreaterThan(200);
    expect(rejected).toBeGreaterThan(1500);
  });

  test('rejects a field that it does not know in every object', () => {
    const objects = pathsOf(example).filter((path) => {
      const value = path.reduce<unknown>((holder, step) => (holder as Branch)[step], example);
      return typeof value === 'object' && !Array.isArray(value);
    });
    expect(objects.length).toBeGreaterThan(10);
    for (const path of objects) {
      const document = changed([...path, 'surplus'], 1);
      const { faults } = checkSchema(jobSchema, document);
      expect(faults).toMatchObject([{ code: 'unknown-field', path: [...path, 'surplus'] }]);
      expect(accepts(document)).toBe(false);
    }
  });

  test('rejects too many features', () => {
    const features = Array.from({ length: maxFeatures + 1 }, (_, index) => ({
      id: `P${index}`,
      kind: 'plane' as const,
    }));
    expect(accepts({ ...example, features: features.slice(1) })).toBe(true);
    expect(accepts({ ...example, features })).toBe(false);
    expect(checkSchema(jobSchema, { ...example, features }).faults).toMatchObject([
      { code: 'too-large' },
    ]);
  });
});

test('the example in the comment of the schema is a good job', () => {
  const source = readFileSync(
    new URL('../../packages/core/src/job/schema.ts', import.meta.url),
    'utf8',
  );
  const [, comment = ''] = /A complete one:\n \*\n([\s\S]*?\n \* {5}\})\n/.exec(source) ?? [];
  const json = comment.replace(/^ \* {5}/gm, '');
  expect(accepts(JSON.parse(json))).toBe(true);
  expect(readJob({ json }, vocabulary).problems).toEqual([]);
});

test('what is left after the faults are taken out keeps its places', () => {
  const document = changed(['features', 1], 'B1') as Branch;
  (document.part as Branch).name = 5;
  const { sound, faults } = checkSchema(jobSchema, document);
  expect(faults.map(({ path }) => path.join('.'))).toEqual(['part.name', 'features.1']);
  expect(sound?.part).not.toHaveProperty('name');
  expect(sound?.part?.number).toBe('SB-104');
  const features = sound?.features;
  expect(Array.isArray(features) && features[1]).toBeUndefined();
  expect(Array.isArray(features) && features[2]).toMatchObject({ id: 'T1' });
});
