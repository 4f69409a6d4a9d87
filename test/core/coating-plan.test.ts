import {
  defaultCatalog,
  type JobInput,
  jobVocabulary,
  type Plan,
  pitchDiameterLimits,
  planJob,
  readJob,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

const catalog = defaultCatalog();

type Features = Exclude<JobInput['features'], string>;

/** An invented steel block that is plated, or an aluminium one that is hard anodised. */
function plan(
  material: 's31603' | 'alsi10mg',
  coating: string | undefined,
  features: Features,
): Plan {
  const input: JobInput = {
    schemaVersion: 'job/1',
    part: {
      name: 'Block',
      number: 'CB-1',
      revision: 'A',
      material,
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
    order: { quantity: 8, currency: 'EUR', partsPerPlate: 4 },
    features,
    ...(coating === undefined ? {} : { policy: { required: [coating] } }),
  };
  const { job, problems } = readJob({ json: JSON.stringify(input) }, jobVocabulary(catalog));
  if (job === undefined) throw new Error(JSON.stringify(problems));
  return planJob(job, catalog);
}

const dimension = (made: Plan, feature: string, what: string) =>
  made.operations
    .flatMap((operation) => operation.workingDimensions)
    .find((entry) => entry.feature === feature && entry.what.includes(what));

const bore: Features[number] = {
  id: 'B1',
  kind: 'bore',
  size: '30 H11',
  depth: 30,
  facing: 'up',
  access: ['+z'],
  finishes: ['electroless-nickel', 'hard-anodising'],
};
const shaft: Features[number] = {
  id: 'D1',
  kind: 'shaft',
  size: '50 h12',
  length: 20,
  facing: 'side',
  access: ['+z'],
  finishes: ['electroless-nickel', 'hard-anodising'],
};
const thread = (finishes: string[]): Features[number] => ({
  id: 'T1',
  kind: 'thread',
  size: 'M8-6H',
  depth: 12,
  facing: 'up',
  access: ['+z'],
  finishes,
});

describe('a coating is left room for before it grows', () => {
  test('electroless nickel of 25 um: the bore is cut 50 um larger, the shaft 50 um smaller, and printed so', () => {
    const bare = plan('s31603', undefined, [bore, shaft]);
    const plated = plan('s31603', 'electroless-nickel', [bore, shaft]);
    const boreBefore = dimension(plated, 'B1', 'diameter before electroless nickel');
    const boreBare = dimension(bare, 'B1', 'diameter');
    expect(boreBare?.what).toBe('diameter');
    expect((boreBefore?.target ?? 0) - (boreBare?.target ?? 0)).toBeCloseTo(0.05, 6);
    const shaftBefore = dimension(plated, 'D1', 'diameter before electroless nickel');
    expect(
      (dimension(bare, 'D1', 'diameter')?.target ?? 0) - (shaftBefore?.target ?? 0),
    ).toBeCloseTo(0.05, 6);
    // Every part inside the limits before is inside them after, thinnest or thickest coating.
    expect((boreBefore?.lower ?? 0) - 0.055).toBeGreaterThanOrEqual(30 - 1e-9);
    expect((boreBefore?.upper ?? 0) - 0.045).toBeLessThanOrEqual(30.13 + 1e-9);
    expect((shaftBefore?.lower ?? 0) + 0.045).toBeGreaterThanOrEqual(50 - 0.25 - 1e-9);
    expect((shaftBefore?.upper ?? 0) + 0.055).toBeLessThanOrEqual(50 + 1e-9);
    const printed = (made: Plan, id: string): number =>
      made.features.find((each) => each.id === id)?.printedSizeMm ?? Number.NaN;
    // Printed sizes stand in steps of 0.05 mm.
    for (const change of [
      printed(plated, 'B1') - printed(bare, 'B1'),
      printed(bare, 'D1') - printed(plated, 'D1'),
    ]) {
      expect(change).toBeGreaterThan(0.049);
      expect(change).toBeLessThan(0.101);
    }
    const face = plated.stock.faces.find((each) => each.feature === 'B1');
    expect(face?.why).toContain(
      '30.115 mm before electroless nickel, which grows 0.0225 to 0.0275 mm a side',
    );
    expect(plated.findings.some((each) => each.id === 'coating-spread')).toBe(false);
  });

  test('hard anodising takes more of a close tolerance than it leaves for every part: said', () => {
    const made = plan('alsi10mg', 'hard-anodising', [{ ...bore, size: '30 H8' }]);
    const finding = made.findings.find((each) => each.id === 'coating-spread');
    expect(finding?.message).toContain('hard anodising adds 40 to 60 µm to 30 H8');
    expect(finding?.severity).toBe('warning');
  });

  test('a thread that the job lets be plated: pitch diameter four times the growth wider at its least limit', () => {
    const made = plan('s31603', 'electroless-nickel', [thread(['electroless-nickel'])]);
    const row = dimension(made, 'T1', 'pitch diameter before electroless nickel');
    const of = {
      designation: 'M8-6H',
      majorMm: 8,
      pitchMm: 1.25,
      toleranceClass: '6H',
      internal: true,
    };
    const plain = pitchDiameterLimits(catalog, of);
    expect(row?.lower).toBeCloseTo((plain?.lowerMm ?? 0) + 4 * 0.0275, 5);
    expect(row?.upper).toBeCloseTo(plain?.upperMm ?? 0, 5);
    expect(row?.diametral).toBe(true);
    const assumed = made.assumptions.find((each) =>
      each.what.startsWith('pitch diameter of M8-6H'),
    );
    expect(assumed?.value).toContain('90 to 110 µm');
    expect(assumed?.confidence).toBe('memory');
    const plating = made.operations.find((each) => each.process === 'electroless-nickel');
    expect(plating?.steps.map((step) => step.feature)).not.toContain('T1');
  });

  test('a thread that the job does not name for it is plugged; one too small for it too', () => {
    for (const size of ['M8-6H', 'M4-6H'] as const) {
      const finishes = size === 'M8-6H' ? ['passivation'] : ['electroless-nickel'];
      const made = plan('s31603', 'electroless-nickel', [{ ...thread(finishes), size }]);
      expect(dimension(made, 'T1', 'pitch diameter')).toBeUndefined();
      const plating = made.operations.find((each) => each.process === 'electroless-nickel');
      expect(plating?.steps.map((step) => step.feature)).toEqual(['T1']);
    }
  });
});
