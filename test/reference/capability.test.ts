import { defaultCatalog, processById, surfaceLayerOf, threadByDesignation } from '@offplate/core';
import { describe, expect, test } from 'vitest';

// Check values of process capability that rows of the data carry.
const catalog = defaultCatalog();

describe('processes', () => {
  test('kerf of 0.25 mm wire is 0.30-0.41 mm, of 0.30 mm wire 0.38-0.51 mm (0.012-0.016 and 0.015-0.020 in); public kerf table (read)', () => {
    const row = processById(catalog, 'cut-off-wire-edm');
    const inMm = (inch: number): string => (inch * 25.4).toFixed(2);
    expect(row.effectNote).toContain(`(${inMm(0.012)}-${inMm(0.016)} mm) for 0.25 mm wire`);
    expect(row.effectNote).toContain(`(${inMm(0.015)}-${inMm(0.02)} mm) for 0.30 mm wire`);
    expect([row.effectLowUm, row.effectHighUm]).toEqual([300, 500]);
    expect(row.effectConfidence).toBe('read');
  });

  test('Rz/Ra of a cut face of AlSi10Mg is 33.11/5.05 = 6.56; Calignano and Mercurio 2024, doi 10.1007/s12008-023-01644-7 (derived from read values)', () => {
    const source = processById(catalog, 'cut-off-wire-edm').raSource ?? '';
    const [, ra, rz] = /Ra ([\d.]+)\+-[\d.]+ um, Rz ([\d.]+)/.exec(source) ?? [];
    expect(Number(rz) / Number(ra)).toBeCloseTo(6.56, 2);
    // the layer table carries that Rz as its high end
    expect(surfaceLayerOf(catalog, 'cut-off-wire-edm').rzHighUm).toBe(33);
  });

  test('laser polishing takes AlSi10Mg from Ra 12.22 to 0.145 um; Micromachines 2021, 12(11), 1332 (read)', () => {
    const row = processById(catalog, 'laser-polishing');
    expect(row.raSource).toContain('Ra 12.22 um to 0.145 um');
    expect(row.raLowUm).toBe(0.15);
    const start = catalog.asBuilt.find(
      (entry) => entry.material === 'alsi10mg' && entry.surfaceClass === 'vertical wall',
    );
    expect(start).toMatchObject({ characteristic: 'Ra', typical: 12.22, confidence: 'read' });
  });

  test('electropolishing takes 0.00025-0.0005 in = 6.35-12.7 um per surface; two public guides (read)', () => {
    const row = processById(catalog, 'electropolishing');
    expect(row.effectNote).toContain('recommended 0.00025-0.0005 in per surface');
    expect(row.effectLowUm).toBeLessThanOrEqual(0.00025 * 25400);
    expect(row.effectHighUm).toBeGreaterThanOrEqual(0.0005 * 25400);
    expect(row.effectConfidence).toBe('read');
  });

  test('roller burnishing is stated per diameter and stored per side (practice)', () => {
    expect(processById(catalog, 'burnishing')).toMatchObject({
      effectTypicalUm: 5,
      effectLowUm: 2.5,
      effectHighUm: 12.5,
    });
  });

  test('each finer process of a pair holds a finer grade and Ra (common practice)', () => {
    for (const [coarse, fine] of [
      ['rough-milling', 'finish-milling'],
      ['finish-milling', 'precision-milling'],
      ['rough-turning', 'finish-turning'],
      ['drilling', 'reaming'],
      ['reaming', 'honing'],
      ['cylindrical-grinding', 'lapping'],
    ] as const) {
      const a = processById(catalog, coarse);
      const b = processById(catalog, fine);
      expect(b.itEconomic, `${coarse} -> ${fine}`).toBeLessThan(a.itEconomic ?? 0);
      expect(b.raLowUm, `${coarse} -> ${fine}`).toBeLessThan(a.raLowUm ?? 0);
    }
  });
});

describe('surface layers of the analytical allowance method', () => {
  test.each([
    ['rough-turning', 50, 50],
    ['drilling', 40, 60],
    ['finish-turning', 20, 25],
    ['reaming', 10, 25],
    ['surface-grinding', 5, 15],
  ])(
    '%s leaves Rz %i and layer %i um; Kosilova and Meshcheryakov, vol. 1 (memory)',
    (state, rz, layer) => {
      expect(surfaceLayerOf(catalog, state)).toMatchObject({
        rzHighUm: rz,
        layerHighUm: layer,
        confidence: 'memory',
      });
    },
  );
});

describe('general tolerances', () => {
  const value = (characteristic: string, grade: string, sizeMm: number): number | undefined =>
    catalog.iso2768.find(
      (row) =>
        row.characteristic === characteristic &&
        row.class === grade &&
        (row.overMm ?? 0) < sizeMm &&
        sizeMm <= (row.upToMm ?? Number.POSITIVE_INFINITY),
    )?.value;

  test.each([
    ['ISO 2768-1:1989 Table 1, m, 10 mm', 'linear', 'm', 10, 0.2],
    ['ISO 2768-1:1989 Table 1, f, 50 mm', 'linear', 'f', 50, 0.15],
    ['ISO 2768-1:1989 Table 1, v, 200 mm', 'linear', 'v', 200, 2.5],
    ['ISO 2768-1:1989 Table 3, m, shorter side 60 mm, arc min', 'angular', 'm', 60, 20],
    ['ISO 2768-2:1989 flatness K, 100 mm', 'straightness-flatness', 'K', 100, 0.2],
    ['ISO 2768-2:1989 flatness K, 101 mm', 'straightness-flatness', 'K', 101, 0.4],
    ['ISO 2768-2:1989 perpendicularity H, 250 mm', 'perpendicularity', 'H', 250, 0.3],
    ['ISO 2768-2:1989 symmetry L, 150 mm', 'symmetry', 'L', 150, 1],
    ['ISO 2768-2:1989 run-out K', 'circular-runout', 'K', 150, 0.2],
  ])('%s (read)', (_name, characteristic, grade, size, expected) => {
    expect(value(characteristic, grade, size)).toBe(expected);
  });
});

describe('metric threads', () => {
  test.each([
    ['M1.6', 0.35],
    ['M3', 0.5],
    ['M6', 1],
    ['M8', 1.25],
    ['M10', 1.5],
    ['M12', 1.75],
    ['M16', 2],
    ['M20', 2.5],
    ['M24', 3],
    ['M30', 3.5],
    ['M36', 4],
    ['M42', 4.5],
    ['M48', 5],
    ['M56', 5.5],
    ['M64', 6],
  ])('coarse pitch of %s is %f mm; ISO 262 (memory)', (designation, pitch) => {
    const row = threadByDesignation(catalog, designation);
    expect(row).toMatchObject({ pitchMm: pitch, coarse: true });
    expect(`M${row.majorMm}`).toBe(designation);
  });

  test('a fine thread is finer than the coarse one of its diameter, and named by its pitch; ISO 261', () => {
    const fine = catalog.threads.filter((row) => !row.coarse);
    expect(fine.length).toBeGreaterThan(40);
    for (const row of fine) {
      expect(row.designation).toBe(`M${row.majorMm}x${row.pitchMm}`);
      expect(row.pitchMm).toBeLessThan(threadByDesignation(catalog, `M${row.majorMm}`).pitchMm);
    }
  });
});
