import { type DefectTestDemand, defaultCatalog, defectTests } from '@offplate/core';
import { describe, expect, test } from 'vitest';

const face: DefectTestDemand = {
  defect: 'open-to-face',
  featureKind: 'plane',
  thicknessMm: 10,
  largestUnseenMm: 3,
  raUm: 1.6,
  ferromagnetic: false,
};

function judged(demand: DefectTestDemand): Record<string, readonly string[]> {
  const tests = defectTests(defaultCatalog().methods, demand);
  return Object.fromEntries(tests.map(({ method, against }) => [method.id, against]));
}

function suitable(demand: DefectTestDemand): readonly string[] {
  return defectTests(defaultCatalog().methods, demand)
    .filter(({ against }) => against.length === 0)
    .map(({ method }) => method.id);
}

describe('tests by class of defect', () => {
  test('flaws open to a machined face: penetrant first, magnetic particles for steels that hold a field', () => {
    expect(suitable(face)[0]).toBe('penetrant');
    expect(suitable(face)).not.toContain('magnetic-particle');
    expect(suitable({ ...face, ferromagnetic: true })).toContain('magnetic-particle');
  });

  test('a printed face holds penetrant everywhere, a channel cannot be reached', () => {
    expect(judged({ ...face, raUm: 9 }).penetrant?.[0]).toMatch(/Ra 9 um/);
    expect(suitable({ ...face, featureKind: 'channel' })).toEqual(['ct-defect']);
  });

  test('length found: 4 % of the thickness by radiography, 3 mm by penetrant', () => {
    const byRay = defectTests(defaultCatalog().methods, {
      ...face,
      defect: 'inner-void',
      thicknessMm: 50,
    }).find(({ method }) => method.id === 'radiography');
    expect(byRay?.foundMm).toBeCloseTo(2, 9);
    expect(judged({ ...face, largestUnseenMm: 2.9 }).penetrant).toEqual([
      'finds 3 mm, wanted 2.9 mm',
    ]);
  });

  test('radiography does not cover tight cracks', () => {
    expect(suitable({ ...face, defect: 'inner-void' })).toContain('radiography');
    expect(judged({ ...face, defect: 'inner-crack' }).radiography).toEqual([
      'does not cover tight cracks',
    ]);
  });
});
