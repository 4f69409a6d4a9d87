import type { Finding } from '../problems/finding.js';
import type { Place } from '../problems/problem.js';
import { maxCoordinateMm, maxTriangles, meshError, type TriangleMesh } from './mesh.js';
import { type Model, type ModelObject, type Placed, readModelPart } from './model-part.js';
import { openEntry } from './open-package.js';
import { VertexTable } from './vertex-table.js';
import { readXml } from './xml-reader.js';

/** Type of the relationship that leads to the model (3MF core specification, section 2.1). */
const modelRelationship = 'http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel';

/**
 * Reads what a 3MF file builds: every build item with its transforms, in mm. Objects of type
 * `support`, `solidsupport`, `surface` and `other` are left out and reported.
 */
export function read3mf(
  bytes: Uint8Array,
  file: Place,
): {
  readonly mesh: TriangleMesh;
  readonly dropped: number;
  readonly title: string;
  readonly findings: readonly Finding[];
} {
  const name = modelPartName(bytes, file);
  const place = { ...file, path: name };
  const model = readModelPart(openEntry(bytes, name, file), place);
  const findings: Finding[] = [];
  if (model.items.length > 1)
    findings.push({
      id: 'mesh-several-items',
      severity: 'warning',
      message: `the file builds ${model.items.length} items; they are measured together as one part`,
    });
  if (model.items.length === 0)
    throw meshError('missing-field', place, 'the model builds nothing', undefined, 'a build item');
  checkSize(model, place);
  return { ...assemble(model, place, findings), title: model.title, findings };
}

function modelPartName(bytes: Uint8Array, file: Place): string {
  const rels = '_rels/.rels';
  const targets: string[] = [];
  readXml(
    openEntry(bytes, rels, file),
    { ...file, path: rels },
    {
      open(element) {
        if (element.name !== 'Relationship' || element.attribute('Type') !== modelRelationship)
          return;
        const target = element.attribute('Target') ?? '';
        const external = element.attribute('TargetMode') === 'External';
        const steps = target.replace(/^\//, '').split('/');
        if (
          external ||
          target === '' ||
          /[\\:]/.test(target) ||
          steps.some((step) => step === '..' || step === '.' || step === '')
        )
          throw meshError(
            'mesh-format',
            element.place,
            'the model lies outside the file',
            target,
            'a part of this file, e.g. /3D/3dmodel.model',
          );
        targets.push(steps.join('/'));
      },
      close() {},
      text() {},
    },
  );
  const [target] = targets;
  if (target === undefined || targets.length > 1)
    throw meshError(
      'mesh-format',
      { ...file, path: rels },
      `the file names ${targets.length} models`,
      targets.join(', '),
      'one relationship to a 3D model',
    );
  return target;
}

const isPart = (object: ModelObject): boolean => object.type === 'model';

/** Components can multiply: the number of triangles is known before any is made. */
function checkSize(model: Model, place: Place): void {
  const counts = new Map<string, number>();
  // objects stand in the order of their definition, components before what holds them
  for (const object of model.objects.values()) {
    let count = object.triangles.length / 3;
    for (const { objectId } of object.components) count += counts.get(objectId) ?? 0;
    counts.set(object.id, count);
  }
  const total = model.items.reduce((sum, { objectId }) => sum + (counts.get(objectId) ?? 0), 0);
  const deepest = Math.max(0, ...depths(model).values());
  if (total > maxTriangles)
    throw meshError('too-large', place, 'too many triangles', total, `at most ${maxTriangles}`);
  if (deepest > 100)
    throw meshError(
      'too-large',
      place,
      'components are nested too deep',
      deepest,
      'at most 100 levels',
    );
}

function depths(model: Model): ReadonlyMap<string, number> {
  const found = new Map<string, number>();
  for (const object of model.objects.values()) {
    let depth = 0;
    for (const { objectId } of object.components)
      depth = Math.max(depth, 1 + (found.get(objectId) ?? 0));
    found.set(object.id, depth);
  }
  return found;
}

type Map3 = readonly [
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
];

function assemble(
  model: Model,
  place: Place,
  findings: Finding[],
): { readonly mesh: TriangleMesh; readonly dropped: number } {
  const table = new VertexTable(1024);
  const parts: Uint32Array[] = [];
  let dropped = 0;
  let placements = 0;
  const left = new Map<string, number>();

  const add = (placed: Placed, outer: Map3): void => {
    if (++placements > 1_000_000)
      throw meshError('too-large', place, 'too many components', placements, 'at most 1000000');
    const object = model.objects.get(placed.objectId);
    if (object === undefined) return;
    if (!isPart(object)) {
      left.set(object.type, (left.get(object.type) ?? 0) + 1);
      return;
    }
    const map = placed.transform === undefined ? outer : product(placed.transform, outer);
    const mirrored = determinantSign(map, placed.place);
    for (const component of object.components) add(component, map);
    if (object.triangles.length === 0) return;
    const { triangles, numbers } = { triangles: object.triangles, numbers: moved(object, map) };
    const out = new Uint32Array(triangles.length);
    let kept = 0;
    for (let at = 0; at < triangles.length; at += 3) {
      const a = numbers[triangles[at] as number] as number;
      const b = numbers[triangles[at + 1] as number] as number;
      const c = numbers[triangles[at + 2] as number] as number;
      if (a === b || b === c || c === a) continue;
      out[kept] = a;
      out[kept + 1] = mirrored ? c : b;
      out[kept + 2] = mirrored ? b : c;
      kept += 3;
    }
    dropped += (triangles.length - kept) / 3;
    parts.push(out.subarray(0, kept));
  };

  const moved = (object: ModelObject, m: Map3): Uint32Array => {
    const { positions } = object;
    const numbers = new Uint32Array(positions.length / 3);
    for (let vertex = 0; vertex < numbers.length; vertex++) {
      const px = positions[3 * vertex] as number;
      const py = positions[3 * vertex + 1] as number;
      const pz = positions[3 * vertex + 2] as number;
      const x = px * m[0] + py * m[3] + pz * m[6] + m[9];
      const y = px * m[1] + py * m[4] + pz * m[7] + m[10];
      const z = px * m[2] + py * m[5] + pz * m[8] + m[11];
      if (!(Math.abs(x) + Math.abs(y) + Math.abs(z) <= maxCoordinateMm))
        throw meshError(
          'out-of-range',
          { ...place, path: `${place.path ?? ''} object ${object.id} vertex ${vertex}` },
          'the vertex has no usable coordinates',
          `${x}, ${y}, ${z} mm`,
          `within ${maxCoordinateMm} mm of the origin`,
        );
      numbers[vertex] = table.add(x, y, z);
    }
    return numbers;
  };

  const s = model.scaleMm;
  for (const item of model.items) add(item, [s, 0, 0, 0, s, 0, 0, 0, s, 0, 0, 0]);
  for (const [type, count] of [...left].sort())
    findings.push({
      id: 'mesh-objects-left-out',
      severity: 'note',
      message: `${count} ${count === 1 ? 'object' : 'objects'} of type ${type} left out: not the part`,
      about: type,
    });
  const triangles = new Uint32Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    triangles.set(part, at);
    at += part.length;
  }
  return { mesh: { positionsMm: table.positions(), triangles }, dropped };
}

/** First `inner`, then `outer`. */
function product(inner: readonly number[], outer: Map3): Map3 {
  const [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0, g = 0, h = 0, i = 0, x = 0, y = 0, z = 0] =
    inner;
  const row = (p: number, q: number, r: number): [number, number, number] => [
    p * outer[0] + q * outer[3] + r * outer[6],
    p * outer[1] + q * outer[4] + r * outer[7],
    p * outer[2] + q * outer[5] + r * outer[8],
  ];
  const [tx, ty, tz] = row(x, y, z);
  return [
    ...row(a, b, c),
    ...row(d, e, f),
    ...row(g, h, i),
    tx + outer[9],
    ty + outer[10],
    tz + outer[11],
  ];
}

/** True when the map mirrors; a map that flattens is an error. */
function determinantSign(m: Map3, place: Place): boolean {
  const determinant =
    m[0] * (m[4] * m[8] - m[5] * m[7]) -
    m[1] * (m[3] * m[8] - m[5] * m[6]) +
    m[2] * (m[3] * m[7] - m[4] * m[6]);
  if (!Number.isFinite(determinant) || determinant === 0)
    throw meshError(
      'mesh-format',
      place,
      'the transform flattens the object',
      `determinant ${determinant}`,
      'a determinant other than 0',
    );
  return determinant < 0;
}
