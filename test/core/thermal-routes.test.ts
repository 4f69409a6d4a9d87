import {
  type Catalog,
  defaultCatalog,
  type JobInput,
  jobVocabulary,
  mergeShop,
  type Plan,
  planJob,
  readJob,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { expectGolden } from '../golden.js';

const catalog = defaultCatalog();

type Changes = {
  readonly part: Partial<JobInput['part']> & Pick<JobInput['part'], 'material' | 'endUse'>;
  readonly features: JobInput['features'];
  readonly geometry?: Partial<JobInput['geometry']>;
  readonly policy?: JobInput['policy'];
};

/** Plans an invented block of 120 x 90 x 40 mm with what a test changes in it. */
function plan(changes: Changes, tables: Catalog = catalog): Plan {
  const input: JobInput = {
    schemaVersion: 'job/1',
    part: { name: 'Block', number: 'TB-1', revision: 'A', printer: 'pbf-lb', ...changes.part },
    geometry: {
      volume: 60_000,
      surfaceArea: 30_000,
      box: [120, 90, 40],
      plateSection: 5000,
      thickestSection: 20,
      thinnestWall: 5,
      trappedPowder: 'none',
      supports: { latticeArea: 0, solidArea: 0 },
      ...changes.geometry,
    },
    order: { quantity: 8, currency: 'EUR', partsPerPlate: 4 },
    generalTolerance: 'ISO 2768-mK',
    features: changes.features,
    ...(changes.policy === undefined ? {} : { policy: changes.policy }),
  };
  const { job, problems } = readJob({ json: JSON.stringify(input) }, jobVocabulary(tables));
  if (job === undefined) throw new Error(JSON.stringify(problems));
  return planJob(job, tables);
}

const bore = (size: string): Exclude<JobInput['features'], string>[number] => ({
  id: 'B1',
  kind: 'bore',
  size,
  ra: 0.8,
  depth: 30,
  facing: 'up',
  access: ['+z'],
});

/** Operations as lines: number, title, feature and process of each step. */
function routeText(name: string, { operations, features, thermal }: Plan): string {
  const lines = operations.map((operation) => {
    const steps = operation.steps.map((step) => `${step.feature} ${step.process}`).join(', ');
    return `${operation.seq} ${operation.title}${steps === '' ? '' : `: ${steps}`}`;
  });
  const printed = features.map(
    (feature) =>
      `${feature.id} printed ${feature.printedSizeMm}, stock ${feature.stockPerSideMm.toFixed(2)}`,
  );
  return [`${name} (${thermal.route})`, ...lines, ...printed, ''].join('\n');
}

const seqOf = (made: Plan, process: string): number =>
  made.operations.find(
    (operation) =>
      operation.process === process || operation.steps.some((step) => step.process === process),
  )?.seq ?? Number.NaN;

/** The last operation that cuts the part. */
const lastCut = (made: Plan): number =>
  Math.max(...made.operations.filter((each) => each.kind === 'machining').map((each) => each.seq));

describe('the thermal plan changes the machining route', () => {
  test('growth in the age moves finish boring of a close bore behind it (S17400, H1025)', () => {
    const part = { material: 's17400', endUse: 'static', condition: 'H1025' } as const;
    const wide = plan({ part, features: [bore('30 H9')] });
    const close = plan({ part, features: [bore('30 H6')] });
    expect(lastCut(wide)).toBeLessThan(seqOf(wide, 'age'));
    expect(lastCut(close)).toBeGreaterThan(seqOf(close, 'age'));
    expectGolden(
      'thermal/ageing-growth.txt',
      routeText('30 H9, before the age', wide) + routeText('30 H6, after the age', close),
    );
  });

  test('growth in solution treatment: a face that stress relief leaves as printed has to be milled after T6 (AlSi10Mg)', () => {
    const face: Exclude<JobInput['features'], string>[number] = {
      id: 'P1',
      kind: 'plane',
      size: '120 ±0.4',
      length: 90,
      width: 40,
      facing: 'side',
      access: ['+x'],
    };
    const part = { material: 'alsi10mg', endUse: 'static' } as const;
    const relieved = plan({ part: { ...part, condition: 'SR' }, features: [face] });
    const hardened = plan({ part: { ...part, condition: 'T6' }, features: [face] });
    expect(relieved.features[0]?.chain).toEqual([]);
    expect(hardened.features[0]?.chain.map((step) => step.process)).toEqual(['rough-milling']);
    expect(seqOf(hardened, 'rough-milling')).toBeGreaterThan(seqOf(hardened, 'age'));
    expectGolden(
      'thermal/solution-growth.txt',
      routeText('SR, as printed', relieved) + routeText('T6, milled', hardened),
    );
  });

  test('an age that the drawing names splits machining of N07718: wide sizes soft, close ones hard', () => {
    const top = (size: string): Exclude<JobInput['features'], string>[number] => ({
      id: 'P1',
      kind: 'plane',
      size,
      ra: 3.2,
      length: 120,
      width: 90,
      facing: 'up',
      access: ['+z'],
    });
    const part = { material: 'n07718', endUse: 'static' } as const;
    const relieved = plan({
      part: { ...part, condition: 'SR' },
      features: [top('40 ±0.1'), bore('40 H10')],
    });
    const aged = plan({
      part: { ...part, condition: 'solution + aged' },
      features: [top('40 ±0.1'), bore('40 H10')],
    });
    const close = plan({
      part: { ...part, condition: 'solution + aged' },
      features: [top('40 ±0.015'), bore('40 H6')],
    });
    expect(relieved.thermal.cycles.map((cycle) => cycle.treatment)).toEqual(['stress-relief']);
    expect(lastCut(aged)).toBeLessThan(seqOf(aged, 'age'));
    expect(lastCut(close)).toBeGreaterThan(seqOf(close, 'age'));
    expectGolden(
      'thermal/age-splits-machining.txt',
      routeText('SR', relieved) +
        routeText('solution + aged, wide', aged) +
        routeText('solution + aged, close', close),
    );
  });
});

describe('bending in heat', () => {
  const part = { material: 's17400', endUse: 'static', condition: 'H1025' } as const;
  const top = (tolerance: string): Exclude<JobInput['features'], string>[number] => ({
    id: 'P1',
    kind: 'plane',
    size: '40 ±0.2',
    length: 120,
    width: 90,
    facing: 'up',
    access: ['+z'],
    tolerances: [tolerance],
  });

  test('flatness and parallelism that the age would bend by more than half are finished after it, and why', () => {
    const foot: Exclude<JobInput['features'], string>[number] = {
      ...top('flatness 0.06'),
      id: 'P0',
      facing: 'down',
      access: ['-z'],
      datum: 'A',
    };
    const wide = plan({ part, features: [top('flatness 0.06')] });
    const close = plan({ part, features: [top('flatness 0.04')] });
    const parallel = plan({ part, features: [foot, top('parallelism 0.045 A')] });
    expect(lastCut(wide)).toBeLessThan(seqOf(wide, 'age'));
    for (const made of [close, parallel]) {
      expect(made.feasible).toBe(true);
      expect(lastCut(made)).toBeGreaterThan(seqOf(made, 'age'));
    }
    const reasons = (made: Plan): readonly string[] =>
      made.operations.flatMap((operation) => operation.reasons.map((reason) => reason.text));
    expect(reasons(close)).toContain(
      'P1: flatness 0.04 is made after the age, which bends the part by up to 0.024 mm',
    );
    expect(reasons(parallel)).toContain(
      'P1: parallelism 0.045 A is made after the age, which bends the part by up to 0.024 mm',
    );
    expect(reasons(wide).some((text) => text.includes('after the age'))).toBe(false);
    expectGolden(
      'thermal/bending-in-the-age.txt',
      routeText('flatness 0.06, before the age', wide) +
        routeText('flatness 0.04, after the age', close),
    );
  });

  test('HIP off the plate bends printed faces: more stock on them, and the figure is an assumption', () => {
    const relieved = plan({
      part: { material: 'r56400', endUse: 'pressure', condition: 'SR' },
      features: [top('flatness 0.06')],
    });
    const pressed = plan({
      part: { material: 'r56400', endUse: 'pressure', condition: 'HIP' },
      features: [top('flatness 0.06')],
    });
    const stock = (made: Plan): number => made.features[0]?.stockPerSideMm ?? Number.NaN;
    expect(pressed.features[0]?.chain.map((step) => step.process)).toEqual(
      relieved.features[0]?.chain.map((step) => step.process),
    );
    expect(stock(pressed)).toBeGreaterThan(stock(relieved) + 0.04);
    const assumed = pressed.assumptions.find((each) => each.what.includes('by HIP (0.1 to 0.3'));
    expect(assumed).toMatchObject({ value: '0.2 mm per 100 mm', confidence: 'practice' });
  });
});

describe('what is unsafe or forbidden stops with its reason', () => {
  const pressure = { material: 'r56400', endUse: 'pressure' } as const;

  test('powder in a closed cavity, HIP asked: no route, and what would help', () => {
    const stopped = plan({
      part: { ...pressure, condition: 'HIP' },
      geometry: { trappedPowder: 'closed-cavity' },
      features: [bore('30 H7')],
    });
    expect(stopped.feasible).toBe(false);
    expect(stopped.operations).toEqual([]);
    const conflict = stopped.conflicts.find((each) => each.best.includes('relief-hip:'));
    expect(conflict?.best).toContain('powder trapped in a closed cavity would become solid in HIP');
    expect(conflict?.help).toContain('open an escape hole for the powder');
  });

  test('titanium on a steel plate in the HIP load: stopped; on a titanium plate: one HIP stands for both', () => {
    const policy = { required: ['hip-on-plate'] };
    const stopped = plan({
      part: pressure,
      geometry: { plateMaterial: 's31603' },
      policy,
      features: [bore('30 H7')],
    });
    expect(stopped.feasible).toBe(false);
    const conflict = stopped.conflicts.find((each) => each.best.includes('hip-on-plate'));
    expect(conflict?.best).toContain(
      'titanium and steel bond under pressure at 920 °C and melt together from about 1085 °C',
    );
    expect(conflict?.help).toContain("print on a plate of the part's own metal");
    const merged = plan({
      part: pressure,
      geometry: { plateMaterial: 'r56400' },
      policy,
      features: [bore('30 H7')],
    });
    expect(merged.feasible).toBe(true);
    expect(merged.thermal.cycles.map((cycle) => [cycle.treatment, cycle.onPlate])).toEqual([
      ['hip', true],
    ]);
    expect(merged.thermal.cutOff?.hipAsRelief).toMatchObject({ allowed: true, taken: true });
  });

  test('channels not proven empty: HIP on the plate is refused, the usual route asks for the proof', () => {
    const made = plan({
      part: { ...pressure, condition: 'HIP' },
      geometry: { trappedPowder: 'open-channels' },
      features: [bore('30 H7')],
    });
    expect(made.thermal.route).toBe('relief-hip');
    expect(made.thermal.rejected.find((each) => each.route === 'hip-on-plate')?.reason).toContain(
      'powder that is still in the part becomes solid under pressure',
    );
    expect(made.thermal.cutOff?.hipAsRelief?.allowed).toBe(false);
  });

  test('a copper plate melts under a nickel part', () => {
    const stopped = plan({
      part: { material: 'n07718', endUse: 'static', condition: 'SR' },
      geometry: { plateMaterial: 'c10100' },
      features: [bore('30 H7')],
    });
    expect(stopped.feasible).toBe(false);
    expect(stopped.thermal.rejected.find((each) => each.route === 'relief')?.reason).toContain(
      'the plate starts to melt at 1083 °C',
    );
  });

  /** A shop's own route, which the planner must not follow. */
  const withRoute = (steps: string, onPlate: number): Catalog => {
    const { catalog: shop, problems } = mergeShop(catalog, [
      {
        table: 'thermal-routes',
        file: 'thermal-routes.csv',
        cells: [
          [
            ...['id', 'applies_to', 'printers', 'end_uses', 'preference', 'steps'],
            ...['on_plate_steps', 'serves_condition', 'reason'],
          ],
          [
            ...['own', 's17400', 'pbf-lb', 'static', '1', steps],
            ...[String(onPlate), 'H1025', 'trial'],
          ],
        ],
      },
    ]);
    expect(problems).toEqual([]);
    return shop;
  };
  const reasonFor = (shop: Catalog): string | undefined =>
    plan(
      {
        part: { material: 's17400', endUse: 'static', condition: 'H1025' },
        features: [bore('30 H7')],
      },
      shop,
    ).thermal.rejected.find((each) => each.route === 'own')?.reason;

  test('a quench on the plate is refused', () => {
    expect(reasonFor(withRoute('solution-anneal|age:H1025', 1))).toBe(
      'solution-anneal cannot be done on the plate (cooling: air, gas or oil to below 32 °C)',
    );
  });

  test('relief that over-ages without a solution treatment after it is refused', () => {
    expect(reasonFor(withRoute('stress-relief|age:H1025', 1))).toBe(
      'stress-relief at 650 °C over-ages the metal before its age at 552 °C: a solution treatment has to come between',
    );
  });
});

describe('what is to be confirmed or seen to', () => {
  test('schedules from memory or practice are named; read ones are not', () => {
    const made = plan({
      part: { material: 's17400', endUse: 'static', condition: 'H1025' },
      features: [bore('30 H7')],
    });
    const about = made.findings
      .filter((each) => each.id === 'schedule-unconfirmed')
      .map((each) => each.about);
    expect(about).toEqual(['s17400-solution-anneal-1', 's17400-stress-relief-1']);
    const relief = made.findings.find((each) => each.about === 's17400-stress-relief-1');
    expect(relief?.message).toContain('set point 650 °C (common practice)');
    expect(made.thermal.cycles[0]?.toConfirm?.map((each) => each.what)).toContain('soak');
  });

  test('loaded titanium with printed faces: alpha case has to come off, unless the job pickles', () => {
    const skin: Exclude<JobInput['features'], string>[number] = {
      id: 'F1',
      kind: 'freeform',
      ra: 12.5,
      area: 4000,
      facing: 'side',
    };
    const job = {
      part: { material: 'r56400', endUse: 'fatigue', condition: 'HIP' },
      features: [bore('30 H7'), skin],
    } as const;
    const bare = plan(job);
    expect(bare.thermal.cycles[0]?.skin).toMatchObject({ depthUm: 10 });
    expect(bare.findings.find((each) => each.id === 'alpha-case')?.message).toContain('F1');
    const pickled = plan({ ...job, policy: { required: ['pickling'] } });
    expect(pickled.findings.some((each) => each.id === 'alpha-case')).toBe(false);
  });
});

describe('cut-off', () => {
  const flat = (policy?: JobInput['policy']): Plan =>
    plan({
      part: { material: 'r56400', endUse: 'static', condition: 'SR' },
      geometry: { box: [220, 40, 24], plateSection: 8000, thickestSection: 24 },
      features: [
        {
          id: 'P1',
          kind: 'plane',
          size: '24 ±0.05',
          ra: 3.2,
          length: 220,
          width: 40,
          facing: 'up',
          access: ['+z'],
        },
      ],
      ...(policy === undefined ? {} : { policy }),
    });

  test('a long flat part: the beam model rules its form error, and both figures are named', () => {
    const made = flat();
    const { cutOff } = made.thermal;
    expect(cutOff?.known).toBe(true);
    expect(cutOff?.unrelieved?.typicalMm).toBeCloseTo(
      (((2 * 550) / (114_000 * 24)) * 220 ** 2) / 8,
      5,
    );
    expect(cutOff?.asPlanned?.typicalMm).toBeCloseTo(0.3 * (cutOff?.unrelieved?.typicalMm ?? 0), 5);
    const assumed = made.assumptions.find((each) => each.what.startsWith('form error of faces'));
    expect(assumed?.value).toContain('0.44 mm (practice rate over 220 mm)');
    expect(assumed?.value).toContain('beam model');
    expect(assumed?.confidence).toBe('memory');
    expect(made.features[0]?.stockPerSideMm).toBeGreaterThan(cutOff?.asPlanned?.typicalMm ?? 0);
  });

  test('cut off before relief: more curl, more stock, and a caution with the figures', () => {
    const relieved = flat();
    const early = flat({ cutOffBeforeRelief: true });
    expect(early.features[0]?.stockPerSideMm ?? 0).toBeGreaterThan(
      relieved.features[0]?.stockPerSideMm ?? 0,
    );
    expect(early.thermal.cutOff?.asPlanned).toEqual(early.thermal.cutOff?.unrelieved);
    const caution = early.findings.find((each) => each.id === 'cut-before-relief');
    expect(caution?.severity).toBe('caution');
    expect(caution?.message).toMatch(/curl \d\.\d\d to \d\.\d\d mm against \d\.\d\d mm of stock/);
  });

  test('an electron-beam build counts as relieved: no figure, and why', () => {
    const made = plan({
      part: { material: 'r56400', endUse: 'static', printer: 'pbf-eb' },
      features: [bore('30 H7')],
    });
    expect(made.thermal.cutOff).toMatchObject({
      known: false,
      note: expect.stringContaining('counts as relieved'),
    });
  });

  test('a plate of another metal that puts stress back is said', () => {
    const made = plan({
      part: { material: 's31603', endUse: 'static', condition: 'SR' },
      geometry: { plateMaterial: 't20813' },
      features: [bore('30 H7')],
    });
    const finding = made.findings.find((each) => each.id === 'plate-mismatch');
    expect(finding?.message).toContain('cooling from 900 °C');
    expect(finding?.message).toContain('tension');
  });
});

test('every cycle of a plan names its curve, furnace, sensors, checks and what it does to size', () => {
  const made = plan({
    part: { material: 's17400', endUse: 'fatigue', condition: 'H1025' },
    features: [bore('30 H7')],
  });
  expect(made.thermal.cycles.map((cycle) => cycle.treatment)).toEqual([
    'stress-relief',
    'hip',
    'solution-anneal',
    'age',
  ]);
  for (const cycle of made.thermal.cycles) {
    expect(cycle.curve.length).toBeGreaterThanOrEqual(4);
    expect(cycle.holds?.some((hold) => hold.what === 'soak')).toBe(true);
    expect(cycle.sensors?.length).toBe(2);
    expect(cycle.checks?.length).toBeGreaterThan(0);
    expect(cycle.sizeChange?.source).toMatch(/\S/);
    expect(cycle.loads?.count).toBeGreaterThanOrEqual(1);
  }
  expect(made.thermal.cycles.map((cycle) => cycle.confidence)).toEqual([
    'practice',
    'practice',
    'practice',
    'read',
  ]);
  const age = made.thermal.cycles[3];
  expect(age?.sizeChange?.meanPerMm).toBe(-0.000701);
  expect(age?.checks?.some((each) => each.check === 'hardness 35 to 42 HRC')).toBe(true);
  expect(made.thermal.cycles[2]?.releaseC).toBe(32);
});
