import { boxMesh, type DrawingBlock, type TriangleMesh, travellerSheet } from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type PartView, partView } from '../../packages/core/src/sheets/part-view.js';
import { chained } from '../../packages/core/src/sheets/polylines.js';
import { samplePlan } from '../fixtures/sample-plan.js';

function viewOf(mesh: TriangleMesh): PartView {
  const view = partView(mesh, 100, 100);
  if (view === undefined) throw new Error('no view');
  return view;
}

/** Length of all lines on paper, mm. */
function inked({ lines }: PartView): number {
  let length = 0;
  for (const line of lines)
    for (const [index, [x, y]] of line.entries()) {
      const [px, py] = line[index - 1] ?? [x, y];
      length += Math.hypot(x - px, y - py);
    }
  return length;
}

function moved(mesh: TriangleMesh, by: readonly [number, number, number]): TriangleMesh {
  const positionsMm = mesh.positionsMm.map((value, index) => value + (by[index % 3] ?? 0));
  return { positionsMm, triangles: mesh.triangles };
}

function together(one: TriangleMesh, other: TriangleMesh): TriangleMesh {
  const count = one.positionsMm.length / 3;
  return {
    positionsMm: Float64Array.of(...one.positionsMm, ...other.positionsMm),
    triangles: Uint32Array.of(...one.triangles, ...other.triangles.map((v) => v + count)),
  };
}

describe('visible lines of a part', () => {
  test('a cube shows nine of its twelve edges, all of one length', () => {
    const view = viewOf(boxMesh(10, 10, 10));
    // an edge of an isometric cube is sqrt(2/3) of its length; the picture is two edges high
    const edge = view.heightMm / 2;
    expect(view.heightMm).toBeCloseTo(100, 6);
    expect(view.widthMm / edge).toBeCloseTo(Math.sqrt(3), 6);
    expect(inked(view) / edge).toBeCloseTo(9, 1);
  });

  test('what stands behind draws no line, what stands in front hides', () => {
    const cube = boxMesh(10, 10, 10);
    const alone = viewOf(cube);
    // towards the eye is (1, -1, 1): a small cube behind is hidden altogether
    const behind = viewOf(together(cube, moved(boxMesh(3, 3, 3), [-11.5, 18.5, -11.5])));
    expect(inked(behind) / behind.heightMm).toBeCloseTo(inked(alone) / alone.heightMm, 1);
    const before = viewOf(together(cube, moved(boxMesh(3, 3, 3), [18.5, -11.5, 18.5])));
    // its nine edges appear, and what it covers of the cube's inner corner does not
    const small = 9 * 0.3 - 3 * 0.3;
    expect(inked(before) / (before.heightMm / 2)).toBeCloseTo(9 + small, 1);
  });

  test('the top is white, the front pale, the right side darker: each as large as its face', () => {
    const { shades, heightMm } = viewOf(boxMesh(10, 10, 10));
    const area = (name: 'pale' | 'light'): number =>
      shades[name].reduce((sum, [, , width, height]) => sum + width * height, 0);
    // a face of an isometric cube covers sqrt(3)/2 of the square of its edge on paper
    const face = (Math.sqrt(3) / 2) * (heightMm / 2) ** 2;
    expect(area('pale') / face).toBeCloseTo(1, 1);
    expect(area('light') / face).toBeCloseTo(1, 1);
  });

  test('lines and shades stay inside the picture, for any box', () => {
    const edge = fc.double({ min: 0.1, max: 500, noNaN: true });
    fc.assert(
      fc.property(edge, edge, edge, (x, y, z) => {
        const view = viewOf(boxMesh(x, y, z));
        expect(view.widthMm).toBeLessThanOrEqual(100 + 1e-9);
        expect(view.heightMm).toBeLessThanOrEqual(100 + 1e-9);
        for (const [px, py] of view.lines.flat()) {
          expect(px).toBeGreaterThan(-0.2);
          expect(px).toBeLessThan(view.widthMm + 0.2);
          expect(py).toBeGreaterThan(-0.2);
          expect(py).toBeLessThan(view.heightMm + 0.2);
        }
      }),
      { seed: 8, numRuns: 20 },
    );
  });

  test('a mesh without extent has no picture', () => {
    const flat = { positionsMm: new Float64Array(9), triangles: Uint32Array.of(0, 1, 2) };
    expect(partView(flat, 100, 100)).toBeUndefined();
    expect(
      partView({ positionsMm: new Float64Array(0), triangles: new Uint32Array(0) }, 9, 9),
    ).toBe(undefined);
  });
});

test('pieces that meet become one line, in any order and direction', () => {
  const corner = [
    [
      [0, 0],
      [5, 0],
    ],
    [
      [10, 0],
      [5, 0],
    ],
    [
      [10, 0],
      [10, 4],
    ],
  ] as const;
  for (const order of [
    [0, 1, 2],
    [2, 0, 1],
    [1, 2, 0],
  ]) {
    const lines = chained(order.flatMap((index) => [corner[index] ?? []]));
    expect(lines).toHaveLength(1);
    expect([...(lines[0] ?? [])].sort(([ax, ay], [bx, by]) => ax - bx || ay - by)).toEqual([
      [0, 0],
      [10, 0],
      [10, 4],
    ]);
  }
});

test('the first page of a traveller carries the picture and the extents', () => {
  const sheet = travellerSheet(samplePlan, { format: 'A4', mesh: boxMesh(30, 20, 12.5) });
  const picture = sheet.blocks.find((block): block is DrawingBlock => block.type === 'drawing');
  const texts = picture?.marks.flatMap((mark) => (mark.kind === 'text' ? [mark.text] : []));
  expect(texts).toEqual(['x', 'y', 'z', 'x 30 mm', 'y 20 mm', 'z 12.5 mm (build direction)']);
  const at = sheet.blocks.findIndex((block) => block.type === 'route-strip');
  expect(sheet.blocks.findIndex((block) => block.type === 'drawing')).toBeLessThan(at);
  expect(JSON.parse(JSON.stringify(sheet))).toEqual(sheet);
});
