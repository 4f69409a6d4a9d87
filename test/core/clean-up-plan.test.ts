import {
  defaultCatalog,
  type JobInput,
  jobVocabulary,
  type Plan,
  planJob,
  readJob,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

const catalog = defaultCatalog();

function plan(stockBy?: 'limits' | 'probability', minimumProbability?: number): Plan {
  const input: JobInput = {
    schemaVersion: 'job/1',
    part: {
      name: 'Flange',
      number: 'TB-3',
      revision: 'A',
      material: 's31603',
      printer: 'pbf-lb',
      endUse: 'static',
      condition: 'SR',
    },
    geometry: {
      volume: 90_000,
      surfaceArea: 30_000,
      box: [140, 60, 30],
      plateSection: 6000,
      thickestSection: 20,
      thinnestWall: 4,
      trappedPowder: 'none',
      supports: { latticeArea: 0, solidArea: 0 },
    },
    order: { quantity: 6, currency: 'EUR', partsPerPlate: 3 },
    features: [
      {
        id: 'P1',
        kind: 'plane',
        size: '30 ±0.05',
        ra: 3.2,
        length: 140,
        width: 60,
        facing: 'up',
        access: ['+z'],
      },
      { id: 'B1', kind: 'bore', size: '30 H7', ra: 1.6, depth: 20, facing: 'up', access: ['+z'] },
      { id: 'F1', kind: 'plane', length: 60, width: 20, facing: 'side', access: ['+x'] },
    ],
    policy: {
      ...(stockBy === undefined ? {} : { stockBy }),
      ...(minimumProbability === undefined ? {} : { minimumProbability }),
    },
  };
  const { job, problems } = readJob({ json: JSON.stringify(input) }, jobVocabulary(catalog));
  if (job === undefined) throw new Error(JSON.stringify(problems));
  return planJob(job, catalog);
}

const face = (made: Plan, feature: string) =>
  made.stock.faces.find((each) => each.feature === feature);

describe('stock by limits or by probability, as the policy asks', () => {
  test('by limits is what happens unasked', () => {
    expect(plan('limits').stock).toEqual(plan().stock);
  });

  test('every machined printed face says how probably its stock cleans it up', () => {
    const made = plan();
    for (const id of ['P1', 'B1']) {
      const { cleanUp = 0 } = face(made, id) ?? {};
      expect(cleanUp).toBeGreaterThan(0.9973);
      expect(cleanUp).toBeLessThanOrEqual(1);
    }
    expect(face(made, 'F1')?.cleanUp).toBeUndefined();
  });

  test('by probability: the stock meets the least probability, and a face needs less than by limits', () => {
    const limits = plan('limits');
    const probable = plan('probability');
    for (const id of ['P1', 'B1']) {
      const { cleanUp = 0, build = [] } = face(probable, id) ?? {};
      expect(cleanUp).toBeGreaterThanOrEqual(0.9973);
      expect(build.some((part) => part.what.includes('wanted probability'))).toBe(true);
    }
    expect(face(probable, 'P1')?.stockPerSideMm ?? 9).toBeLessThan(
      face(limits, 'P1')?.stockPerSideMm ?? 0,
    );
  });

  test('a higher probability asks for more', () => {
    const usual = plan('probability', 0.99);
    const sure = plan('probability', 0.9999);
    for (const id of ['P1', 'B1'])
      expect(face(sure, id)?.stockPerSideMm ?? 0).toBeGreaterThan(
        face(usual, id)?.stockPerSideMm ?? Number.POSITIVE_INFINITY,
      );
  });
});
