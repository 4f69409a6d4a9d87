import {
  type Catalog,
  defaultCatalog,
  type JobInput,
  jobVocabulary,
  type Operation,
  type Plan,
  planJob,
  readJob,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

// Facts of the trade that a planner of printed metal parts takes for granted. All of them are common
// practice, no source, unless the test names one.

const catalog: Catalog = defaultCatalog();
const vocabulary = jobVocabulary(catalog);

type EndUse = JobInput['part']['endUse'];
type FeatureInput = Exclude<JobInput['features'], string>[number];

const foot: FeatureInput = {
  id: 'foot',
  kind: 'plane',
  size: '40 ±0.1',
  ra: 3.2,
  length: 80,
  width: 50,
  facing: 'down',
  access: ['-z'],
  datum: 'A',
  tolerances: ['flatness 0.1'],
};
const side: FeatureInput = {
  id: 'side',
  kind: 'plane',
  size: '50 ±0.1',
  ra: 3.2,
  length: 80,
  width: 30,
  facing: 'side',
  angle: 90,
  access: ['-y'],
  datum: 'B',
  tolerances: ['perpendicularity 0.1 A'],
};
const seat: FeatureInput = {
  id: 'seat',
  kind: 'bore',
  size: '20 H7',
  ra: 1.6,
  depth: 20,
  facing: 'up',
  access: ['+z'],
  datum: 'C',
  tolerances: ['position ⌀0.1 A B'],
};
const screws: FeatureInput = {
  id: 'screws',
  kind: 'thread',
  size: 'M6-6H',
  count: 4,
  depth: 12,
  facing: 'up',
  access: ['+z'],
  tolerances: ['position ⌀0.3 A B C'],
};
const outside: FeatureInput = {
  id: 'outside',
  kind: 'freeform',
  area: 9000,
  facing: 'side',
  angle: 90,
};
const usual = [foot, side, seat, screws, outside];

interface Change {
  readonly material?: string;
  readonly printer?: 'pbf-lb' | 'pbf-eb';
  readonly endUse?: EndUse;
  readonly condition?: string;
  readonly regulated?: boolean;
  readonly features?: readonly FeatureInput[];
  readonly geometry?: Partial<JobInput['geometry']>;
  readonly policy?: NonNullable<JobInput['policy']>;
  readonly quantity?: number;
}

function planOf(change: Change = {}): Plan {
  const input = {
    schemaVersion: 'job/1',
    part: {
      name: 'Part of the trade facts',
      number: 'TF-1',
      revision: 'A',
      material: change.material ?? 's31603',
      printer: change.printer ?? 'pbf-lb',
      endUse: change.endUse ?? 'static',
      ...(change.condition === undefined ? {} : { condition: change.condition }),
      ...(change.regulated === undefined ? {} : { regulated: change.regulated }),
    },
    geometry: {
      volume: 60_000,
      surfaceArea: 24_000,
      box: [80, 50, 40],
      plateSection: 2500,
      thickestSection: 14,
      trappedPowder: 'none',
      supports: { latticeArea: 400, solidArea: 100 },
      ...change.geometry,
    },
    order: { quantity: change.quantity ?? 8, currency: 'EUR', partsPerPlate: 4 },
    features: change.features ?? usual,
    ...(change.policy === undefined ? {} : { policy: change.policy }),
  };
  const { job, problems } = readJob({ json: JSON.stringify(input) }, vocabulary);
  if (job === undefined) throw new Error(JSON.stringify(problems, null, 1));
  return planJob(job, catalog);
}

const at = (plan: Plan, holds: (operation: Operation) => boolean): readonly number[] =>
  plan.operations.filter(holds).map((operation) => operation.seq);
const ofKind = (plan: Plan, kind: Operation['kind']): readonly number[] =>
  at(plan, (operation) => operation.kind === kind);
const ofProcess = (plan: Plan, process: string): readonly number[] =>
  at(plan, (operation) => operation.process === process);
const treatments = (plan: Plan): readonly string[] =>
  plan.thermal.cycles.map((cycle) => cycle.treatment);
const featureOf = (plan: Plan, id: string): Plan['features'][number] => {
  const found = plan.features.find((feature) => feature.id === id);
  if (found === undefined) throw new Error(`no feature ${id}`);
  return found;
};
const processesOf = (plan: Plan, id: string): readonly string[] =>
  featureOf(plan, id).chain.map((step) => step.process);
const allBefore = (first: readonly number[], then: readonly number[]): boolean =>
  Math.max(0, ...first) < Math.min(Number.POSITIVE_INFINITY, ...then);

const endUses: readonly EndUse[] = [
  'static',
  'fatigue',
  'pressure',
  'corrosion',
  'high-temperature',
  'wear',
  'prototype',
];
const printers = ['pbf-lb', 'pbf-eb'] as const;

/** Every alloy, printer and end use for which the catalogue has a route, planned once. */
const grid = catalog.materials.flatMap(({ id: material, family }) =>
  printers.flatMap((printer) =>
    endUses.flatMap((endUse) => {
      const plan = planOf({ material, printer, endUse });
      return plan.feasible ? [{ material, family, printer, endUse, plan }] : [];
    }),
  ),
);
const gridOf = (endUse: EndUse, printer: 'pbf-lb' | 'pbf-eb' = 'pbf-lb'): typeof grid =>
  grid.filter((entry) => entry.endUse === endUse && entry.printer === printer);

describe('heat (common practice, no source)', () => {
  test('every alloy has a route for static parts made by laser', () => {
    expect(gridOf('static').map((entry) => entry.material)).toEqual(
      catalog.materials.map((row) => row.id),
    );
    expect(grid.length).toBeGreaterThan(60);
  });

  test('powder comes out before anything else, above all before any heat', () => {
    for (const { plan } of grid) {
      expect(ofProcess(plan, 'powder-removal')).toEqual([10]);
      expect(allBefore([10], ofKind(plan, 'thermal'))).toBe(true);
    }
  });

  test('parts made by laser stay on the plate through the heat that relieves them', () => {
    for (const { plan, printer } of grid) {
      if (printer !== 'pbf-lb') continue;
      const [first] = plan.thermal.cycles;
      expect(first?.onPlate).toBe(true);
      expect(allBefore([first?.operation ?? 0], ofKind(plan, 'cut-off'))).toBe(true);
      // what is not on the plate follows the cut
      const loose = plan.thermal.cycles.filter((cycle) => !cycle.onPlate);
      expect(
        allBefore(
          ofKind(plan, 'cut-off'),
          loose.map((cycle) => cycle.operation),
        ),
      ).toBe(true);
    }
  });

  test('an electron-beam build counts as relieved: no stress relief', () => {
    const beam = grid.filter((entry) => entry.printer === 'pbf-eb');
    expect(beam.length).toBeGreaterThan(4);
    for (const { plan } of beam) expect(treatments(plan)).not.toContain('stress-relief');
  });

  test('most static parts get stress relief and nothing else', () => {
    const families = ['titanium', 'stainless-austenitic', 'nickel', 'cobalt', 'aluminium'];
    const plain = gridOf('static').filter((entry) => families.includes(entry.family));
    expect(plain).toHaveLength(9);
    for (const { plan } of plain) expect(treatments(plan)).toEqual(['stress-relief']);
  });

  test('HIP is for fatigue and pressure service, unless the drawing names it', () => {
    for (const { plan, endUse } of grid)
      if (treatments(plan).includes('hip'))
        expect(['fatigue', 'pressure', 'high-temperature', 'wear']).toContain(endUse);
    expect(
      gridOf('static')
        .concat(gridOf('prototype'))
        .some(({ plan }) => treatments(plan).includes('hip')),
    ).toBe(false);
    expect(
      gridOf('fatigue').filter(({ plan }) => treatments(plan).includes('hip')).length,
    ).toBeGreaterThan(6);
    expect(treatments(planOf({ material: 'r56400', condition: 'HIP' }))).toContain('hip');
  });

  test('only alloys that harden by it are aged', () => {
    const hardening = [
      'n07718',
      's17400',
      's15500',
      'k93120',
      'alsi10mg',
      'alsi7mg06',
      'c18150',
      't20813',
    ];
    for (const { plan, material } of grid)
      if (treatments(plan).includes('age')) expect(hardening).toContain(material);
  });

  test('stainless that hardens is dissolved again after relief, then aged', () => {
    for (const material of ['s17400', 's15500']) {
      const list = treatments(planOf({ material }));
      expect(list).toEqual(['stress-relief', 'solution-anneal', 'age']);
    }
  });

  test('HIP, homogenising and solution treatment come before any machining of features', () => {
    let seen = 0;
    for (const { plan } of grid) {
      const heavy = plan.thermal.cycles
        .filter((cycle) => ['hip', 'homogenise', 'solution-anneal'].includes(cycle.treatment))
        .map((cycle) => cycle.operation);
      seen += heavy.length;
      expect(allBefore(heavy, ofKind(plan, 'machining'))).toBe(true);
    }
    expect(seen).toBeGreaterThan(30);
  });

  test('what is fitted to H7 is finished after the age that shrinks the part', () => {
    const plan = planOf({ material: 's17400', condition: 'H1150' });
    const age = plan.thermal.cycles.find((cycle) => cycle.treatment === 'age')?.operation ?? 0;
    expect(age).toBeGreaterThan(0);
    const last = featureOf(plan, 'seat').chain.at(-1)?.operation ?? 0;
    expect(last).toBeGreaterThan(age);
  });

  test('powder closed in a cavity stops every furnace', () => {
    const plan = planOf({ geometry: { trappedPowder: 'closed-cavity' } });
    expect(plan.feasible).toBe(false);
    expect(JSON.stringify(plan.conflicts)).toMatch(/powder/);
  });

  test('every treatment says what it is for, the last one who asks for it', () => {
    for (const { plan, endUse } of grid) {
      const heat = plan.operations.filter((operation) => operation.kind === 'thermal');
      for (const operation of heat) expect(operation.reasons.length).toBeGreaterThan(0);
      if (heat.length === 0) continue;
      expect(heat.at(-1)?.reasons.map(({ text }) => text)).toContain(`for ${endUse} service`);
    }
  });
});

describe('order of the work (common practice, no source)', () => {
  test('cut-off, then supports, then machining', () => {
    for (const { plan } of grid) {
      const cut = ofKind(plan, 'cut-off');
      const supports = ofKind(plan, 'support-removal');
      expect(cut).toHaveLength(1);
      expect(allBefore(cut, supports)).toBe(true);
      expect(allBefore(supports, ofKind(plan, 'machining'))).toBe(true);
    }
  });

  test('lattice supports come off by hand, solid ones by machining, none by nothing', () => {
    const of = (latticeArea: number, solidArea: number): readonly string[] =>
      planOf({ geometry: { supports: { latticeArea, solidArea } } })
        .operations.filter((operation) => operation.kind === 'support-removal')
        .map((operation) => operation.process);
    expect(of(500, 0)).toEqual(['support-removal-hand']);
    expect(of(0, 200)).toEqual(['support-removal-machining']);
    expect(of(500, 200)).toEqual(['support-removal-hand', 'support-removal-machining']);
    expect(of(0, 0)).toEqual([]);
  });

  test('a datum is made before or with what is located from it', () => {
    const datumOf: Readonly<Record<string, readonly string[]>> = {
      side: ['foot'],
      seat: ['foot', 'side'],
      screws: ['foot', 'side', 'seat'],
    };
    for (const { plan } of grid)
      for (const [id, bases] of Object.entries(datumOf)) {
        const made = featureOf(plan, id).chain.at(-1)?.operation ?? 0;
        for (const base of bases) {
          const [firstCut] = featureOf(plan, base).chain;
          expect(firstCut?.operation ?? 0).toBeLessThanOrEqual(made);
        }
      }
  });

  test('each set-up after the first is located on datums already made', () => {
    for (const { plan } of grid) {
      const located = plan.operations.flatMap((operation) =>
        operation.kind === 'machining' && operation.locatedOn !== undefined
          ? [operation.locatedOn]
          : [],
      );
      expect(located[0]).toBe('printed faces, probed and best fitted');
      for (const text of located.slice(1)) expect(text).toMatch(/^datums? [A-C]/);
    }
  });

  test('final inspection is the last operation, once', () => {
    for (const { plan } of grid) {
      expect(plan.operations.at(-1)?.process).toBe('final-inspection');
      expect(ofKind(plan, 'inspection')).toHaveLength(1);
    }
  });

  test('passivation is the last of the wet work', () => {
    const required = ['pickling', 'electropolishing', 'passivation'];
    for (const material of ['s31603', 's17400']) {
      const { operations } = planOf({ material, policy: { required } });
      const order = operations.map((operation) => operation.process);
      expect(order.filter((process) => required.includes(process)).at(-1)).toBe('passivation');
      expect(order.at(-2)).toBe('passivation');
    }
  });

  test('threads are plugged when a coating would fill them', () => {
    const plan = planOf({ material: 'alsi10mg', policy: { required: ['hard-anodising'] } });
    const bath = plan.operations.find((operation) => operation.process === 'hard-anodising');
    expect(bath?.features).toContain('screws');
    expect(bath?.steps.map((step) => step.title)).toContain('Mask or plug');
  });
});

describe('hold points (common practice, no source)', () => {
  test('the furnace chart is accepted before the part leaves the plate', () => {
    for (const { plan, printer } of grid) {
      if (printer !== 'pbf-lb') continue;
      const before = plan.operations.find(
        (_, index) => plan.operations[index + 1]?.kind === 'cut-off',
      );
      expect(before?.kind).toBe('thermal');
      expect(before?.holdPoint).toBeDefined();
    }
  });

  test('channels are proven empty before the furnace', () => {
    const plan = planOf({ geometry: { trappedPowder: 'open-channels' } });
    expect(plan.operations[0]?.holdPoint).toMatch(/empty/);
    expect(planOf().operations[0]?.holdPoint).toBeUndefined();
  });

  test('HIP is accepted before cutting, and flaws are looked for before a coating hides them', () => {
    const plan = planOf({
      material: 'r56400',
      endUse: 'pressure',
      policy: { required: ['anodising-titanium'] },
    });
    const hold = (process: string): string | undefined =>
      plan.operations.find((operation) => operation.process === process)?.holdPoint;
    expect(hold('hip')).toMatch(/before any/);
    const coating = plan.operations.findIndex((entry) => entry.process === 'anodising-titanium');
    expect(plan.operations[coating - 1]?.holdPoint).toMatch(/hides them/);
  });
});

describe('stock and printed size (common practice, no source)', () => {
  const stock = (plan: Plan, id: string): number => featureOf(plan, id).stockPerSideMm;

  test('holes are printed smaller, faces and shafts larger than they end', () => {
    const spigot: FeatureInput = {
      id: 'spigot',
      kind: 'shaft',
      size: '30 h8',
      ra: 1.6,
      depth: 15,
      facing: 'up',
      access: ['+z'],
    };
    for (const material of ['s31603', 'r56400', 'alsi10mg', 'k93120']) {
      const plan = planOf({ material, features: [...usual, spigot] });
      expect(featureOf(plan, 'seat').printedSizeMm ?? 99).toBeLessThan(19.5);
      expect(featureOf(plan, 'spigot').printedSizeMm ?? 0).toBeGreaterThan(30.5);
      expect(featureOf(plan, 'foot').printedSizeMm ?? 0).toBeGreaterThan(40.5);
    }
  });

  test('holes too small to keep open under a drill are printed solid', () => {
    const hole = (id: string, size: string): FeatureInput => ({
      id,
      kind: 'bore',
      size,
      ra: 6.3,
      depth: 10,
      facing: 'up',
      access: ['+z'],
    });
    const plan = planOf({
      features: [...usual, hole('small', '6 +0.1/0'), hole('large', '16 +0.1/0')],
    });
    expect(featureOf(plan, 'small')).toMatchObject({ printedSolid: true, printedSizeMm: null });
    expect(featureOf(plan, 'large').printedSolid).toBe(false);
    expect(featureOf(plan, 'screws').printedSolid).toBe(true);
  });

  test('a longer part gets more stock, because it bends more', () => {
    const long = planOf({ geometry: { box: [240, 50, 40] } });
    for (const id of ['foot', 'side', 'seat'])
      expect(stock(long, id)).toBeGreaterThan(stock(planOf(), id) + 0.05);
  });

  test('a part cut off before relief gets more stock', () => {
    const early = planOf({ policy: { cutOffBeforeRelief: true } });
    expect(stock(early, 'side')).toBeGreaterThan(stock(planOf(), 'side') + 0.1);
    expect(early.findings.map((finding) => finding.id)).toContain('cut-before-relief');
    const cut = ofKind(early, 'cut-off');
    expect(allBefore(cut, ofKind(early, 'thermal'))).toBe(true);
  });

  test('a face that carried supports gets more stock than one that did not', () => {
    const top: FeatureInput = {
      id: 'ledge',
      kind: 'plane',
      ra: 3.2,
      length: 30,
      width: 20,
      facing: 'down',
      angle: 30,
      access: ['-z'],
    };
    const bare = planOf({ features: [...usual, top] });
    const supported = planOf({ features: [...usual, { ...top, supported: true }] });
    expect(stock(supported, 'ledge')).toBeGreaterThanOrEqual(stock(bare, 'ledge'));
    const wall = planOf({ features: [...usual, { ...top, facing: 'side', angle: 90 }] });
    expect(stock(supported, 'ledge')).toBeGreaterThan(stock(wall, 'ledge'));
  });

  test('a saw takes more off the plate side than a wire', () => {
    const saw = planOf({ policy: { forbidden: ['cut-off-wire-edm'] } });
    const wire = planOf({ policy: { forbidden: ['cut-off-band-saw'] } });
    expect(ofProcess(saw, 'cut-off-band-saw')).toHaveLength(1);
    expect(ofProcess(wire, 'cut-off-wire-edm')).toHaveLength(1);
    expect(saw.stock.heightOffPlateMm).toBeGreaterThan(wire.stock.heightOffPlateMm + 1);
    expect(stock(saw, 'foot')).toBeGreaterThan(stock(wire, 'foot'));
  });

  test('the sum of what stands between plate and finished foot is the height off the plate', () => {
    for (const { plan } of grid) {
      const { heightOffPlateMm, heightOffPlateParts } = plan.stock;
      const sum = heightOffPlateParts.reduce((total, part) => total + part.mm, 0);
      expect(heightOffPlateMm).toBeGreaterThanOrEqual(sum - 1e-6);
      expect(heightOffPlateMm).toBeLessThan(sum + 0.0501);
    }
  });
});

describe('which process for which feature (common practice, no source)', () => {
  const bore = (size: string, ra: number, more: Partial<FeatureInput> = {}): FeatureInput => ({
    id: 'hole',
    kind: 'bore',
    size,
    ra,
    depth: 16,
    facing: 'up',
    access: ['+z'],
    ...more,
  });
  const holeOf = (feature: FeatureInput, change: Change = {}): readonly string[] =>
    processesOf(planOf({ ...change, features: [...usual, feature] }), 'hole');

  test('an open hole is drilled, a fitted one reamed or bored, a fine one ground, honed or lapped', () => {
    expect(holeOf(bore('8 +0.2/0', 6.3))).toEqual(['drilling']);
    expect(['reaming', 'boring']).toContain(holeOf(bore('8 H7', 1.6)).at(-1));
    const fine = holeOf(bore('20 H5', 0.2));
    expect(['honing', 'jig-grinding', 'cylindrical-grinding', 'lapping']).toContain(fine.at(-1));
    expect(holeOf(bore('20 H7', 1.6))).not.toContain('honing');
  });

  test('reaming follows the hole, so something before it puts the hole in its place', () => {
    for (const size of ['6 H7', '10 H7', '16 H8']) {
      const chain = holeOf(bore(size, 1.6, { tolerances: ['position ⌀0.1 A B C'] }));
      if (!chain.includes('reaming')) continue;
      expect(chain.indexOf('reaming')).toBeGreaterThan(0);
      expect(['drilling', 'boring', 'rough-milling']).toContain(chain[0]);
    }
    expect(holeOf(bore('6 H7', 1.6)).at(-1)).toBe('reaming');
  });

  test('a closely located hole is bored, because a drill wanders', () => {
    const close = bore('8 H7', 1.6, { tolerances: ['position ⌀0.04 C'] });
    expect(holeOf(close)).toContain('boring');
    expect(holeOf(bore('8 H7', 1.6, { tolerances: ['position ⌀0.3 C'] }))).not.toContain('boring');
  });

  test('threads are never left as printed; titanium is milled rather than tapped', () => {
    for (const { plan, family } of grid) {
      const chain = processesOf(plan, 'screws');
      expect(['tapping', 'thread-milling']).toContain(chain.at(-1));
      expect(chain.length).toBeGreaterThan(1);
      if (family === 'titanium') expect(chain.at(-1)).toBe('thread-milling');
      if (family === 'aluminium') expect(chain.at(-1)).toBe('tapping');
    }
  });

  test('the foot is machined after the saw, in two cuts', () => {
    for (const { plan } of grid) {
      const chain = processesOf(plan, 'foot');
      expect(chain.length).toBeGreaterThan(0);
      const [first] = featureOf(plan, 'foot').chain;
      expect(first?.operation ?? 0).toBeGreaterThan(Math.max(...ofKind(plan, 'cut-off')));
    }
  });

  test('what printing meets stays as printed', () => {
    for (const { plan } of grid) expect(processesOf(plan, 'outside')).toEqual([]);
  });

  test('media do not go into a channel', () => {
    const channel: FeatureInput = {
      id: 'gallery',
      kind: 'channel',
      size: '8 ±0.5',
      length: 60,
      ra: 8,
    };
    const plan = planOf({
      features: [...usual, channel],
      geometry: { trappedPowder: 'open-channels' },
      policy: { required: ['vibratory-finishing'] },
    });
    const smoothed = plan.operations.filter((operation) =>
      operation.reasons.some((reason) => reason.requirement?.feature === 'gallery'),
    );
    expect(smoothed.length).toBeGreaterThan(0);
    for (const { process } of smoothed)
      expect(['chemical-polishing', 'electropolishing', 'abrasive-flow']).toContain(process);
  });
});

describe('what is said besides (common practice, no source)', () => {
  test('local rules come first among the general cautions, a regulated part before them', () => {
    const plan = planOf({ regulated: true });
    expect(plan.cautions[0]?.id).toBe('regulated');
    expect(plan.cautions[1]?.id).toBe('local-rules');
  });

  test('titanium and aluminium warn of fire, nickel and cobalt of dust', () => {
    for (const { plan, family } of grid) {
      const ids = plan.cautions.map((caution) => caution.id);
      expect(ids.includes('reactive-fines')).toBe(['titanium', 'aluminium'].includes(family));
      expect(ids.includes('nickel-cobalt-dust')).toBe(['nickel', 'cobalt'].includes(family));
    }
  });

  test('a part of a larger lot costs less, because set-ups are shared', () => {
    const one = planOf({ quantity: 1 }).cost.perPart;
    const ten = planOf({ quantity: 10 }).cost.perPart;
    const hundred = planOf({ quantity: 100 }).cost.perPart;
    expect(one).toBeGreaterThan(2 * ten);
    expect(ten).toBeGreaterThan(hundred);
  });

  test('every operation says why it is there', () => {
    for (const { plan } of grid)
      for (const operation of plan.operations) expect(operation.reasons.length).toBeGreaterThan(0);
  });
});
