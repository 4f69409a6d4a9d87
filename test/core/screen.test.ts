import {
  boxMesh,
  checkCatalog,
  defaultCatalog,
  type JobInput,
  jobVocabulary,
  measurePart,
  type PrintScreen,
  readJob,
  type ScreenCheckId,
  screenJob,
  screenLimit,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

const catalog = defaultCatalog();

interface Changes {
  readonly features?: JobInput['features'];
  readonly geometry?: Partial<JobInput['geometry']>;
  readonly printer?: 'pbf-lb' | 'pbf-eb';
  readonly material?: string;
}

/** An invented block of 40 x 20 x 60 mm. */
function screen(changes: Changes = {}, mesh?: ReturnType<typeof boxMesh>): PrintScreen {
  const input: JobInput = {
    schemaVersion: 'job/1',
    part: {
      name: 'Block',
      number: 'SC-1',
      revision: 'A',
      material: changes.material ?? 's31603',
      printer: changes.printer ?? 'pbf-lb',
      endUse: 'static',
    },
    geometry: {
      volume: 48_000,
      surfaceArea: 8_800,
      box: [40, 20, 60],
      plateSection: 800,
      thickestSection: 20,
      thinnestWall: 3,
      trappedPowder: 'none',
      supports: { latticeArea: 0, solidArea: 0 },
      ...changes.geometry,
    },
    order: { quantity: 4, currency: 'EUR', partsPerPlate: 2 },
    features: changes.features ?? [
      {
        id: 'P1',
        kind: 'plane',
        size: '60 ±1',
        facing: 'up',
        access: ['+z'],
        length: 40,
        width: 20,
      },
    ],
  };
  const { job, problems } = readJob({ json: JSON.stringify(input) }, jobVocabulary(catalog));
  if (job === undefined) throw new Error(JSON.stringify(problems));
  return screenJob(job, catalog, mesh === undefined ? undefined : measurePart(mesh));
}

function checkOf(report: PrintScreen, id: ScreenCheckId) {
  const found = report.checks.find(({ check }) => check === id);
  if (found === undefined) throw new Error(id);
  return found;
}

describe('limits of shape', () => {
  test.each([
    [0.5, 'within'],
    [0.4, 'within'],
    [0.35, 'care'],
    [0.3, 'care'],
    [0.25, 'outside'],
  ])('a wall of %s mm by laser: %s', (thinnestWall, verdict) => {
    const wall = checkOf(screen({ geometry: { thinnestWall } }), 'wall');
    expect(wall.verdict).toBe(verdict);
    expect(wall.subjects).toEqual([{ about: 'part', seen: thinnestWall, verdict }]);
    expect(wall.route === undefined).toBe(verdict === 'within');
  });

  test('the row of the alloy family comes before that for any', () => {
    expect(screenLimit(catalog, 'pbf-lb', 'nickel', 'wall').wanted).toBe(0.5);
    expect(screenLimit(catalog, 'pbf-lb', 'aluminium', 'wall').wanted).toBe(0.4);
  });

  test('a wall that a laser prints is too thin for an electron beam', () => {
    const geometry = { thinnestWall: 0.5 };
    expect(checkOf(screen({ geometry, material: 's31603' }), 'wall').verdict).toBe('within');
    const beam = screen({ geometry, material: 'r56400', printer: 'pbf-eb' });
    expect(checkOf(beam, 'wall').verdict).toBe('outside');
  });

  test('a height of six times the shorter side wants care', () => {
    const tall = checkOf(screen({ geometry: { box: [40, 20, 120] } }), 'slenderness');
    expect([tall.subjects[0]?.seen, tall.verdict]).toEqual([6, 'care']);
    expect(checkOf(screen(), 'slenderness').verdict).toBe('within');
  });

  test('a lying hole is held against its limit, an upright one is not', () => {
    const hole = (access: '+z' | '+x') =>
      screen({
        features: [{ id: 'B1', kind: 'bore', size: '15 ±1', depth: 20, access: [access] }],
      });
    expect(checkOf(hole('+x'), 'lying-hole').verdict).toBe('outside');
    expect(checkOf(hole('+z'), 'lying-hole').verdict).toBe('none');
  });

  test('an underside of 35 deg wants care, of 20 deg it is outside, on supports it is not asked', () => {
    const face = (angle: number, supported = false) =>
      checkOf(
        screen({
          features: [
            { id: 'F1', kind: 'freeform', ra: 25, area: 90, facing: 'down', angle, supported },
          ],
        }),
        'overhang',
      ).verdict;
    expect([face(50), face(35), face(20), face(20, true)]).toEqual([
      'within',
      'care',
      'outside',
      'none',
    ]);
  });
});

describe('powder and supports', () => {
  const channel = (size: string, length: number): JobInput['features'] => [
    { id: 'C1', kind: 'channel', size, length },
  ];

  test('a long narrow channel: opening too small and too long for its width', () => {
    const geometry = { trappedPowder: 'open-channels' } as const;
    const report = screen({ features: channel('1.5 ±0.3', 90), geometry });
    expect(checkOf(report, 'escape-hole').verdict).toBe('outside');
    expect(checkOf(report, 'channel-length').subjects[0]?.seen).toBe(60);
    expect(checkOf(report, 'channel-length').verdict).toBe('outside');
    expect(checkOf(report, 'trapped-powder').verdict).toBe('care');
    expect(report.talk.join(' ')).toContain('before the part sees a furnace');
    expect(screen().talk.join(' ')).not.toContain('Loose powder');
  });

  test('powder that is not mentioned is a question, a closed cavity is outside', () => {
    const powder = (trappedPowder: 'unknown' | 'closed-cavity' | 'none') =>
      checkOf(screen({ geometry: { trappedPowder } }), 'trapped-powder').verdict;
    expect([powder('none'), powder('unknown'), powder('closed-cavity')]).toEqual([
      'none',
      'unknown',
      'outside',
    ]);
  });

  test('lattice inside the part is outside', () => {
    const supports = { latticeArea: 50, latticeAccess: 'internal', solidArea: 0 } as const;
    const report = screen({ geometry: { supports } });
    expect(checkOf(report, 'support-access').verdict).toBe('outside');
    expect(report.talk.join(' ')).toContain('hard to reach');
  });
});

describe('tolerances against printing', () => {
  const report = screen({
    features: [
      { id: 'B1', kind: 'bore', size: '6 H7', depth: 12, access: ['+z'] },
      { id: 'B2', kind: 'bore', size: '30 ±0.5', depth: 12, access: ['+z'] },
      { id: 'C1', kind: 'channel', size: '5 ±0.5', ra: 3.2, length: 40 },
      { id: 'S1', kind: 'slot', size: '2 ±0.05', length: 20, depth: 2, access: ['+z'] },
      { id: 'T1', kind: 'thread', size: 'M4-6H', depth: 8, access: ['+z'] },
    ],
  });
  const route = (id: string) => report.tolerances.find(({ feature }) => feature === id)?.route;

  test('small close holes come out of the solid, wide limits stay as printed', () => {
    expect(route('B1')).toBe('print solid, drill');
    expect(route('B2')).toBe('can stay as printed');
    expect(route('C1')).toBe('finish inside: abrasive flow or chemical');
    expect(route('S1')).toBe('print closed, mill');
    expect(route('T1')).toBe('print solid, drill and thread');
  });

  test('the printed width is six standard deviations of the table: upright hole 0.06 mm', () => {
    expect(report.tolerances[0]?.printedMm).toBeCloseTo(0.36, 9);
    expect(report.tolerances[0]?.toleranceMm).toBeCloseTo(0.012, 9);
  });

  test('what is printed solid is not held against limits of open holes and gaps', () => {
    expect(checkOf(report, 'hole').subjects.map(({ about }) => about)).toEqual(['C1', 'B2']);
    expect(checkOf(report, 'gap').verdict).toBe('none');
  });
});

test('a mesh adds what it shows: a wall thinner than the job says', () => {
  const wall = checkOf(screen({}, boxMesh(0.25, 20, 60)), 'wall');
  expect(wall.verdict).toBe('outside');
  expect(wall.subjects[0]?.about).toBe('mesh');
  expect(wall.subjects[0]?.seen).toBeCloseTo(0.25, 6);
  const tall = checkOf(screen({}, boxMesh(5, 20, 60)), 'slenderness');
  expect(tall.subjects[0]).toEqual({ about: 'mesh', seen: 12, verdict: 'outside' });
});

test('every process and alloy family has a limit for every check', () => {
  const families = new Set(catalog.materials.map(({ family }) => family));
  const checks = new Set(catalog.printLimits.map(({ check }) => check));
  expect(checks.size).toBe(11);
  for (const printer of ['pbf-lb', 'pbf-eb'] as const)
    for (const family of families)
      for (const check of checks) {
        const { sense, firm, wanted } = screenLimit(catalog, printer, family, check);
        const label = `${printer} ${family} ${check}`;
        expect(sense === 'least' ? wanted - firm : firm - wanted, label).toBeGreaterThan(0);
      }
});

test('a shop row without its pair of limits is told, with the columns wanted', () => {
  const [row] = catalog.printLimits;
  if (row === undefined) throw new Error('no row');
  const { wantedMm: _left, ...half } = row;
  const problems = checkCatalog({ ...catalog, printLimits: [half] });
  expect(problems.map(({ message, accept }) => [message, accept])).toEqual([
    ['pbf-lb / any / wall: wanted_mm is missing', 'firm_mm and wanted_mm'],
  ]);
});
