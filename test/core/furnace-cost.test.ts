import {
  type CostLine,
  defaultCatalog,
  type JobInput,
  jobVocabulary,
  type Plan,
  planJob,
  readJob,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { loadShare } from '../../packages/core/src/route/furnace-cost.js';

const catalog = defaultCatalog();

/** An invented block of 60 x 40 x 30 mm. */
function plan(
  part: Pick<JobInput['part'], 'material' | 'endUse' | 'condition'>,
  quantity: number,
  policy: JobInput['policy'] = {},
): Plan {
  const input: JobInput = {
    schemaVersion: 'job/1',
    part: { name: 'Block', number: 'FB-1', revision: 'A', printer: 'pbf-lb', ...part },
    geometry: {
      volume: 40_000,
      surfaceArea: 11_000,
      box: [60, 40, 30],
      plateSection: 2000,
      thickestSection: 20,
      thinnestWall: 5,
      trappedPowder: 'none',
      supports: { latticeArea: 0, solidArea: 0 },
    },
    order: { quantity, currency: 'EUR', partsPerPlate: 8 },
    features: [
      {
        id: 'P1',
        kind: 'plane',
        size: '30 ±0.1',
        length: 60,
        width: 40,
        facing: 'up',
        access: ['+z'],
      },
    ],
    policy,
  };
  const { job, problems } = readJob({ json: JSON.stringify(input) }, jobVocabulary(catalog));
  if (job === undefined) throw new Error(JSON.stringify(problems));
  return planJob(job, catalog);
}

const furnaceLines = (made: Plan, treatment: string): readonly CostLine[] => {
  const seq = made.thermal.cycles.find((cycle) => cycle.treatment === treatment)?.operation;
  return made.cost.lines.filter((line) => line.operation === seq && line.kind === 'furnace');
};
const amount = (lines: readonly CostLine[], id: string): number =>
  lines.find((line) => line.id.endsWith(id))?.amount ?? 0;

const relieved = { material: 'r56400', endUse: 'static', condition: 'SR' } as const;
const inHouse = { outsideWork: false };

describe('a lot pays its share of the furnace', () => {
  test('share by what fills first; the whole load when it runs alone or nothing limits it', () => {
    const capacity = { count: 9, limitedBy: 'floor' } as const;
    expect(loadShare(3, capacity, false)).toEqual({
      loads: 1,
      paid: 1 / 3,
      pieces: 3,
      shared: true,
    });
    expect(loadShare(12, capacity, false)).toMatchObject({ loads: 2, paid: 12 / 9 });
    expect(loadShare(12, capacity, true)).toMatchObject({ loads: 2, paid: 2, shared: false });
    expect(loadShare(12, undefined, false)).toMatchObject({ loads: 1, paid: 1, shared: false });
  });

  test('HIP by the share of the vessel: 20 parts cost less than the vessel, alone they cost all of it', () => {
    const part = { material: 'r56400', endUse: 'fatigue', condition: 'HIP' } as const;
    const shared = plan(part, 20);
    const alone = plan(part, 20, { furnaceAlone: true });
    const hip = (made: Plan) => made.thermal.cycles.find((cycle) => cycle.treatment === 'hip');
    // 450 x 450 x 1200 mm filled to half, 25 mm added to each side of 60 x 40 x 30 mm.
    const most = Math.floor((0.5 * 450 * 450 * 1200) / (85 * 65 * 55));
    expect(hip(shared)?.loads).toMatchObject({ count: 1, most, limitedBy: 'volume' });
    expect(hip(shared)?.loads?.fullLoads).toBeCloseTo(20 / most, 6);
    expect(hip(alone)?.loads?.fullLoads).toBe(1);
    const whole = amount(furnaceLines(alone, 'hip'), 'furnace');
    expect(amount(furnaceLines(shared, 'hip'), 'furnace')).toBeCloseTo((whole * 20) / most, -1);
    const { totalMinutes } = hip(alone) ?? { totalMinutes: Number.NaN };
    expect(whole).toBe(Math.round((totalMinutes / 60) * 19_000));
    const assumed = shared.assumptions.find((each) =>
      each.what.startsWith('share of the load, hot'),
    );
    expect(assumed?.value).toContain(`20 of ${most} parts in a full load`);
    expect(shared.operations.find((each) => each.process === 'hip')?.parameters).toContainEqual({
      name: 'Loads',
      value: `1, shared: 20 parts, ${most} in a full load`,
    });
  });

  test("the shop's own furnace: time, electricity and argon, each with its price", () => {
    const made = plan(relieved, 8, inHouse);
    const [cycle] = made.thermal.cycles;
    const lines = furnaceLines(made, 'stress-relief');
    expect(lines).toHaveLength(3);
    const argon = lines.find((line) => line.label.startsWith('argon'));
    const electricity = lines.find((line) => line.label.startsWith('electricity'));
    const paid = cycle?.loads?.fullLoads ?? Number.NaN;
    expect(argon?.amount).toBe(Math.round(450 * paid * (cycle?.argonM3 ?? 0)));
    expect(electricity?.amount).toBe(Math.round(25 * paid * (cycle?.energyKwh ?? 0)));
    expect(argon?.inputs.map((input) => input.unit)).toEqual(['m3', 'EUR/m3']);
    expect(electricity?.inputs.at(-1)).toMatchObject({ value: 0.25, confidence: 'invented' });
    expect(made.assumptions.find((each) => each.what.startsWith('price of argon'))).toMatchObject({
      value: '4.5 EUR/m3',
      confidence: 'invented',
    });
  });

  test('an outside treater charges by the hour alone', () => {
    const made = plan({ ...relieved, condition: 'annealed' }, 8, {
      forbidden: ['furnace-vacuum', 'furnace-air'],
    });
    const [cycle] = made.thermal.cycles;
    expect(furnaceLines(made, cycle?.treatment ?? '')).toHaveLength(1);
  });
});
