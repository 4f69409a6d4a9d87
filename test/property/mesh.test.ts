import {
  boxMesh,
  facingAreas,
  massProperties,
  measurePart,
  sectionsAt,
  type TriangleMesh,
  writeStl,
} from '@offplate/core';
import { readMesh } from '@offplate/core/mesh-file';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { meshEdges } from '../../packages/core/src/geometry/edges.js';
import { firstHit, nearestPoint } from '../../packages/core/src/geometry/tree-queries.js';
import { triangleTree } from '../../packages/core/src/geometry/triangle-tree.js';
import { joined, mapped, prismMesh, shifted, torusMesh, turned } from '../fixtures/meshes.js';

const options = { seed: 20270301, numRuns: 60 };
const size = fc.double({ min: 0.5, max: 80, noNaN: true });
// thousandths: a ray that grazes a face by 1e-320 mm is no question worth an answer
const place = fc.integer({ min: -400_000, max: 400_000 }).map((thousandths) => thousandths / 1000);

/** Shapes with nothing in common but that they are closed. */
const shape: fc.Arbitrary<TriangleMesh> = fc.oneof(
  fc.tuple(size, size, size).map(([x, y, z]) => boxMesh(x, y, z)),
  fc.tuple(fc.integer({ min: 3, max: 40 }), size, size).map(([n, r, h]) => prismMesh(n, r, h)),
  fc
    .tuple(fc.integer({ min: 5, max: 24 }), fc.integer({ min: 4, max: 16 }), size, size)
    .map(([n, m, r, t]) => torusMesh(n, m, r + 1.2 * t, t)),
  fc
    .tuple(size, size)
    .map(([a, b]) => joined(boxMesh(a, a, a), shifted(prismMesh(9, b, a), [a + 2 * b, 0, 0]))),
);

const direction = fc
  .tuple(fc.double({ min: -1, max: 1, noNaN: true }), fc.double({ min: 0, max: 6.28, noNaN: true }))
  .map(([z, a]) => {
    const r = Math.sqrt(1 - z * z);
    return [r * Math.cos(a), r * Math.sin(a), z] as const;
  });

const off = (actual: number, wanted: number): number => Math.abs(actual / wanted - 1);

describe('what a movement leaves as it is', () => {
  test('volume, area and the centre that moves along', () => {
    fc.assert(
      fc.property(
        shape,
        direction,
        fc.double({ min: 0, max: 7, noNaN: true }),
        place,
        place,
        place,
        (mesh, axis, angle, x, y, z) => {
          const before = massProperties(mesh);
          const after = massProperties(shifted(turned(mesh, axis, angle), [x, y, z]));
          expect(off(after.volumeMm3, before.volumeMm3)).toBeLessThan(1e-9);
          expect(off(after.surfaceAreaMm2, before.surfaceAreaMm2)).toBeLessThan(1e-9);
          const point = {
            positionsMm: Float64Array.from(before.centreMm),
            triangles: Uint32Array.of(0, 0, 0),
          };
          const wanted = shifted(turned(point, axis, angle), [x, y, z]).positionsMm;
          for (let k = 0; k < 3; k++)
            expect(Math.abs((after.centreMm[k] ?? 0) - (wanted[k] ?? 0))).toBeLessThan(1e-7);
        },
      ),
      options,
    );
  });
  test('sections, facing and thickness under a turn about z', () => {
    fc.assert(
      fc.property(
        shape,
        fc.double({ min: 0, max: 7, noNaN: true }),
        place,
        place,
        (mesh, angle, x, y) => {
          const moved = shifted(turned(mesh, [0, 0, 1], angle), [x, y, 0]);
          const { lowMm, highMm, boxMm } = massProperties(mesh);
          const heights = [0.1, 0.37, 0.5, 0.83].map((share) => lowMm[2] + share * boxMm[2]);
          const cuts = sectionsAt(moved, heights);
          for (const [k, { areaMm2, perimeterMm }] of sectionsAt(mesh, heights).entries()) {
            expect(off(cuts[k]?.areaMm2 ?? 0, areaMm2)).toBeLessThan(1e-8);
            expect(off(cuts[k]?.perimeterMm ?? 0, perimeterMm)).toBeLessThan(1e-8);
          }
          const [one, other] = [facingAreas(mesh), facingAreas(moved)];
          expect(other.overhangMm2).toBeCloseTo(one.overhangMm2, 6);
          expect(other.onPlateMm2).toBeCloseTo(one.onPlateMm2, 6);
          expect(highMm[2]).toBeGreaterThan(lowMm[2]);
        },
      ),
      options,
    );
  });
  test('the order of the triangles and which corner comes first', () => {
    fc.assert(
      fc.property(shape, fc.integer({ min: 1, max: 1e6 }), (mesh, mix) => {
        const count = mesh.triangles.length / 3;
        const triangles = new Uint32Array(mesh.triangles.length);
        // a step that shares no divisor with the count visits every triangle once
        let step = (mix % count) + 1;
        while (gcd(step, count) !== 1) step++;
        for (let at = 0; at < count; at++) {
          const from = 3 * ((at * step) % count);
          for (let k = 0; k < 3; k++)
            triangles[3 * at + k] = mesh.triangles[from + ((k + mix) % 3)] ?? 0;
        }
        const one = measurePart(mesh, { thicknessSamples: 30 });
        const other = measurePart({ ...mesh, triangles }, { thicknessSamples: 30 });
        expect(off(other.volumeMm3, one.volumeMm3)).toBeLessThan(1e-12);
        expect(other.closed).toBe(true);
        expect(other.shells.length).toBe(one.shells.length);
        expect(other.cylinders.map(({ diameterMm }) => diameterMm.toFixed(6))).toEqual(
          one.cylinders.map(({ diameterMm }) => diameterMm.toFixed(6)),
        );
        expect(other.planes.map(({ areaMm2 }) => areaMm2.toPrecision(9)).sort()).toEqual(
          one.planes.map(({ areaMm2 }) => areaMm2.toPrecision(9)).sort(),
        );
      }),
      { ...options, numRuns: 25 },
    );
  });
});

describe('laws', () => {
  test('scaling: volume by the cube, area by the square, thickness in proportion', () => {
    fc.assert(
      fc.property(shape, fc.double({ min: 0.2, max: 5, noNaN: true }), (mesh, scale) => {
        const larger = mapped(mesh, ([x, y, z]) => [scale * x, scale * y, scale * z]);
        const one = measurePart(mesh, { thicknessSamples: 60 });
        const other = measurePart(larger, { thicknessSamples: 60 });
        expect(off(other.volumeMm3, one.volumeMm3 * scale ** 3)).toBeLessThan(1e-9);
        expect(off(other.surfaceAreaMm2, one.surfaceAreaMm2 * scale ** 2)).toBeLessThan(1e-9);
        expect(
          off(other.thickness.thickestMm ?? 0, (one.thickness.thickestMm ?? 0) * scale),
        ).toBeLessThan(0.01);
      }),
      { ...options, numRuns: 25 },
    );
  });
  test('the mean section times the height is the volume', () => {
    fc.assert(
      fc.property(shape, direction, (mesh, axis) => {
        const { sections, heightMm, volumeMm3 } = measurePart(turned(mesh, axis, 1), {
          layers: 400,
          thicknessSamples: 10,
        });
        const sum = sections.reduce((total, { areaMm2 }) => total + areaMm2, 0);
        expect(off((sum * heightMm) / 400, volumeMm3)).toBeLessThan(0.01);
      }),
      { ...options, numRuns: 25 },
    );
  });
  test('a closed skin casts as much shadow downwards as upwards', () => {
    fc.assert(
      fc.property(shape, direction, (mesh, axis) => {
        // divergence theorem: the normals of a closed skin, weighted by area, add up to nothing
        const { positionsMm: p, triangles } = turned(mesh, axis, 2);
        const sum = [0, 0, 0];
        for (let h = 0; h < triangles.length; h += 3) {
          const [a = 0, b = 0, c = 0] = [0, 1, 2].map((k) => 3 * (triangles[h + k] ?? 0));
          const u = [0, 1, 2].map((k) => (p[b + k] ?? 0) - (p[a + k] ?? 0));
          const v = [0, 1, 2].map((k) => (p[c + k] ?? 0) - (p[a + k] ?? 0));
          for (let k = 0; k < 3; k++) {
            const [i, j] = [(k + 1) % 3, (k + 2) % 3];
            sum[k] = (sum[k] ?? 0) + (u[i] ?? 0) * (v[j] ?? 0) - (u[j] ?? 0) * (v[i] ?? 0);
          }
        }
        for (const part of sum) expect(Math.abs(part)).toBeLessThan(1e-6);
        expect(meshEdges(mesh)).toMatchObject({ open: 0, flipped: 0, nonManifold: 0 });
      }),
      options,
    );
  });
  test('written and read again: the same to 32-bit rounding', () => {
    fc.assert(
      fc.property(shape, (mesh) => {
        const { mesh: again } = readMesh(writeStl(mesh));
        expect(again.triangles.length).toBe(mesh.triangles.length);
        expect(off(massProperties(again).volumeMm3, massProperties(mesh).volumeMm3)).toBeLessThan(
          1e-5,
        );
      }),
      options,
    );
  });
});

describe('the tree finds what a look at every triangle finds', () => {
  test('nearest point and first hit', () => {
    fc.assert(
      fc.property(shape, place, place, place, direction, (mesh, x, y, z, way) => {
        const tree = triangleTree(mesh);
        const alone = Array.from({ length: mesh.triangles.length / 3 }, (_, t) =>
          triangleTree({ ...mesh, triangles: mesh.triangles.slice(3 * t, 3 * t + 3) }),
        );
        const [px, py, pz] = [x / 10, y / 10, z / 10];
        const near = nearestPoint(tree, px, py, pz)?.distanceMm ?? Number.NaN;
        const each = alone.map((one) => nearestPoint(one, px, py, pz)?.distanceMm ?? Number.NaN);
        expect(Math.abs(near - Math.min(...each))).toBeLessThan(1e-9);
        const hit =
          firstHit(tree, [px, py, pz], way, 0, -1)?.distanceMm ?? Number.POSITIVE_INFINITY;
        const hits = alone.map(
          (one) => firstHit(one, [px, py, pz], way, 0, -1)?.distanceMm ?? Number.POSITIVE_INFINITY,
        );
        const first = Math.min(...hits);
        if (first === Number.POSITIVE_INFINITY) expect(hit).toBe(first);
        else expect(Math.abs(hit - first)).toBeLessThan(1e-9);
      }),
      options,
    );
  });
});

function gcd(a: number, b: number): number {
  return b === 0 ? a : gcd(b, a % b);
}
