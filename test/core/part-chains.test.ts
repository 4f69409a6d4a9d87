import { type Catalog, defaultCatalog, type Job, type JobInput, planJob } from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { readInput } from '../property/arbitrary-job.js';

const catalog: Catalog = defaultCatalog();

/** A block with two faces above its foot and a bored collar; `as printed` where no Ra is asked. */
function block(chains: NonNullable<JobInput['chains']>, part: object = {}, machined = true): Job {
  const ra = machined ? { ra: 3.2 } : {};
  const half = machined ? '0.05' : '0.6';
  const input = {
    schemaVersion: 'job/1',
    part: {
      name: 'Block',
      number: 'B-1',
      revision: 'A',
      material: 's31603',
      printer: 'pbf-lb',
      endUse: 'static',
      ...part,
    },
    geometry: {
      volume: 60_000,
      surfaceArea: 14_000,
      box: [60, 40, 60],
      plateSection: 2400,
      thickestSection: 12,
      thinnestWall: 4,
      trappedPowder: 'none',
      supports: { latticeArea: 0, latticeAccess: 'open', solidArea: 0 },
    },
    order: { quantity: 20, currency: 'EUR', partsPerPlate: 4 },
    features: [
      { id: 'P2', kind: 'plane', size: `60 ±${half}`, length: 30, width: 40, facing: 'up', ...ra },
      { id: 'P6', kind: 'plane', size: `52 ±${half}`, length: 30, width: 20, facing: 'up', ...ra },
      { id: 'D2', kind: 'shaft', size: '30 ±0.6', depth: 9, facing: 'up' },
      { id: 'B1', kind: 'bore', size: '20 H8', depth: 30, ra: 1.6, facing: 'up', access: ['+z'] },
    ],
    chains,
  };
  return readInput(input as unknown as JobInput);
}

const step = { id: 'step', terms: ['+P2', '-P6'], lower: 7.9, upper: 8.1 };

describe('dimension chains of a job on the planned route', () => {
  test('a sum of sizes carries the tolerance of each cut and is exact', () => {
    const plan = planJob(block([step]), catalog);
    const stack = plan.stacks.find(({ requirement }) => requirement === 'step');
    const dimension = (feature: string): { readonly lower: number; readonly upper: number } => {
      const found = plan.operations
        .flatMap(({ workingDimensions }) => workingDimensions)
        .filter((entry) => entry.feature === feature && entry.unit === 'mm')
        .at(-1);
      if (found === undefined) throw new Error(`no working dimension of ${feature}`);
      return found;
    };
    const sigma = ['P2', 'P6'].map((id) => (dimension(id).upper - dimension(id).lower) / 6);
    expect(stack?.mean).toBeCloseTo(8, 6);
    expect(stack?.sigma).toBeCloseTo(Math.hypot(...sigma), 6);
    expect(stack?.method).toBe('normal, closed form');
    expect(stack?.feature).toBe('P2, P6');
    expect(stack?.contributors.map(({ sensitivity }) => sensitivity)).toEqual([1, -1]);
    expect(stack?.contributors.every(({ operation }) => (operation ?? 0) > 0)).toBe(true);
    expect(plan.findings.map(({ id }) => id)).not.toContain('chain-short');
  });

  test('heat changes both sizes at one rate, so the change of the step is that of 8 mm', () => {
    const printed = planJob(
      block([{ ...step, lower: 7.2, upper: 8.8 }], { material: 'alsi10mg' }, false),
      catalog,
    );
    const stack = printed.stacks.find(({ requirement }) => requirement === 'step');
    const heat = stack?.contributors.filter(({ name }) => name.startsWith('change of size')) ?? [];
    expect(heat.length).toBeGreaterThan(0);
    for (const { sensitivity, distribution } of heat) {
      expect(sensitivity).toBeCloseTo(8, 6);
      expect(distribution).toBe('beta');
    }
    // stress relief of AlSi10Mg: 0.0011 to 0.0019 mm/mm, a sixth of the range as sigma
    expect(heat[0]?.sigma).toBeCloseTo((8 * 0.0008) / 6, 6);
    expect(stack?.mean).toBeCloseTo(8, 2);
  });

  test('a linear expression is exact too; one that is not goes by moments', () => {
    const plan = planJob(
      block([
        { id: 'wall', expression: '(D2 - B1) / 2', lower: 4.6, upper: 5.4 },
        { id: 'diagonal', expression: 'hypot(P2, D2)', lower: 66.5, upper: 67.7 },
      ]),
      catalog,
    );
    const [wall, diagonal] = ['wall', 'diagonal'].map((id) =>
      plan.stacks.find(({ requirement }) => requirement === id),
    );
    const size = (id: string): number =>
      plan.stacks.find(({ requirement }) => requirement === `${id}.size`)?.sigma ?? 0;
    expect(wall?.mean).toBeCloseTo((30 - 20.0165) / 2, 3);
    expect(wall?.sigma).toBeCloseTo(Math.hypot(size('D2'), size('B1')) / 2, 6);
    expect(wall?.method).not.toContain('moments');
    expect(diagonal?.method).toBe('second-order moments');
    expect(diagonal?.mean).toBeCloseTo(Math.hypot(60, 30), 3);
    expect(diagonal?.inLimits).toBeGreaterThan(0.99);
  });

  test('what falls short is a finding that names the contributor to tighten', () => {
    const plan = planJob(block([{ ...step, lower: 7.98, upper: 8.02 }]), catalog);
    const finding = plan.findings.find(({ id }) => id === 'chain-short');
    expect(finding?.about).toBe('step');
    expect(finding?.message).toMatch(
      /^chain step lies in its limits with \d+\.\d\d %, 99\.73 % wanted; largest share: P[26]: /,
    );
    const stack = plan.stacks.find(({ requirement }) => requirement === 'step');
    expect(stack?.tightenFirst?.inLimits).toBeGreaterThan(stack?.inLimits ?? 1);
  });

  test('an expression that cannot be read is a finding with its column', () => {
    const plan = planJob(
      block([{ id: 'odd', expression: '(D2 - B1) * / 2', lower: 4, upper: 6 }]),
      catalog,
    );
    const finding = plan.findings.find(({ id }) => id === 'chain-unreadable');
    expect(finding?.message).toMatch(/chain odd .* column 13: a value is missing here/);
    expect(plan.stacks.some(({ requirement }) => requirement === 'odd')).toBe(false);
  });
});
