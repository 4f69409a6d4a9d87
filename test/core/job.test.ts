import { readFileSync } from 'node:fs';
import {
  defaultCatalog,
  type FeatureTable,
  featureTableName,
  isCalendarDate,
  type Job,
  type JobReading,
  jobVocabulary,
  maxFeatures,
  maxJobTextLength,
  nearMatch,
  readJob,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { exampleJob, vocabulary } from './job-example.js';

type Example = ReturnType<typeof exampleJob>;

const read = (job: unknown): JobReading =>
  readJob({ json: JSON.stringify(job, null, 2), file: 'job.json' }, vocabulary);

function jobOf(reading: JobReading): Job {
  expect(reading.problems).toEqual([]);
  if (reading.job === undefined) throw new Error('no job although there are no problems');
  return reading.job;
}

function table(header: string, ...rows: string[]): FeatureTable {
  return {
    file: 'features.csv',
    header: header.split(';'),
    headerLine: 1,
    rows: rows.map((row, index) => ({ line: index + 2, cells: row.split(';') })),
    decimalComma: false,
    problems: [],
    findings: [],
  };
}

const readTable = (featureTable: FeatureTable, change: (job: Example) => void = () => {}) => {
  const job = { ...exampleJob(), chains: [] };
  change(job);
  return readJob(
    { json: JSON.stringify({ ...job, features: 'features.csv' }), file: 'job.json', featureTable },
    vocabulary,
  );
};

describe('a complete job', () => {
  const job = jobOf(read(exampleJob()));

  test('part, order and policy', () => {
    expect(job.part).toMatchObject({ material: 's17400', endUse: 'static', condition: 'H1025' });
    expect(job.order).toEqual({
      quantity: 12,
      currency: 'EUR',
      startOn: '2027-03-01',
      dueOn: '2027-04-09',
      closedOn: ['2027-03-26', '2027-03-29'],
      partsPerPlate: 6,
      quantityBreaks: [1, 12, 50],
      customer: 'Works 2',
      reference: 'RFQ 7',
    });
    expect(job.policy).toEqual({
      objective: 'weighted',
      costPerDay: 120,
      required: ['stress-relief'],
      forbidden: ['electropolishing'],
      minimumProbability: 0.9973,
      outsideWork: true,
      cutOffBeforeRelief: false,
      contingencyPercent: 5,
      marginPercent: 10,
      learning: { percent: 90, processes: ['bead-blasting', 'passivation'] },
      transferBatch: 4,
      enoughGoodProbability: 0.98,
    });
  });

  test('geometry in mm', () => {
    expect(job.geometry).toEqual({
      volumeMm3: 21500,
      surfaceAreaMm2: 11800,
      boxMm: [62, 40, 28],
      plateSectionMm2: 1450,
      thickestSectionMm: 12,
      thinnestWallMm: 3,
      supports: { latticeAreaMm2: 320, latticeAccess: 'open', solidAreaMm2: 0, stated: true },
      trappedPowder: 'none',
      powderProof: false,
    });
  });

  test('features are sorted by id and read as on the drawing', () => {
    expect(job.features.map(({ id }) => id)).toEqual(['B1', 'F1', 'P1', 'T1', 'W1']);
    const [bore, outside, foot, thread, slot] = job.features;
    expect(bore).toMatchObject({
      size: { nominalMm: 12, lowerMm: 12, upperMm: 12.018, fit: 'H7', diametral: true },
      raMaxUm: 0.8128,
      rzMaxUm: 4,
      depthMm: 18,
      access: ['+z'],
      locationMm: 22,
      geometric: [
        { kind: 'position', valueMm: 0.05, diametral: true, datums: [{ letter: 'A' }] },
        { kind: 'cylindricity', valueMm: 0.01 },
      ],
    });
    expect(outside).toMatchObject({ areaMm2: 5200, allowedFinishes: ['bead-blasting'] });
    expect(foot).toMatchObject({ access: ['-z'], datum: 'A', angleDeg: 0 });
    expect(thread).toMatchObject({
      count: 4,
      thread: { majorMm: 4, pitchMm: 0.7, internal: true },
      access: ['+z', '-z'],
    });
    expect(thread).not.toHaveProperty('size');
    // ISO 2768-1 class m over 3 to 6 mm: +-0.1 mm
    expect(slot?.size).toMatchObject({ origin: 'general', lowerMm: 5.9, upperMm: 6.1 });
    expect(bore?.place).toMatchObject({ file: 'job.json', path: 'features[1]' });
  });

  test('chains', () => {
    expect(job.chains).toEqual([
      {
        id: 'wall',
        terms: [
          { feature: 'P1', sign: 1 },
          { feature: 'B1', sign: -1 },
        ],
        lowerMm: 15.85,
        upperMm: 16.15,
      },
      { id: 'half', terms: [], expression: 'P1 - B1 / 2', lowerMm: 21.85, upperMm: 22.15 },
    ]);
  });

  test('only what is required is required', () => {
    const { part, order, schemaVersion } = exampleJob();
    const { name, number, revision, material, printer, endUse } = part;
    const bare = jobOf(
      read({
        schemaVersion,
        part: { name, number, revision, material, printer, endUse },
        geometry: {},
        order: { quantity: order.quantity, currency: 'eur' },
        features: [{ id: 'P1', kind: 'plane', area: 100 }],
      }),
    );
    expect(bare.order).toEqual({ quantity: 12, currency: 'EUR', quantityBreaks: [] });
    expect(bare.geometry).toEqual({
      supports: { latticeAreaMm2: 0, latticeAccess: 'open', solidAreaMm2: 0, stated: false },
      trappedPowder: 'unknown',
      powderProof: false,
    });
    expect(bare.policy).toEqual({
      objective: 'cost',
      required: [],
      forbidden: [],
      minimumProbability: 0.9973,
      outsideWork: true,
      cutOffBeforeRelief: false,
      contingencyPercent: 0,
      marginPercent: 0,
    });
    expect(bare.features[0]).toEqual({
      id: 'P1',
      kind: 'plane',
      count: 1,
      areaMm2: 100,
      supported: false,
      access: [],
      geometric: [],
      extra: {},
      place: { file: 'job.json', line: expect.any(Number), path: 'features[0]' },
    });
  });

  test('a size without limits and without a general tolerance is said', () => {
    const { generalTolerance: _, ...job } = exampleJob();
    const { findings } = read(job);
    expect(findings).toContainEqual(
      expect.objectContaining({ id: 'size-without-limits', about: 'W1' }),
    );
  });
});

test('bare numbers of an inch job are inches, square inches, cubic inches; roughness stays um', () => {
  const job = jobOf(
    read({
      ...exampleJob(),
      units: 'in',
      geometry: { volume: 1.5, surfaceArea: 20, box: [3, 2, '30 mm'], thinnestWall: '2 mm' },
      features: [
        { id: 'B1', kind: 'bore', size: '0.5 ±0.001', ra: 1.6, depth: 0.8, location: '20 mm' },
        { id: 'P1', kind: 'plane', area: 2, ra: '32 µin', size: 1, tolerances: ['flatness 0.001'] },
      ],
    }),
  );
  expect(job.geometry).toMatchObject({
    volumeMm3: 24580.596,
    surfaceAreaMm2: 12903.2,
    boxMm: [76.2, 50.8, 30],
    thinnestWallMm: 2,
  });
  const [bore, plane] = job.features;
  expect(bore).toMatchObject({ raMaxUm: 1.6, depthMm: 20.32, locationMm: 20 });
  expect(bore?.size).toMatchObject({ nominalMm: 12.7, lowerMm: 12.6746, upperMm: 12.7254 });
  expect(plane?.areaMm2).toBeCloseTo(1290.32, 9);
  expect(plane?.raMaxUm).toBeCloseTo(0.8128, 9);
  expect(plane?.geometric[0]?.valueMm).toBeCloseTo(0.0254, 9);
});

/** One damage to the example, and the problem that it must give. */
const damages: readonly (readonly [
  name: string,
  change: (job: Example) => unknown,
  expected: { code: string; path: string; value?: string; words: string },
])[] = [
  [
    'an unknown field with a near match',
    (job) => Object.assign(job.part, { endUsage: 'static' }),
    {
      code: 'unknown-field',
      path: 'part.endUsage',
      value: 'endUsage',
      words: 'did you mean endUse',
    },
  ],
  [
    'an unknown field of a feature',
    (job) => Object.assign(job.features[1] ?? {}, { rA: 1 }),
    { code: 'unknown-field', path: 'features[1].rA', words: 'did you mean ra' },
  ],
  [
    'a missing field',
    (job) => Reflect.deleteProperty(job.part, 'revision'),
    { code: 'missing-field', path: 'part.revision', words: 'revision is missing' },
  ],
  [
    'an empty text',
    (job) => Object.assign(job.part, { name: '  ' }),
    { code: 'missing-field', path: 'part.name', words: 'empty' },
  ],
  [
    'a number for a text',
    (job) => Object.assign(job.part, { number: 12 }),
    { code: 'wrong-type', path: 'part.number', value: '12', words: 'a number is not accepted' },
  ],
  [
    'a list for an object',
    (job) => Object.assign(job, { policy: [] }),
    { code: 'wrong-type', path: 'policy', words: 'a list is not accepted' },
  ],
  [
    'null for a value',
    (job) => Object.assign(job.geometry, { volume: null }),
    { code: 'wrong-type', path: 'geometry.volume', value: 'null', words: 'null is not accepted' },
  ],
  [
    'another schema version',
    (job) => Object.assign(job, { schemaVersion: 'job/2' }),
    { code: 'not-one-of', path: 'schemaVersion', value: 'job/2', words: 'not an allowed word' },
  ],
  [
    'an unknown material',
    (job) => Object.assign(job.part, { material: 's17-400' }),
    { code: 'unknown-id', path: 'part.material', value: 's17-400', words: 'did you mean s17400' },
  ],
  [
    'a currency that is none',
    (job) => Object.assign(job.order, { currency: 'EUX' }),
    { code: 'unknown-id', path: 'order.currency', value: 'EUX', words: 'no such currency' },
  ],
  [
    'half a part',
    (job) => Object.assign(job.order, { quantity: 1.5 }),
    { code: 'wrong-type', path: 'order.quantity', value: '1.5', words: 'not a whole number' },
  ],
  [
    'no parts',
    (job) => Object.assign(job.order, { quantity: 0 }),
    { code: 'out-of-range', path: 'order.quantity', value: '0', words: 'out of range' },
  ],
  [
    'a date in another form',
    (job) => Object.assign(job.order, { dueOn: '9.4.2027' }),
    { code: 'bad-date', path: 'order.dueOn', value: '9.4.2027', words: 'not a date' },
  ],
  [
    'a day that does not exist',
    (job) => Object.assign(job.order, { startOn: '2027-02-29' }),
    { code: 'bad-date', path: 'order.startOn', value: '2027-02-29', words: 'no such day' },
  ],
  [
    'due before the start',
    (job) => Object.assign(job.order, { dueOn: '2027-02-28' }),
    { code: 'inconsistent', path: 'order.dueOn', words: 'due before the start' },
  ],
  [
    'a flat box',
    (job) => Object.assign(job.geometry, { box: [62, 0, 28] }),
    { code: 'out-of-range', path: 'geometry.box[1]', value: '0', words: 'out of range' },
  ],
  [
    'a box with two sides',
    (job) => Object.assign(job.geometry, { box: [62, 40] }),
    { code: 'missing-field', path: 'geometry.box[2]', words: 'missing' },
  ],
  [
    'a box with four sides',
    (job) => Object.assign(job.geometry, { box: [62, 40, 28, 1] }),
    { code: 'wrong-type', path: 'geometry.box[3]', words: 'not accepted' },
  ],
  [
    'a volume in a unit of length',
    (job) => Object.assign(job.geometry, { volume: '21 mm' }),
    {
      code: 'bad-quantity',
      path: 'geometry.volume',
      value: '21 mm',
      words: 'not a unit of volume',
    },
  ],
  [
    'a volume larger than the box',
    (job) => Object.assign(job.geometry, { volume: '21500 cm3' }),
    { code: 'inconsistent', path: 'geometry.volume', words: 'larger than the box' },
  ],
  [
    'a wall thicker than the thickest section',
    (job) => Object.assign(job.geometry, { thinnestWall: 13 }),
    { code: 'inconsistent', path: 'geometry.thinnestWall', words: 'larger than the thickest' },
  ],
  [
    'a general tolerance that is none',
    (job) => Object.assign(job, { generalTolerance: 'ISO 2768-xK' }),
    { code: 'bad-tolerance', path: 'generalTolerance', value: 'ISO 2768-xK', words: 'class' },
  ],
  [
    'two features of one id',
    (job) => Object.assign(job.features[4] ?? {}, { id: 'W1' }),
    { code: 'duplicate-id', path: 'features[4].id', value: 'W1', words: 'stands twice' },
  ],
  [
    'an id with a space',
    (job) => Object.assign(job.features[4] ?? {}, { id: 'F 1' }),
    { code: 'wrong-type', path: 'features[4].id', value: 'F 1', words: 'wrong form' },
  ],
  [
    'a kind that is none',
    (job) => Object.assign(job.features[3] ?? {}, { kind: 'slott' }),
    { code: 'not-one-of', path: 'features[3].kind', value: 'slott', words: 'did you mean slot' },
  ],
  [
    'a size that is none',
    (job) => Object.assign(job.features[1] ?? {}, { size: '12 Q77' }),
    { code: 'bad-size', path: 'features[1].size', value: '12 Q77', words: 'character 4' },
  ],
  [
    'a shaft fit on a bore',
    (job) => Object.assign(job.features[1] ?? {}, { size: '12 h7' }),
    {
      code: 'inconsistent',
      path: 'features[1].size',
      value: '12 h7',
      words: 'not a fit for a bore',
    },
  ],
  [
    'a thread size on a bore',
    (job) => Object.assign(job.features[1] ?? {}, { size: 'M12-6H' }),
    {
      code: 'inconsistent',
      path: 'features[1].size',
      value: 'M12-6H',
      words: 'does not suit a bore',
    },
  ],
  [
    'a plain size on a thread',
    (job) => Object.assign(job.features[2] ?? {}, { size: '4 ±0.1' }),
    { code: 'inconsistent', path: 'features[2].size', words: 'does not suit a thread' },
  ],
  [
    'a count that differs from the size',
    (job) => Object.assign(job.features[2] ?? {}, { size: '3x M4-6H' }),
    { code: 'inconsistent', path: 'features[2].count', value: '4', words: '3x in the size' },
  ],
  [
    'a roughness of zero',
    (job) => Object.assign(job.features[0] ?? {}, { ra: 0 }),
    { code: 'out-of-range', path: 'features[0].ra', value: '0', words: 'out of range' },
  ],
  [
    'a negative roughness with a unit',
    (job) => Object.assign(job.features[0] ?? {}, { ra: '-32 uin' }),
    { code: 'out-of-range', path: 'features[0].ra', value: '-32 uin', words: 'out of range' },
  ],
  [
    'an access word that is none',
    (job) => Object.assign(job.features[0] ?? {}, { access: ['-z', 'above'] }),
    {
      code: 'not-one-of',
      path: 'features[0].access[1]',
      value: 'above',
      words: 'not an allowed word',
    },
  ],
  [
    'a datum that is no letter',
    (job) => Object.assign(job.features[0] ?? {}, { datum: 'A1' }),
    { code: 'wrong-type', path: 'features[0].datum', value: 'A1', words: 'wrong form' },
  ],
  [
    'a datum letter twice',
    (job) => Object.assign(job.features[3] ?? {}, { datum: 'A' }),
    {
      code: 'inconsistent',
      path: 'features[3].datum',
      value: 'A',
      words: 'carried by P1 and by W1',
    },
  ],
  [
    'a datum that no feature carries',
    (job) =>
      Object.assign(job.features[1] ?? {}, { tolerances: ['flatness 0.1', 'position 0.1 A C'] }),
    {
      code: 'unknown-datum',
      path: 'features[1].tolerances[1]',
      words: 'no feature carries datum C',
    },
  ],
  [
    'a datum located from itself',
    (job) => Object.assign(job.features[0] ?? {}, { tolerances: ['perpendicularity 0.1 A'] }),
    { code: 'inconsistent', path: 'features[0].tolerances[0]', words: 'P1 is itself datum A' },
  ],
  [
    'a tolerance that is none',
    (job) => Object.assign(job.features[1] ?? {}, { tolerances: ['squareness A'] }),
    {
      code: 'bad-tolerance',
      path: 'features[1].tolerances[0]',
      value: 'squareness A',
      words: 'character',
    },
  ],
  [
    'a bore without a size',
    (job) => {
      job.chains = [];
      Reflect.deleteProperty(job.features[1] ?? {}, 'size');
    },
    { code: 'missing-field', path: 'features[1]', value: 'B1', words: 'a bore needs size' },
  ],
  [
    'a plane with one side',
    (job) => Reflect.deleteProperty(job.features[0] ?? {}, 'width'),
    {
      code: 'missing-field',
      path: 'features[0]',
      words: 'a plane needs area, or length and width',
    },
  ],
  [
    'a hole deeper than the part',
    (job) => Object.assign(job.features[1] ?? {}, { depth: '18 cm' }),
    {
      code: 'inconsistent',
      path: 'features[1].depth',
      value: '18 cm',
      words: 'larger than the part',
    },
  ],
  [
    'a finish that is none',
    (job) => Object.assign(job.features[4] ?? {}, { finishes: ['bead-blastin'] }),
    { code: 'unknown-id', path: 'features[4].finishes[0]', words: 'did you mean bead-blasting' },
  ],
  [
    'no features',
    (job) => {
      job.chains = [];
      job.features = [];
    },
    { code: 'out-of-range', path: 'features', value: '[]', words: 'the list is empty' },
  ],
  [
    'a features table above the job folder',
    (job) => Object.assign(job, { features: '../features.csv', chains: [] }),
    { code: 'wrong-type', path: 'features', value: '../features.csv', words: 'wrong form' },
  ],
  [
    'a chain of an unknown feature',
    (job) =>
      Object.assign(job, { chains: [{ id: 'c', terms: ['+P1', '-B2'], lower: 1, upper: 2 }] }),
    { code: 'unknown-id', path: 'chains[0].terms[1]', value: 'B2', words: 'did you mean B1' },
  ],
  [
    'an expression of an unknown feature',
    (job) =>
      Object.assign(job, {
        chains: [{ id: 'c', expression: '2e1 * sqrt(P1) + Q9', lower: 1, upper: 2 }],
      }),
    { code: 'unknown-id', path: 'chains[0].expression', value: 'Q9', words: 'no such feature' },
  ],
  [
    'a chain over a thread',
    (job) =>
      Object.assign(job, { chains: [{ id: 'c', terms: ['P1', '-T1'], lower: 1, upper: 2 }] }),
    { code: 'inconsistent', path: 'chains[0].terms[1]', value: 'T1', words: 'no size to add up' },
  ],
  [
    'reversed limits',
    (job) => Object.assign(job.chains?.[0] ?? {}, { lower: 16.15, upper: '15.85 mm' }),
    { code: 'inconsistent', path: 'chains[0].upper', value: '15.85 mm', words: 'reversed' },
  ],
  [
    'a chain with nothing in it',
    (job) => Object.assign(job, { chains: [{ id: 'c', lower: 1, upper: 2 }] }),
    { code: 'missing-field', path: 'chains[0]', words: 'no terms' },
  ],
  [
    'a chain with terms and expression',
    (job) => Object.assign(job.chains?.[0] ?? {}, { expression: 'P1' }),
    { code: 'inconsistent', path: 'chains[0]', words: 'both terms and expression' },
  ],
  [
    'two chains of one id',
    (job) => Object.assign(job.chains?.[1] ?? {}, { id: 'wall' }),
    { code: 'duplicate-id', path: 'chains[1].id', value: 'wall', words: 'stands twice' },
  ],
  [
    'an operation that is none',
    (job) => Object.assign(job.policy ?? {}, { forbidden: ['electropolish'] }),
    { code: 'unknown-id', path: 'policy.forbidden[0]', words: 'did you mean electropolishing' },
  ],
  [
    'an operation required and forbidden',
    (job) => Object.assign(job.policy ?? {}, { forbidden: ['stress-relief'] }),
    { code: 'inconsistent', path: 'policy.forbidden', value: 'stress-relief', words: 'both' },
  ],
  [
    'a weighted objective without its weight',
    (job) => Reflect.deleteProperty(job.policy ?? {}, 'costPerDay'),
    { code: 'missing-field', path: 'policy.costPerDay', words: 'needs costPerDay' },
  ],
  [
    'a certainty',
    (job) => Object.assign(job.policy ?? {}, { minimumProbability: 1 }),
    { code: 'out-of-range', path: 'policy.minimumProbability', value: '1', words: 'out of range' },
  ],
];

describe('each damage gives one problem with path, position, value and what is accepted', () => {
  test.each(damages)('%s', (_name, change, { code, path, value, words }) => {
    const job = exampleJob();
    change(job);
    const { job: result, problems } = read(job);
    expect(result).toBeUndefined();
    expect(problems).toHaveLength(1);
    const [problem] = problems;
    expect(problem).toMatchObject({ code, place: { file: 'job.json', path } });
    expect(problem?.place.line).toBeGreaterThan(0);
    expect(problem?.message).toContain(words);
    if (value !== undefined) expect(problem?.value).toBe(value);
    expect(problem?.accept).toMatch(/./);
  });

  test('all together are all reported', () => {
    const chosen = damages.filter(([name]) =>
      [
        'an unknown field with a near match',
        'a number for a text',
        'an unknown material',
        'half a part',
        'a flat box',
        'two features of one id',
        'a size that is none',
        'a roughness of zero',
        'a datum that no feature carries',
        'reversed limits',
        'an operation that is none',
      ].includes(name),
    );
    const job = exampleJob();
    for (const [, change] of chosen) change(job);
    const { problems } = read(job);
    expect(problems.map(({ place }) => place.path)).toEqual([
      'part.number',
      'part.material',
      'part.endUsage',
      'geometry.box[1]',
      'order.quantity',
      'features[0].ra',
      'features[1].size',
      'features[1].tolerances[1]',
      'features[4].id',
      'chains[0].upper',
      'policy.forbidden[0]',
    ]);
  });

  test('datums that refer to each other in a circle', () => {
    const job = exampleJob();
    Object.assign(job.features[0] ?? {}, { tolerances: ['perpendicularity 0.1 B'] });
    Object.assign(job.features[3] ?? {}, { datum: 'B', tolerances: ['parallelism 0.1 A'] });
    const { problems } = read(job);
    expect(problems).toHaveLength(1);
    expect(problems[0]?.message).toContain('A -> B -> A');
  });

  test('problem positions point at the value', () => {
    const json = '{\n  "schemaVersion": "job/1",\n  "units": "ft"\n}';
    const problem = readJob({ json }, vocabulary).problems.find(
      ({ place }) => place.path === 'units',
    );
    expect(problem?.place).toEqual({ line: 3, column: 12, path: 'units' });
  });
});

describe('a features table', () => {
  test('header spellings, units in the header, spare columns', () => {
    const reading = readTable(
      table(
        'ID;Kind ;SIZE (in);Ra [µm];depth_mm;Length (in);location-in;Balloon no;Tolerance',
        'B1;Bore;0.5 ±0.001;1.6;20.32;;1;17;flatness 0.01 / roundness 0.02|straightness 0.1',
        'B2;bore;0.5;Ra 3.2;10;;20 mm;=SUM(A1);-',
      ),
    );
    const job = jobOf(reading);
    expect(job.features[0]).toMatchObject({
      id: 'B1',
      kind: 'bore',
      raMaxUm: 1.6,
      depthMm: 20.32,
      locationMm: 25.4,
      extra: { 'Balloon no': '17' },
      place: { file: 'features.csv', line: 2 },
    });
    expect(job.features[0]?.size?.nominalMm).toBeCloseTo(12.7, 9);
    expect(job.features[0]?.geometric.map(({ kind }) => kind)).toEqual([
      'flatness',
      'roundness',
      'straightness',
    ]);
    expect(job.features[1]).toMatchObject({
      raMaxUm: 3.2,
      locationMm: 20,
      geometric: [],
      extra: { 'Balloon no': '=SUM(A1)' },
    });
    expect(reading.findings).toContainEqual(
      expect.objectContaining({ id: 'spare-column', severity: 'warning' }),
    );
  });

  test.each([
    ['supported', 'yes', { supported: true }],
    ['supported', 'N', { supported: false }],
    ['access', 'Z+ x', { access: ['+x', '-x', '+z'] }],
    ['access', "'-y/top", { access: ['-y', '+z'] }],
    ['access', 'all', { access: ['+x', '-x', '+y', '-y', '+z', '-z'] }],
    ['finishes', 'none', { allowedFinishes: [] }],
    [
      'finishes',
      'Passivation | bead-blasting',
      { allowedFinishes: ['passivation', 'bead-blasting'] },
    ],
    ['angle', '45°', { angleDeg: 45 }],
    ['count', '3', { count: 3 }],
    ['datum', 'b', { datum: 'B' }],
    ['name', '=1+1', { name: '=1+1' }],
  ])('%s %s', (column, cell, expected) => {
    const job = jobOf(readTable(table(`id;kind;area;${column}`, `P1;plane;10;${cell}`)));
    expect(job.features[0]).toMatchObject(expected);
  });

  test.each([
    ['count', '2.5', 'wrong-type', 'not a whole number'],
    ['count', 'two', 'bad-number', 'a number is expected'],
    ['angle', '95', 'out-of-range', 'out of range'],
    ['supported', 'perhaps', 'not-one-of', 'not yes or no'],
    ['access', '+w', 'not-one-of', 'not an allowed word'],
    ['ra', '1,6', 'bad-quantity', 'a comma in a number'],
    ['length', '12 furlong', 'bad-quantity', 'not a unit of length'],
    ['tolerances', 'flatness', 'bad-tolerance', 'missing'],
    ['facing', 'north', 'not-one-of', 'not an allowed word'],
  ])('%s %s is a problem at its cell', (column, cell, code, words) => {
    const { problems } = readTable(table(`id;kind;area;${column}`, `P1;plane;10;${cell}`));
    expect(problems).toHaveLength(1);
    expect(problems[0]).toMatchObject({ code, place: { file: 'features.csv', line: 2, column } });
    expect(problems[0]?.message).toContain(words);
    expect(problems[0]?.accept).toMatch(/./);
  });

  test.each([
    ['id;kind;Length;length_mm', 'csv-header', 'length_mm', 'the same column'],
    ['id;kind;lenght', 'csv-header', 'lenght', 'did you mean length'],
    ['id;kind;length [parsec]', 'csv-header', 'length [parsec]', 'the unit'],
    ['id;size', 'csv-header', 'kind', 'the column kind is missing'],
    ['id;kind;__proto__', 'csv-header', '__proto__', 'not allowed'],
    ['id;kind;spare;Spare', 'csv-header', 'Spare', 'the same column'],
  ])('header %s', (header, code, column, words) => {
    const { problems } = readTable(table(header, 'P1;plane;1;2'));
    expect(problems[0]).toMatchObject({ code, place: { file: 'features.csv', line: 1, column } });
    expect(problems[0]?.message).toContain(words);
  });

  test('rows that are too long are problems, short ones are said, blank ones are left out', () => {
    const long = readTable(table('id;kind;area', 'P1;plane;10;surplus'));
    expect(long.problems).toMatchObject([
      { code: 'csv-width', place: { file: 'features.csv', line: 2 }, value: 'surplus' },
    ]);
    const short = readTable(table('id;kind;area;note', 'P1;plane;10', ';;;'));
    expect(jobOf(short).features).toHaveLength(1);
    expect(short.findings).toContainEqual(expect.objectContaining({ id: 'short-row' }));
  });

  test('a table without rows, and one that is not at hand', () => {
    expect(readTable(table('id;kind')).problems).toMatchObject([{ code: 'missing-field' }]);
    const job = { ...exampleJob(), chains: [], features: 'features.csv' };
    expect(read(job).problems).toMatchObject([
      { code: 'file-missing', place: { path: 'features' }, value: 'features.csv' },
    ]);
  });

  test('the small sample job', () => {
    const folder = new URL('../fixtures/job-mini/', import.meta.url);
    const json = readFileSync(new URL('job.json', folder), 'utf8');
    expect(featureTableName(json)).toBe('features.csv');
    const [header = '', ...rows] = readFileSync(new URL('features.csv', folder), 'utf8')
      .trimEnd()
      .split('\n');
    const cells = (line: string): string => line.replaceAll(',', '\u0000');
    const split = table(header.replaceAll(',', ';'), ...rows.map(cells));
    const featureTable = {
      ...split,
      rows: split.rows.map((row) => ({ ...row, cells: row.cells.join(';').split('\u0000') })),
    };
    const sample = readJob({ json, featureTable }, jobVocabulary(defaultCatalog()));
    expect(jobOf(sample).features.map(({ id }) => id)).toEqual([
      'B1',
      'F1',
      'P1',
      'P2',
      'S1',
      'T1',
    ]);
    expect(sample.findings).toEqual([]);
  });
});

describe('limits', () => {
  const many = (count: number) => ({
    ...exampleJob(),
    chains: [],
    features: Array.from({ length: count }, (_, index) => ({
      id: `P${index}`,
      kind: 'plane',
      area: 10,
    })),
  });

  test('the stated number of features is read, one more is not', () => {
    expect(jobOf(read(many(maxFeatures))).features).toHaveLength(5000);
    expect(read(many(maxFeatures + 1)).problems).toMatchObject([
      { code: 'too-large', place: { path: 'features' }, value: '5001 items' },
    ]);
    const rows = Array.from({ length: maxFeatures + 1 }, (_, index) => `P${index};plane;10`);
    expect(readTable(table('id;kind;area', ...rows)).problems).toMatchObject([
      { code: 'too-large', place: { file: 'features.csv' }, value: '5001' },
    ]);
  });

  test('a longer text than stated is not looked at', () => {
    const json = ' '.repeat(maxJobTextLength + 1);
    expect(readJob({ json, file: 'job.json' }, vocabulary).problems).toMatchObject([
      { code: 'too-large', place: { file: 'job.json' } },
    ]);
    expect(featureTableName(json)).toBeUndefined();
  });
});

test.each([
  ['features.csv', true],
  ['tables/2027/features.tsv', true],
  ['Merkmale ä.csv', true],
  ['a..b.csv', true],
  ['../features.csv', false],
  ['./features.csv', false],
  ['tables/../../features.csv', false],
  ['/etc/features.csv', false],
  ['C:\\features.csv', false],
  ['tables\\features.csv', false],
  ['features.xlsx', false],
])('features table %s: allowed %s', (features, allowed) => {
  expect(featureTableName(JSON.stringify({ features }))).toBe(allowed ? features : undefined);
});

test.each([
  ['2028-02-29', true],
  ['2027-02-29', false],
  ['2100-02-29', false],
  ['2000-02-29', true],
  ['2027-04-31', false],
  ['2027-12-31', true],
  ['2027-13-01', false],
  ['2027-00-10', false],
  ['2027-01-00', false],
  ['1899-12-31', false],
  ['27-01-01', false],
])('%s is a day: %s', (text, expected) => {
  expect(isCalendarDate(text)).toBe(expected);
});

test.each([
  ['lenght', ['width', 'length', 'depth'], 'length'],
  ['end_use', ['endUse', 'name'], 'endUse'],
  ['n07178', ['n07718', 'n06625'], 'n07718'],
  ['hole', ['bore', 'slot'], undefined],
  ['x', ['y'], undefined],
  ['', ['a'], undefined],
])('near match of %s among %j', (word, known, expected) => {
  expect(nearMatch(word, known)).toBe(expected);
});
