import type { Direction, Facing } from '../job/types.js';
import { formatShort } from '../quantity/format.js';
import type { CylinderFace } from './cylinders.js';
import type { PartMeasures } from './measure-part.js';

type Measured = Pick<PartMeasures, 'planes' | 'cylinders' | 'lowMm'>;

import type { PlaneFace } from './planes.js';
import type { Vector } from './vector.js';

/** A feature that a mesh suggests. What it must hold (limits, roughness, datums) only the drawing says. */
export interface CandidateFeature {
  readonly id: string;
  readonly kind: 'plane' | 'bore' | 'shaft';
  readonly name: string;
  readonly count: number;
  /** Diameter of a round one, mm. */
  readonly sizeMm?: number;
  readonly lengthMm?: number;
  readonly widthMm?: number;
  readonly depthMm?: number;
  readonly areaMm2?: number;
  readonly facing: Facing;
  readonly angleDeg: number;
  readonly supported: boolean;
  readonly access: readonly Direction[];
  readonly note: string;
}

/** Directions within this angle of an axis count as along it. */
const alongCosine = Math.cos((1 * Math.PI) / 180);
/** Most flat faces that are suggested. */
const mostPlanes = 12;

/**
 * Flat faces, holes and bosses of a measured part as rows of a features table, alike ones counted.
 *
 * @example
 * candidateFeatures(measurePart(boxMesh(40, 20, 10))).map(({ id, areaMm2 }) => `${id} ${areaMm2}`) // -> ["P1 800", "P2 800", "P3 400", "P4 400", "P5 200", "P6 200"]
 */
export function candidateFeatures(part: Measured): readonly CandidateFeature[] {
  return [
    ...part.planes.slice(0, mostPlanes).map((face, index) => planeFeature(face, index, part)),
    ...rounds(part, 'hole'),
    ...rounds(part, 'boss'),
  ];
}

function planeFeature(face: PlaneFace, index: number, part: Measured): CandidateFeature {
  const { normal, centreMm, extentsMm } = face;
  const [longer, shorter] = extentsMm[0] >= extentsMm[1] ? extentsMm : [extentsMm[1], extentsMm[0]];
  const angleDeg = (Math.acos(Math.min(1, Math.abs(normal[2]))) * 180) / Math.PI;
  const onPlate = normal[2] <= -alongCosine && centreMm[2] <= part.lowMm[2] + 0.001;
  const outside = directionOf(normal);
  return {
    id: `P${index + 1}`,
    kind: 'plane',
    name: onPlate ? 'foot on the plate' : `face ${outside ?? 'aslant'}`,
    count: 1,
    lengthMm: rounded(longer),
    widthMm: rounded(shorter),
    areaMm2: rounded(face.areaMm2),
    facing: facingOf(normal[2], angleDeg),
    angleDeg: Math.round(angleDeg),
    supported: !onPlate && normal[2] < -1e-6 && angleDeg < 45,
    access: outside === undefined ? [] : [outside],
    note:
      outside === undefined
        ? `looks along ${normal.map((part) => formatShort(part, 3)).join(' ')}`
        : `at ${outside.charAt(1)} = ${formatShort(dotWithAxis(centreMm, outside), 3)} mm`,
  };
}

function rounds(part: Measured, kind: CylinderFace['kind']): readonly CandidateFeature[] {
  const groups = new Map<string, CylinderFace[]>();
  for (const face of part.cylinders) {
    if (face.kind !== kind) continue;
    const key = [
      face.diameterMm.toFixed(2),
      face.lengthMm.toFixed(1),
      directionOf(face.axis) ?? face.axis.map((part) => part.toFixed(2)).join(' '),
      ...face.openEnds,
    ].join('|');
    groups.set(key, [...(groups.get(key) ?? []), face]);
  }
  const letter = kind === 'hole' ? 'B' : 'D';
  return [...groups.values()].map((alike, index) => {
    const [first] = alike;
    if (first === undefined) throw new RangeError('a group of alike faces is empty');
    const angleDeg = (Math.asin(Math.min(1, Math.abs(first.axis[2]))) * 180) / Math.PI;
    return {
      id: `${letter}${index + 1}`,
      kind: kind === 'hole' ? 'bore' : 'shaft',
      name: nameOf(first),
      count: alike.length,
      sizeMm: rounded(first.diameterMm),
      depthMm: rounded(first.lengthMm),
      facing: angleDeg > 80 ? 'up' : angleDeg < 10 ? 'side' : 'angled',
      angleDeg: Math.round(angleDeg > 80 ? 0 : 90 - angleDeg),
      supported: false,
      access: accessTo(first),
      note: alike
        .slice(0, 6)
        .map(({ centreMm }) => centreMm.map((part) => formatShort(part, 2)).join(' '))
        .join('; '),
    };
  });
}

function nameOf({ kind, openEnds, coverageDeg }: CylinderFace): string {
  const whole = coverageDeg === 360 ? '' : `, ${Math.round(coverageDeg)} deg of it`;
  if (kind === 'boss') return `round outside${whole}`;
  const open = openEnds.filter((end) => end).length;
  return `${open === 2 ? 'through hole' : open === 1 ? 'blind hole' : 'hole inside'}${whole}`;
}

function accessTo({ kind, axis, toolEnds }: CylinderFace): readonly Direction[] {
  const along = directionOf(axis);
  if (along === undefined) return [];
  const name = along.charAt(1);
  const positive = along.startsWith('+');
  const sides: Direction[] = [];
  const [before, after] = positive ? toolEnds : [toolEnds[1], toolEnds[0]];
  if (kind === 'boss' || after) sides.push(`+${name}` as Direction);
  if (kind === 'boss' || before) sides.push(`-${name}` as Direction);
  return sides;
}

function facingOf(z: number, angleDeg: number): Facing {
  if (angleDeg > 80) return 'side';
  if (angleDeg > 10) return 'angled';
  return z > 0 ? 'up' : 'down';
}

/** The axis along which a direction runs; undefined when it is aslant. */
function directionOf(direction: Vector): Direction | undefined {
  for (const [axis, name] of (['x', 'y', 'z'] as const).entries()) {
    const part = direction[axis] ?? 0;
    if (Math.abs(part) >= alongCosine) return `${part > 0 ? '+' : '-'}${name}`;
  }
  return undefined;
}

function dotWithAxis(point: Vector, direction: Direction): number {
  return point[direction.endsWith('x') ? 0 : direction.endsWith('y') ? 1 : 2];
}

/** To the hundredth: meshes are not finer. */
function rounded(value: number): number {
  return Math.round(value * 100) / 100;
}
