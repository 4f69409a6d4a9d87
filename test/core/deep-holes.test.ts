import {
  defaultCatalog,
  type JobInput,
  jobVocabulary,
  type Plan,
  planJob,
  readJob,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { wanderUm } from '../../packages/core/src/route/location.js';

const catalog = defaultCatalog();

/** An invented steel block of 120 x 90 x 160 mm with one hole from above. */
function plan(size: string, depth: number, policy: JobInput['policy'] = {}): Plan {
  const input: JobInput = {
    schemaVersion: 'job/1',
    part: {
      name: 'Block',
      number: 'DH-1',
      revision: 'A',
      material: 's31603',
      printer: 'pbf-lb',
      endUse: 'static',
      condition: 'SR',
    },
    geometry: {
      volume: 900_000,
      surfaceArea: 90_000,
      box: [120, 90, 160],
      plateSection: 9000,
      thickestSection: 60,
      thinnestWall: 10,
      trappedPowder: 'none',
      supports: { latticeArea: 0, solidArea: 0 },
    },
    order: { quantity: 4, currency: 'EUR', partsPerPlate: 2 },
    features: [{ id: 'B1', kind: 'bore', size, depth, facing: 'up', access: ['+z'] }],
    policy,
  };
  const { job, problems } = readJob({ json: JSON.stringify(input) }, jobVocabulary(catalog));
  if (job === undefined) throw new Error(JSON.stringify(problems));
  return planJob(job, catalog);
}

const chainOf = (made: Plan): readonly string[] =>
  made.features[0]?.chain.map((step) => step.process) ?? [];
const deep = (made: Plan) => made.findings.find((each) => each.id === 'deep-hole');

describe('deep holes', () => {
  test('4 diameters: a twist drill, without a word', () => {
    const made = plan('6 H11', 24);
    expect(chainOf(made)).toEqual(['drilling']);
    expect(deep(made)).toBeUndefined();
  });

  test('10 diameters: still a twist drill; its drift is said', () => {
    const made = plan('6 H11', 60);
    expect(chainOf(made)).toEqual(['drilling']);
    expect(deep(made)?.message).toContain('10.0 diameters deep, too deep for');
    expect(deep(made)?.message).toContain('drifts by about 72 µm');
    expect(deep(made)?.about).toBe('B1');
  });

  test('20 diameters: gun drilling or spark erosion, not a twist drill', () => {
    const made = plan('6 H11', 120);
    expect(chainOf(made)).toEqual(['gun-drilling']);
    expect(deep(made)?.message).toContain('drilling');
    const eroded = plan('6 H11', 120, { forbidden: ['gun-drilling', 'wire-edm'] });
    expect(chainOf(eroded)).toEqual(['sinker-edm']);
  });

  test('a close bore too deep for a boring bar is not bored', () => {
    const unreamed = { forbidden: ['reaming'] };
    expect(chainOf(plan('16 H7', 48, unreamed))).toContain('boring');
    const long = plan('16 H7', 140, unreamed);
    expect(long.feasible).toBe(true);
    expect(chainOf(long)).not.toContain('boring');
  });

  test('drift grows with depth, less for a gun drill', () => {
    const wander = (id: string, extentMm: number): number => {
      const needs = catalog.processNeeds.find((row) => row.process === id);
      const row = catalog.processes.find((entry) => entry.id === id);
      const reach = catalog.toolReach.find((entry) => entry.process === id);
      if (needs === undefined || row === undefined || reach === undefined) throw new Error(id);
      return wanderUm({ process: { id, row, needs, reach, rate: 1 }, extentMm });
    };
    expect(wander('drilling', 60)).toBeCloseTo(8 + 24, 9);
    expect(wander('drilling', 120)).toBeGreaterThan(wander('drilling', 60));
    expect(wander('gun-drilling', 120)).toBeLessThan(wander('drilling', 60));
  });
});
