import {
  defaultCatalog,
  type JobInput,
  jobVocabulary,
  type Plan,
  planJob,
  readJob,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { featureTable } from '../../packages/cli/src/read/feature-file.js';

const catalog = defaultCatalog();

/** An invented block with one milled radius. */
function plan(concave: boolean | undefined, size = 'R6 ±0.05'): Plan {
  const input: JobInput = {
    schemaVersion: 'job/1',
    part: {
      name: 'Block',
      number: 'RB-1',
      revision: 'A',
      material: 's31603',
      printer: 'pbf-lb',
      endUse: 'static',
      condition: 'SR',
    },
    geometry: {
      volume: 60_000,
      surfaceArea: 30_000,
      box: [120, 90, 40],
      plateSection: 5000,
      thickestSection: 20,
      thinnestWall: 5,
      trappedPowder: 'none',
      supports: { latticeArea: 0, solidArea: 0 },
    },
    order: { quantity: 4, currency: 'EUR', partsPerPlate: 4 },
    features: [
      {
        id: 'R1',
        kind: 'radius',
        size,
        ra: 3.2,
        length: 60,
        facing: 'up',
        access: ['+z'],
        ...(concave === undefined ? {} : { concave }),
      },
    ],
  };
  const { job, problems } = readJob({ json: JSON.stringify(input) }, jobVocabulary(catalog));
  if (job === undefined) throw new Error(JSON.stringify(problems));
  return planJob(job, catalog);
}

const printed = (made: Plan): number => made.features[0]?.printedSizeMm ?? Number.NaN;
const worked = (made: Plan): string | undefined =>
  made.operations.flatMap((operation) => operation.workingDimensions)[0]?.what;

describe('radii', () => {
  test('stock makes an outer edge larger and an inner corner smaller, by as much', () => {
    const edge = plan(false);
    const corner = plan(true);
    expect(worked(edge)).toBe('convex radius');
    expect(worked(corner)).toBe('concave radius');
    const stock = edge.features[0]?.stockPerSideMm ?? Number.NaN;
    expect(Math.abs(printed(edge) - 6 - stock)).toBeLessThanOrEqual(0.05);
    expect(Math.abs(6 - printed(corner) - stock)).toBeLessThanOrEqual(0.05);
  });

  test('an inner corner smaller than its stock is printed sharp', () => {
    expect(printed(plan(true, 'R0.5 ±0.05'))).toBe(0);
  });

  test('a radius that does not say is taken as an edge, and that is said', () => {
    const silent = plan(undefined);
    expect(worked(silent)).toBe('convex radius');
    const note = silent.findings.find((each) => each.id === 'radius-convex-assumed');
    expect(note?.message).toContain(`makes it R${printed(silent)} in the build model`);
    expect(plan(false).findings.some((each) => each.id === 'radius-convex-assumed')).toBe(false);
  });

  test('a features table says it in a column', () => {
    const { job, problems } = readJob(
      {
        json: JSON.stringify({
          schemaVersion: 'job/1',
          part: {
            name: 'Block',
            number: 'RB-2',
            revision: 'A',
            material: 's31603',
            printer: 'pbf-lb',
            endUse: 'static',
          },
          geometry: { box: [10, 10, 10] },
          order: { quantity: 1, currency: 'EUR' },
          features: 'features.csv',
        }),
        featureTable: featureTable('id;kind;size;concave\nR1;radius;R2 ±0.1;yes\n', 'features.csv'),
      },
      jobVocabulary(catalog),
    );
    expect(problems).toEqual([]);
    expect(job?.features[0]?.concave).toBe(true);
  });
});
