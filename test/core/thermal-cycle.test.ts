import {
  checksAfterTreatment,
  defaultCatalog,
  fitsVessel,
  furnaceClass,
  type Geometry,
  heatCurve,
  type JobInput,
  jobVocabulary,
  loadSensors,
  looseCapacity,
  materialById,
  plateCapacity,
  readCooling,
  readJob,
  treatmentById,
  workCentreById,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { planningContext } from '../../packages/core/src/job/planning-context.js';
import { planCycle } from '../../packages/core/src/thermal/cycle.js';
import type { CycleLoad } from '../../packages/core/src/thermal/cycle-types.js';
import type { ThermalStep } from '../../packages/core/src/thermal/routes.js';
import { exampleJob } from './job-example.js';

const catalog = defaultCatalog();

/** A context for an alloy and a section; the features do not matter. */
function contextFor(material: string, sectionMm: number, geometry: Partial<Geometry> = {}) {
  const input: JobInput = exampleJob();
  const { job, problems } = readJob({ json: JSON.stringify(input) }, jobVocabulary(catalog));
  if (job === undefined) throw new Error(problems.map((each) => each.message).join());
  return planningContext(
    {
      ...job,
      part: { ...job.part, material },
      geometry: { ...job.geometry, thickestSectionMm: sectionMm, ...geometry },
    },
    catalog,
    1,
  );
}

const stepOf = (schedule: string, onPlate: boolean): ThermalStep => {
  const row = treatmentById(catalog, schedule);
  return { treatment: row.treatment, schedule: row, onPlate };
};

const loadOf = (material: string, partsKg: number, platesKg = 0): CycleLoad => ({
  partsKg,
  platesKg,
  plate: materialById(catalog, material),
});

const cycleOf = (
  schedule: string,
  options: {
    onPlate?: boolean;
    sectionMm?: number;
    kg?: number;
    centre?: string;
  } = {},
) => {
  const { onPlate = false, sectionMm = 12, kg = 5, centre = 'furnace-vacuum' } = options;
  const material = treatmentById(catalog, schedule).material;
  const context = contextFor(material, sectionMm);
  return {
    context,
    cycle: planCycle(
      stepOf(schedule, onPlate),
      workCentreById(catalog, centre),
      loadOf(material, kg, onPlate ? 12 : 0),
      context,
    ),
  };
};

describe('ramp', () => {
  test('small and light: the usual rate', () => {
    expect(cycleOf('r56400-stress-relief-1').cycle).toMatchObject({
      rampCPerMin: 7,
      rampLimit: 'usual rate',
    });
  });

  test('120 mm of titanium: limited by the difference inside the section, which stays at 30 C', () => {
    const { cycle } = cycleOf('r56400-stress-relief-1', { sectionMm: 120 });
    expect(cycle.rampLimit).toBe('section');
    const diffusivity = (1e6 * 6.9) / (4430 * 560);
    const difference = ((cycle.rampCPerMin / 60) * 120 ** 2) / (8 * diffusivity);
    expect(difference).toBeLessThanOrEqual(30);
    expect(difference).toBeGreaterThan(30 * 0.9);
  });

  test('200 kg of steel in the 60 kW furnace: limited by power; heat balance closes', () => {
    const { cycle } = cycleOf('s31603-stress-relief-1', { kg: 600 });
    expect(cycle.rampLimit).toBe('furnace power');
    const neededKw = (600 * 1.25 * 450 * (cycle.rampCPerMin / 60)) / 1000;
    expect(neededKw).toBeLessThanOrEqual(60 * 0.5);
    expect(neededKw).toBeGreaterThan(60 * 0.5 * 0.95);
  });

  test('tool steel is heated with care', () => {
    expect(cycleOf('t20813-stress-relief-1').cycle).toMatchObject({
      rampCPerMin: 4,
      rampLimit: 'thick plate or tool steel',
    });
  });

  test('Al-Si-Mg on the plate: 2 C/min through 200 to 300 C', () => {
    const { cycle } = cycleOf('alsi10mg-stress-relief-1', { onPlate: true });
    const [, at200, at285] = cycle.curve;
    expect(at200?.[1]).toBe(200);
    expect(at285?.[1]).toBe(285);
    expect((at285?.[0] ?? 0) - (at200?.[0] ?? 0)).toBeCloseTo(85 / 2, -1);
  });
});

describe('holds', () => {
  test('steel of some section is evened at 650 C, thin steel and titanium are not', () => {
    expect(cycleOf('s31603-stress-relief-1', { sectionMm: 30 }).cycle.holds[0]).toEqual({
      what: 'equalise',
      temperatureC: 650,
      minutes: 30,
    });
    expect(cycleOf('s31603-stress-relief-1').cycle.holds[0]?.what).toBe('soak');
    expect(cycleOf('r56400-stress-relief-1', { sectionMm: 60 }).cycle.holds[0]?.what).toBe('soak');
  });

  test('section rule: 30 min per 25 mm above 50 for relief, 60 above 25 for solution', () => {
    expect(cycleOf('r56400-stress-relief-1', { sectionMm: 100 }).cycle.soakMinutes).toBe(180);
    expect(cycleOf('s31603-solution-anneal-1', { sectionMm: 50 }).cycle.soakMinutes).toBe(90);
  });

  test('a soak beyond the window of the schedule is said', () => {
    const { context } = cycleOf('s31603-solution-anneal-1', { sectionMm: 75 });
    expect(context.findings().map((each) => each.id)).toContain('soak-over-window');
  });

  test('C07: N07718 double age: 8 h at 718 C, furnace cool at 38 C/h, 18 h in all (producer data sheet, read)', () => {
    const { cycle } = cycleOf('n07718-age-1');
    const [first, second] = cycle.holds;
    expect(first).toEqual({ what: 'soak', temperatureC: 718, minutes: 480 });
    expect(second?.temperatureC).toBe(621);
    const fall = (718 - 621) / (38 / 60);
    expect(480 + fall + (second?.minutes ?? 0)).toBeCloseTo(18 * 60, 6);
  });

  test('double temper of H13: down to handling temperature between the two', () => {
    const { cycle } = cycleOf('t20813-age-1');
    expect(cycle.holds.map((hold) => hold.minutes)).toEqual([120, 120]);
    const between = cycle.curve.filter(([, celsius]) => celsius === 80);
    expect(between).toHaveLength(2);
  });

  test('the curve runs through every hold and ends at the release temperature', () => {
    for (const row of catalog.treatments.filter(
      (each) => each.treatment !== 'quench' && each.soakMinMin !== undefined,
    )) {
      const { cycle } = cycleOf(row.id, { sectionMm: 30 });
      const last = cycle.curve[cycle.curve.length - 1];
      expect(last?.[1], row.id).toBe(cycle.releaseC);
      expect(Math.abs((last?.[0] ?? 0) - cycle.totalMinutes), row.id).toBeLessThanOrEqual(1);
      expect(Math.max(...cycle.curve.map(([, celsius]) => celsius)), row.id).toBe(
        Math.max(row.temperatureC, row.step2TemperatureC ?? 0),
      );
      const times = cycle.curve.map(([minutes]) => minutes);
      expect(times, row.id).toEqual([...times].sort((a, b) => a - b));
      const hold = cycle.holds.find((each) => each.what === 'soak');
      expect(hold?.minutes, row.id).toBeGreaterThanOrEqual(row.soakMinMin ?? 0);
    }
  });
});

describe('cooling as the schedule writes it', () => {
  test.each([
    ['furnace or argon cool, inert to below 425 °C', { manner: 'gas', inertBelowC: 425 }],
    ['air, gas or oil to below 32 °C', { manner: 'air', finishBelowC: 32 }],
    [
      'oil or gas >= 14 °C/min from 980 to 650 °C (25 F/min)',
      { manner: 'quench', rateCPerMin: 14 },
    ],
    ['furnace cool at 38-56 °C/h', { manner: 'furnace', rateCPerMin: 38 / 60 }],
    ['rapid: gas fan, oil or water to below 425 °C', { manner: 'fan' }],
    ['water quench, delay <= 15 s (practice)', { manner: 'quench' }],
    ['', { manner: 'gas' }],
  ] as const)('%s', (text, cooling) => {
    expect(readCooling(text)).toEqual(cooling);
  });

  test('PH steel goes below 32 C before it is aged; titanium stays under gas', () => {
    expect(cycleOf('s17400-solution-anneal-1').cycle.releaseC).toBe(32);
    expect(cycleOf('r56400-stress-relief-1').cycle).toMatchObject({
      inertBelowC: 425,
      releaseC: 80,
    });
    expect(cycleOf('r56400-anneal-2').cycle.inertBelowC).toBe(200);
  });
});

describe('energy and gas', () => {
  test('heat in the load over the efficiency, plus the power of the holds', () => {
    const { cycle } = cycleOf('s31603-stress-relief-1', { kg: 100 });
    const heat = (100 * 1.25 * 450 * 880) / 3.6e6 / 0.5;
    expect(cycle.energyKwh).toBeCloseTo(heat + 60 * 0.25 * 1, 6);
  });
  test('argon: five fillings of the chamber and the flow until 425 C', () => {
    const { cycle } = cycleOf('r56400-stress-relief-1');
    const hot = 375 / 7 + 120 + 375 / 4;
    expect(cycle.argonM3).toBeCloseTo(5 * 0.45 ** 3 + 0.5 * (hot / 60), 6);
  });
  test('no mass, no energy figure', () => {
    const context = contextFor('s31603', 12);
    const cycle = planCycle(
      stepOf('s31603-stress-relief-1', false),
      workCentreById(catalog, 'furnace-vacuum'),
      { partsKg: undefined, platesKg: 0, plate: materialById(catalog, 's31603') },
      context,
    );
    expect(cycle.energyKwh).toBeUndefined();
    expect(cycle.rampLimit).toBe('usual rate');
  });
});

describe('loads', () => {
  const limits = { roomMm: [450, 450, 450], limitKg: 250 } as const;
  test('by volume, by floor, by mass', () => {
    expect(looseCapacity(limits, [100, 80, 60], 0.4, 0, 0.5)).toEqual({
      count: 94,
      limitedBy: 'volume',
      byVolume: 94,
      byMass: 625,
    });
    expect(looseCapacity(limits, [100, 80, 60], 10, 0, 0.5)).toMatchObject({
      count: 25,
      limitedBy: 'mass',
    });
    expect(plateCapacity({ roomMm: [600, 600, 500], limitKg: 60 }, 250, 20)).toEqual({
      count: 3,
      limitedBy: 'mass',
      byFloor: 4,
      byMass: 3,
    });
    expect(looseCapacity({ roomMm: undefined, limitKg: undefined }, [1, 1, 1], 1, 0, 1)).toBe(
      undefined,
    );
  });
  test('a HIP vessel keeps 25 mm clear all round', () => {
    expect(fitsVessel([450, 450, 1200], [400, 400, 1150], 25)).toBe(true);
    expect(fitsVessel([450, 450, 1200], [401, 400, 100], 25)).toBe(true);
    expect(fitsVessel([450, 450, 450], [401, 400, 100], 25)).toBe(false);
  });
});

describe('furnace practice', () => {
  test.each([
    [6, '2'],
    [8, '3'],
    [10, '4'],
    [14, '5'],
    [15, '5'],
    [28, '6'],
    [3, '1'],
  ])(
    'C18: +-%d C asks for class %s (AMS 2750F classes, read in a furnace article)',
    (tolerance, name) => {
      expect(furnaceClass(catalog, tolerance)?.class).toBe(name);
    },
  );
  test('tighter than +-3 C: no class', () => {
    expect(furnaceClass(catalog, 2)).toBeUndefined();
  });
  test('sensors: thickest and thinnest section; high and low in a vessel; survey 5 or 9 by volume (from memory)', () => {
    expect(loadSensors('stress-relief', true, [450, 450, 450]).places).toEqual([
      'in the plate under the thickest part',
      'on the thinnest section of a part',
    ]);
    expect(loadSensors('age', false, [400, 400, 400]).survey).toBe(5);
    expect(loadSensors('hip', false, [450, 450, 1200]).survey).toBe(9);
    expect(loadSensors('hip', false, undefined).survey).toBeUndefined();
  });
  test('checks and witness pieces by treatment, alloy and condition', () => {
    const ids = (material: string, treatment: 'age' | 'hip' | 'stress-relief', condition: string) =>
      checksAfterTreatment(catalog, materialById(catalog, material), treatment, condition).map(
        (row) => row.id,
      );
    expect(ids('s17400', 'age', 'H900')).toEqual(['age-tensile', 'visual', 'hardness-h900']);
    expect(ids('r56400', 'hip', 'HIP')).toEqual(['hip-chart', 'titanium-skin', 'visual']);
    expect(ids('alsi10mg', 'stress-relief', 'SR1')).toEqual([
      'relief-chart',
      'visual',
      'hardness-alsi-relief',
    ]);
  });
});

test('a heating curve leaves out legs of no length', () => {
  const curve = heatCurve(20, [
    { toC: 20, rateCPerMin: 5 },
    { toC: 320, rateCPerMin: 5 },
    { hold: 'equalise', minutes: 0 },
    { hold: 'soak', minutes: 40 },
    { toC: 20, rateCPerMin: 10 },
  ]);
  expect(curve.points).toEqual([
    [0, 20],
    [60, 320],
    [100, 320],
    [130, 20],
  ]);
  expect(curve.totalMinutes).toBe(130);
});
