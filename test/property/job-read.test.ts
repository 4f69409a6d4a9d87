import { type Job, readJob } from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { featureTable } from '../../packages/cli/src/read/feature-file.js';
import { textOf } from '../../packages/cli/src/read/read-file.js';
import { readJsonText } from '../../packages/core/src/job/json-text.js';
import { exampleJob, vocabulary } from '../core/job-example.js';

const runs = { seed: 20270301, numRuns: 300 };

const complete = (json: string): void => {
  const reading = readJob({ json, file: 'job.json' }, vocabulary);
  expect(reading.job === undefined).toBe(reading.problems.length > 0);
  for (const { place, message } of reading.problems) {
    expect(place.file).toBe('job.json');
    expect(message).not.toBe('');
  }
};

describe('nothing is thrown, a job or problems are returned', () => {
  test('any text', () => {
    fc.assert(fc.property(fc.string({ unit: 'binary', maxLength: 200 }), complete), runs);
  });

  test('any JSON', () => {
    fc.assert(fc.property(fc.json({ maxDepth: 4 }), complete), runs);
  });

  test('a good job with any value in any place', () => {
    const paths = pathsOf(exampleJob());
    fc.assert(
      fc.property(fc.constantFrom(...paths), fc.jsonValue({ maxDepth: 2 }), (path, value) => {
        const job: unknown = exampleJob();
        let holder = job as Branch;
        for (const step of path.slice(0, -1)) holder = holder[step] as Branch;
        holder[path.at(-1) ?? ''] = value;
        complete(JSON.stringify(job));
      }),
      { ...runs, numRuns: 1000 },
    );
  });

  test('a good job text with any characters written over it', () => {
    const text = JSON.stringify(exampleJob(), null, 1);
    fc.assert(
      fc.property(
        fc.nat(text.length),
        fc.nat(20),
        fc.string({ unit: 'binary', maxLength: 5 }),
        (start, length, over) => {
          complete(`${text.slice(0, start)}${over}${text.slice(start + length)}`);
        },
      ),
      runs,
    );
  });

  test('any bytes for a features table', () => {
    const json = JSON.stringify({ ...exampleJob(), chains: [], features: 'features.csv' });
    const cell = fc.oneof(
      fc.constantFrom(
        'id',
        'kind',
        'size',
        'area',
        ';',
        ',',
        '\t',
        '"',
        '\n',
        '\r\n',
        'P1',
        'plane',
      ),
      fc.string({ maxLength: 6 }),
    );
    const table = fc.oneof(
      fc.uint8Array({ maxLength: 300 }),
      fc.array(cell, { maxLength: 60 }).map((parts) => Buffer.from(parts.join(''))),
      fc
        .array(fc.array(cell, { minLength: 3, maxLength: 4 }), { maxLength: 6 })
        .map((rows) =>
          Buffer.from(['id;kind;area', ...rows.map((row) => row.join(';'))].join('\n')),
        ),
    );
    fc.assert(
      fc.property(table, (bytes) => {
        const { text, problems } = textOf(bytes, 'features.csv');
        if (text === undefined) {
          expect(problems).toHaveLength(1);
          return;
        }
        const split = featureTable(text, 'features.csv');
        const reading = readJob({ json, file: 'job.json', featureTable: split }, vocabulary);
        expect(reading.job === undefined).toBe(reading.problems.length > 0);
        for (const { place } of reading.problems) {
          expect(place.file).toBe('features.csv');
          expect(place.line).toBeGreaterThan(0);
        }
      }),
      { ...runs, numRuns: 1000 },
    );
  });
});

test('JSON values and verdict are those of JSON.parse', () => {
  const text = fc.oneof(
    fc.json(),
    fc
      .tuple(fc.json(), fc.nat(40), fc.string({ maxLength: 2 }))
      .map(([json, start, over]) => `${json.slice(0, start)}${over}${json.slice(start)}`),
  );
  fc.assert(
    fc.property(text, (json) => {
      let expected: unknown;
      let valid = true;
      try {
        expected = JSON.parse(json);
      } catch {
        valid = false;
      }
      const { value, problems } = readJsonText(json);
      const syntax = problems.filter(({ code }) => code === 'json-syntax');
      expect(syntax.length === 0).toBe(valid);
      if (valid && problems.length === 0) expect(value).toStrictEqual(expected);
    }),
    { ...runs, numRuns: 2000 },
  );
});

/** A length in mm as a multiple of 1/1000 in, so that both forms can be written exactly. */
const thou = (least: number, most: number) => fc.integer({ min: least, max: most });

interface Measures {
  readonly box: readonly [number, number, number];
  readonly size: number;
  readonly tolerance: number;
  readonly depth: number;
  readonly area: number;
  readonly location: number;
  readonly flatness: number;
}

const measures: fc.Arbitrary<Measures> = fc.record({
  box: fc.tuple(thou(4000, 20000), thou(4000, 20000), thou(4000, 20000)),
  size: thou(200, 1000),
  tolerance: thou(1, 20),
  depth: thou(100, 3000),
  area: thou(1000, 50000),
  location: thou(0, 3000),
  flatness: thou(1, 50),
});

function jobIn(units: 'mm' | 'in', m: Measures): Job {
  const length = (mils: number): number =>
    units === 'in' ? mils / 1000 : Number((mils * 0.0254).toFixed(4));
  const area = (mils: number): number =>
    units === 'in' ? mils / 1000 : Number((mils * 0.64516).toFixed(5));
  const [x, y, z] = m.box.map(length);
  const reading = readJob(
    {
      json: JSON.stringify({
        ...exampleJob(),
        units,
        geometry: { box: [x, y, z], volume: units === 'in' ? 2 : 32774.128 },
        features: [
          {
            id: 'B1',
            kind: 'bore',
            size: `${length(m.size)} ±${length(m.tolerance)}`,
            ra: 1.6,
            depth: length(m.depth),
            location: length(m.location),
          },
          {
            id: 'P1',
            kind: 'plane',
            size: length(m.size * 2),
            area: area(m.area),
            tolerances: [`flatness ${length(m.flatness)}`],
          },
        ],
        chains: [{ id: 'c', terms: ['P1', '-B1'], lower: length(10), upper: length(m.size + 10) }],
      }),
    },
    vocabulary,
  );
  expect(reading.problems).toEqual([]);
  if (reading.job === undefined) throw new Error('no job although there are no problems');
  return reading.job;
}

test('mm and inch forms of one job give one job to 1e-9', () => {
  fc.assert(
    fc.property(measures, (m) => {
      expectClose(jobIn('in', m), jobIn('mm', m), 'job');
    }),
    runs,
  );
});

/** Equal but for numbers, which may differ by 1e-9 of themselves, and for texts as written. */
function expectClose(a: unknown, b: unknown, path: string): void {
  if (typeof a === 'number' && typeof b === 'number') {
    expect(Math.abs(a - b), path).toBeLessThanOrEqual(1e-9 * Math.max(1, Math.abs(b)));
    return;
  }
  if (typeof a !== 'object' || a === null || typeof b !== 'object' || b === null) {
    expect(a, path).toEqual(b);
    return;
  }
  expect(Object.keys(a), path).toEqual(Object.keys(b));
  for (const key of Object.keys(a))
    if (key !== 'text') expectClose((a as Branch)[key], (b as Branch)[key], `${path}.${key}`);
}

test('the order of features does not matter', () => {
  const { features } = exampleJob();
  const withoutPlace = (job: Job | undefined): unknown =>
    job?.features.map(({ place: _, ...feature }) => feature);
  const expected = withoutPlace(readJob({ json: JSON.stringify(exampleJob()) }, vocabulary).job);
  expect(expected).toHaveLength(5);
  fc.assert(
    fc.property(fc.shuffledSubarray(features, { minLength: features.length }), (shuffled) => {
      const json = JSON.stringify({ ...exampleJob(), features: shuffled });
      expect(withoutPlace(readJob({ json }, vocabulary).job)).toEqual(expected);
    }),
    { ...runs, numRuns: 50 },
  );
});

type Branch = Record<string | number, unknown>;

function pathsOf(value: unknown, path: (string | number)[] = []): (string | number)[][] {
  if (typeof value !== 'object' || value === null) return [path];
  const steps = Array.isArray(value) ? value.map((_, index) => index) : Object.keys(value);
  const inner = steps.flatMap((step) => pathsOf((value as Branch)[step], [...path, step]));
  return path.length === 0 ? inner : [path, ...inner];
}
