import {
  boxMesh,
  facingAreas,
  massProperties,
  measurePart,
  sectionsAt,
  type TriangleMesh,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { insideOut, joined, prismMesh, shifted, torusMesh, turned } from '../fixtures/meshes.js';

const ids = (mesh: TriangleMesh): readonly string[] =>
  measurePart(mesh, { thicknessSamples: 50 }).findings.map(({ id }) => id);

/** Relative error. */
const off = (actual: number, wanted: number): number => Math.abs(actual / wanted - 1);

describe('closed forms on exact meshes, to 1e-9', () => {
  test('box', () => {
    const part = measurePart(shifted(boxMesh(60, 40, 12), [1000, -700, 300]));
    expect(off(part.volumeMm3, 60 * 40 * 12)).toBeLessThan(1e-12);
    expect(off(part.surfaceAreaMm2, 2 * (60 * 40 + 40 * 12 + 12 * 60))).toBeLessThan(1e-12);
    expect(part.boxMm).toEqual([60, 40, 12]);
    for (const [axis, wanted] of [1030, -680, 306].entries())
      expect(off(part.centreMm[axis] ?? 0, wanted)).toBeLessThan(1e-12);
    expect(part.plateSection.areaMm2).toBeCloseTo(2400, 8);
    expect(part.sections.every(({ areaMm2 }) => off(areaMm2, 2400) < 1e-12)).toBe(true);
    expect(part.sections[0]?.perimeterMm).toBeCloseTo(200, 9);
    expect(part.slenderness).toBe(12 / 40);
    expect(part.closed).toBe(true);
    expect(part.thickness.thickestMm).toBeCloseTo(12, 4);
    expect(part.thickness.thinnestWallMm).toBeCloseTo(12, 9);
    expect(part.findings).toEqual([]);
  });
  test('prism on a polygon of n sides: n/2 r2 sin(2 pi/n) h', () => {
    for (const sides of [3, 4, 7, 96, 1001]) {
      const radius = 8;
      const height = 21;
      const mesh = prismMesh(sides, radius, height);
      const base = (sides / 2) * radius ** 2 * Math.sin((2 * Math.PI) / sides);
      const round = 2 * sides * radius * Math.sin(Math.PI / sides);
      const { volumeMm3, surfaceAreaMm2, centreMm } = massProperties(mesh);
      expect(off(volumeMm3, base * height)).toBeLessThan(1e-9);
      expect(off(surfaceAreaMm2, 2 * base + round * height)).toBeLessThan(1e-9);
      expect(Math.hypot(centreMm[0], centreMm[1])).toBeLessThan(1e-9);
      expect(off(centreMm[2], height / 2)).toBeLessThan(1e-9);
      const [section] = sectionsAt(mesh, [height / 3]);
      expect(off(section?.areaMm2 ?? 0, base)).toBeLessThan(1e-9);
      expect(off(section?.perimeterMm ?? 0, round)).toBeLessThan(1e-9);
    }
  });
  test('box with a closed room inside, two boxes apart', () => {
    const room = insideOut(shifted(boxMesh(4, 5, 6), [3, 3, 3]));
    const part = measurePart(
      joined(boxMesh(20, 20, 20), room, shifted(boxMesh(2, 2, 2), [30, 0, 0])),
    );
    expect(part.volumeMm3).toBeCloseTo(8000 - 120 + 8, 9);
    expect(part.cavities).toEqual([{ volumeMm3: expect.closeTo(120, 9), surfaceAreaMm2: 148 }]);
    expect(part.shells.map(({ depth }) => depth)).toEqual([0, 1, 0]);
    expect(part.findings.map(({ id }) => id)).toEqual([
      'mesh-several-bodies',
      'mesh-closed-cavity',
    ]);
  });
});

describe('second order on curved ones', () => {
  test('torus: volume 2 pi2 R r2, area 4 pi2 R r, section of the middle, thickest place', () => {
    const [ring, tube] = [30, 8];
    const volume = 2 * Math.PI ** 2 * ring * tube ** 2;
    const area = 4 * Math.PI ** 2 * ring * tube;
    const middle = Math.PI * ((ring + tube) ** 2 - (ring - tube) ** 2);
    const errors = [24, 48, 96].map((n) => {
      const mesh = torusMesh(2 * n, n, ring, tube);
      const { volumeMm3, surfaceAreaMm2 } = massProperties(mesh);
      const [section] = sectionsAt(mesh, [1e-9]);
      return [
        off(volumeMm3, volume),
        off(surfaceAreaMm2, area),
        off(section?.areaMm2 ?? 0, middle),
      ];
    });
    for (let step = 1; step < errors.length; step++)
      for (const [k, error] of (errors[step] ?? []).entries()) {
        const order = Math.log2((errors[step - 1]?.[k] ?? 0) / error);
        expect(order).toBeGreaterThan(1.9);
        expect(order).toBeLessThan(2.1);
      }
    const { thickness } = measurePart(torusMesh(96, 48, ring, tube));
    expect(thickness.thickestMm).toBeGreaterThan(2 * tube * Math.cos(Math.PI / 48) * 0.998);
    expect(thickness.thickestMm).toBeLessThan(2 * tube);
    expect(off(thickness.thinnestWallMm ?? 0, 2 * tube)).toBeLessThan(0.01);
    expect(off(thickness.narrowestGapMm ?? 0, 2 * (ring - tube))).toBeLessThan(0.02);
  });
});

describe('facing', () => {
  test('a box turned so that its underside leans by an angle', () => {
    const mesh = (degrees: number): TriangleMesh =>
      shifted(turned(boxMesh(20, 10, 5), [0, 1, 0], (-degrees * Math.PI) / 180), [0, 0, 50]);
    // at 30 deg the underside (200 mm2) and one end (50 mm2, at 60 deg) look down
    const leaning = facingAreas(mesh(30));
    expect(leaning.overhangMm2).toBeCloseTo(200, 9);
    expect(leaning.overhangShadowMm2).toBeCloseTo(200 * Math.cos(Math.PI / 6), 9);
    expect(leaning.downskinByDegreeMm2[30]).toBeCloseTo(200, 9);
    expect(leaning.downskinByDegreeMm2[60]).toBeCloseTo(50, 9);
    expect(leaning.angledDownMm2).toBeCloseTo(250, 9);
    expect(leaning.angledUpMm2).toBeCloseTo(250, 9);
    expect(leaning.sideMm2).toBeCloseTo(200, 9);
    // exactly at the limit nothing hangs over, whichever way rounding goes
    expect(facingAreas(mesh(45)).overhangMm2).toBe(0);
    expect(facingAreas(mesh(45), 50).overhangMm2).toBeCloseTo(250, 9);
  });
  test('the five directions add up to the skin, and the foot is no overhang', () => {
    const mesh = torusMesh(40, 30, 20, 6);
    const areas = facingAreas(mesh);
    const { upMm2, downMm2, sideMm2, angledUpMm2, angledDownMm2 } = areas;
    const sum = upMm2 + downMm2 + sideMm2 + angledUpMm2 + angledDownMm2;
    expect(off(sum, massProperties(mesh).surfaceAreaMm2)).toBeLessThan(1e-12);
    expect(facingAreas(boxMesh(3, 4, 5))).toMatchObject({
      onPlateMm2: 12,
      overhangMm2: 0,
      upMm2: 12,
    });
  });
});

describe('faces', () => {
  // a plate with a tube through it: all in one skin
  const tube = (sides: number): TriangleMesh => ringMesh(sides, 5, 8, 20);

  test('a tube is a hole in a boss', () => {
    for (const axis of [
      [0, 0, 1],
      [1, 0, 0],
      [0.6, 0, 0.8],
    ] as const) {
      const tilt = Math.acos(axis[2]);
      const mesh = turned(tube(48), [0, 1, 0], tilt);
      const { cylinders, planes } = measurePart(mesh, { thicknessSamples: 50 });
      expect(cylinders.map(({ kind }) => kind)).toEqual(['boss', 'hole']);
      const [boss, hole] = cylinders;
      expect(boss?.diameterMm).toBeCloseTo(16, 9);
      expect(hole?.diameterMm).toBeCloseTo(10, 9);
      expect(hole?.lengthMm).toBeCloseTo(20, 9);
      expect(hole?.coverageDeg).toBe(360);
      expect(hole?.openEnds).toEqual([true, true]);
      for (let k = 0; k < 3; k++) expect(hole?.axis[k]).toBeCloseTo(axis[k] ?? 0, 9);
      // facet by facet: n d sin(pi/n) h
      expect(hole?.areaMm2).toBeCloseTo(48 * 10 * Math.sin(Math.PI / 48) * 20, 8);
      expect(planes.length).toBe(2);
      const disc = (r: number) => 24 * r * r * Math.sin((2 * Math.PI) / 48);
      expect(planes[0]?.areaMm2).toBeCloseTo(disc(8) - disc(5), 9);
    }
  });
  test('a blind hole has one open end', () => {
    const { cylinders } = measurePart(cupMesh(40, 5, 8, 20, 4), { thicknessSamples: 50 });
    const hole = cylinders.find(({ kind }) => kind === 'hole');
    expect(hole?.openEnds).toEqual([false, true]);
    expect(hole?.lengthMm).toBeCloseTo(16, 9);
  });
  test('a box has six flat faces with their extents', () => {
    const { planes, cylinders } = measurePart(boxMesh(60, 40, 12));
    expect(cylinders).toEqual([]);
    expect(planes.map(({ areaMm2 }) => areaMm2)).toEqual([2400, 2400, 720, 720, 480, 480]);
    expect(planes[0]?.normal[2]).toBe(-1);
    expect([...(planes[0]?.extentsMm ?? [])].sort((a, b) => a - b)).toEqual([40, 60]);
  });
  test('a ball and a torus have neither', () => {
    const { planes, cylinders } = measurePart(torusMesh(90, 60, 30, 10), { thicknessSamples: 50 });
    expect([planes, cylinders]).toEqual([[], []]);
  });
});

describe('what is said of a mesh', () => {
  test('a box without its lid', () => {
    const box = boxMesh(10, 10, 10);
    const open = { ...box, triangles: box.triangles.slice(0, 30) };
    const part = measurePart(open);
    expect(part.closed).toBe(false);
    expect(part.findings[0]).toMatchObject({ id: 'mesh-open', severity: 'warning' });
    expect(part.findings[0]?.message).toMatch(/^4 edges /);
  });
  test('a skin that faces inwards is turned', () => {
    const part = measurePart(insideOut(boxMesh(10, 10, 10)));
    expect(part.volumeMm3).toBe(1000);
    expect(part.plateSection.areaMm2).toBe(100);
    expect(part.findings.map(({ id }) => id)).toEqual(['mesh-turned']);
  });
  test('corners that rounding has parted are merged, others are not', () => {
    const box = boxMesh(10, 10, 10);
    // every triangle with corners of its own, each moved by up to the given distance
    const loose = (by: number): TriangleMesh => {
      const positionsMm = new Float64Array(3 * box.triangles.length);
      for (const [corner, vertex] of box.triangles.entries())
        for (let k = 0; k < 3; k++)
          positionsMm[3 * corner + k] =
            (box.positionsMm[3 * vertex + k] ?? 0) + by * Math.sin(7 * corner + 3 * k);
      return { positionsMm, triangles: Uint32Array.from(box.triangles.keys()) };
    };
    const part = measurePart(loose(3e-6));
    expect([part.closed, part.vertices]).toEqual([true, 8]);
    expect(part.volumeMm3).toBeCloseTo(1000, 2);
    expect(part.findings[0]?.message).toMatch(
      /^28 vertices merged .*: 36 of 36 open edges closed$/,
    );
    expect(measurePart(loose(1e-2)).closed).toBe(false);
  });
  test('one triangle the wrong way round', () => {
    const { triangles, ...box } = boxMesh(10, 10, 10);
    const [a = 0, b = 0, c = 0, ...rest] = triangles;
    expect(ids({ ...box, triangles: Uint32Array.of(b, a, c, ...rest) })).toEqual(['mesh-flipped']);
  });
  test('two boxes along an edge, and one box in another', () => {
    const merged = mergedAlongEdge();
    expect(ids(merged)).toEqual(['mesh-non-manifold', 'mesh-several-bodies']);
    expect(measurePart(merged).closed).toBe(true);
    expect(ids(joined(boxMesh(10, 10, 10), shifted(boxMesh(2, 2, 2), [3, 3, 3])))).toEqual([
      'mesh-nested',
    ]);
  });
  test('two boxes that run through each other', () => {
    const crossing = joined(boxMesh(10, 10, 10), shifted(boxMesh(2, 2, 30), [3, 3, -9]));
    expect(ids(crossing)).toContain('mesh-crossing');
  });
  test('a doubtful unit and a part that stands on a line', () => {
    expect(ids(boxMesh(1, 1, 1))).toEqual(['mesh-small']);
    expect(ids(boxMesh(10, 10, 2000))).toEqual(['mesh-large']);
    const lying = turned(prismMesh(64, 5, 40), [0, 1, 0], Math.PI / 2);
    expect(ids(lying)).toEqual(['mesh-rounded-foot']);
  });
  test('a hub where a thousand triangles meet is no slower to pair', () => {
    const { closed, triangles } = measurePart(prismMesh(2000, 30, 5), { thicknessSamples: 20 });
    expect([closed, triangles]).toEqual([true, 4 * 2000 - 4]);
  });
});

/** A tube about z. */
function ringMesh(sides: number, inner: number, outer: number, height: number): TriangleMesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (const [radius, z] of [
    [outer, 0],
    [outer, height],
    [inner, height],
    [inner, 0],
  ] as const)
    for (let side = 0; side < sides; side++) {
      const angle = (2 * Math.PI * side) / sides;
      positions.push(radius * Math.cos(angle), radius * Math.sin(angle), z);
    }
  for (let ring = 0; ring < 4; ring++)
    for (let side = 0; side < sides; side++) {
      const next = (side + 1) % sides;
      const [a, b] = [ring * sides + side, ring * sides + next];
      const over = ((ring + 1) % 4) * sides;
      triangles.push(a, b, over + next, a, over + next, over + side);
    }
  return { positionsMm: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
}

/** A cup about z: a tube with a floor. */
function cupMesh(
  sides: number,
  inner: number,
  outer: number,
  height: number,
  floor: number,
): TriangleMesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  const rings = [
    [outer, 0],
    [outer, height],
    [inner, height],
    [inner, floor],
  ] as const;
  for (const [radius, z] of rings)
    for (let side = 0; side < sides; side++) {
      const angle = (2 * Math.PI * side) / sides;
      positions.push(radius * Math.cos(angle), radius * Math.sin(angle), z);
    }
  positions.push(0, 0, 0, 0, 0, floor);
  for (let side = 0; side < sides; side++) {
    const next = (side + 1) % sides;
    for (let ring = 0; ring < 3; ring++) {
      const [a, b] = [ring * sides + side, ring * sides + next];
      triangles.push(a, b, b + sides, a, b + sides, a + sides);
    }
    triangles.push(4 * sides, next, side, 4 * sides + 1, 3 * sides + side, 3 * sides + next);
  }
  return { positionsMm: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
}

/** Two boxes that share the two vertices of one edge. */
function mergedAlongEdge(): TriangleMesh {
  const one = boxMesh(10, 10, 10);
  const two = shifted(boxMesh(10, 10, 10), [10, 10, 0]);
  const positions = [...one.positionsMm, ...two.positionsMm];
  // corners 3 and 7 of the first are corners 0 and 4 of the second
  const same = new Map([
    [8, 3],
    [12, 7],
  ]);
  const triangles = [...one.triangles, ...two.triangles.map((v) => same.get(v + 8) ?? v + 8)];
  return { positionsMm: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
}
