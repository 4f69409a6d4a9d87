import { bounds } from '../geometry/mass-properties.js';
import type { TriangleMesh } from '../geometry/mesh.js';
import { type PartView, partView } from './part-view.js';
import { shortest } from './print-numbers.js';
import type { Block, DrawingMark, PointMm } from './types.js';

const widthMm = 178;
const pictureMm = 104;
const mostHeightMm = 62;
const axisMm = 9;

/** The part from in front, right and above, as lines with shaded faces, and its extents. */
export function partPicture(mesh: TriangleMesh): readonly Block[] {
  const view = partView(mesh, pictureMm, mostHeightMm);
  if (view === undefined) return [];
  const { low, high } = bounds(mesh);
  const extents = [0, 1, 2].map((axis) => (high[axis] ?? 0) - (low[axis] ?? 0));
  const [x = 0, y = 0, z = 0] = extents;
  const heightMm = Math.max(view.heightMm, 34) + 2;
  const left = (pictureMm - view.widthMm) / 2;
  const top = (heightMm - view.heightMm) / 2;
  const place = ([px, py]: PointMm): PointMm => [left + px, top + py];
  return [
    {
      type: 'drawing',
      widthMm,
      heightMm,
      marks: [
        ...(['pale', 'light'] as const).map(
          (shade): DrawingMark => ({
            kind: 'spans',
            shade,
            boxes: view.shades[shade].map(([px, py, w, h]) => [left + px, top + py, w, h]),
          }),
        ),
        ...view.lines.map(
          (points): DrawingMark => ({ kind: 'line', points: points.map(place), weight: 'thin' }),
        ),
        ...axisMarks(view, [pictureMm + 20, heightMm / 2 + 4]),
        ...[
          `x ${shortest(x, 1)} mm`,
          `y ${shortest(y, 1)} mm`,
          `z ${shortest(z, 1)} mm (build direction)`,
        ].map(
          (text, index): DrawingMark => ({
            kind: 'text',
            at: [pictureMm + 38, heightMm / 2 - 4 + 4.5 * index],
            text,
            align: 'left',
            style: 'body',
          }),
        ),
      ],
      inWords: `The part from in front, from the right and from above: ${extents.map((extent) => shortest(extent, 1)).join(' × ')} mm`,
    },
  ];
}

/** Three arrows from one point, each with its letter. */
function axisMarks({ axes }: PartView, [ox, oy]: PointMm): readonly DrawingMark[] {
  return (['x', 'y', 'z'] as const).flatMap((name): DrawingMark[] => {
    const [dx, dy] = axes[name];
    const length = Math.hypot(dx, dy) || 1;
    const [ux, uy] = [dx / length, dy / length];
    return [
      {
        kind: 'line',
        points: [
          [ox, oy],
          [ox + ux * axisMm, oy + uy * axisMm],
        ],
        weight: 'thin',
        arrow: 'end',
      },
      {
        kind: 'text',
        at: [ox + ux * (axisMm + 2.5), oy + uy * (axisMm + 2.5)],
        text: name,
        align: 'centre',
        style: 'label',
      },
    ];
  });
}
