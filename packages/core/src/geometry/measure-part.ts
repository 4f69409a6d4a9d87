import type { Finding } from '../problems/finding.js';
import { crossingEdges, maxCrossingTriangles } from './crossings.js';
import { type CylinderFace, cylinderFaces } from './cylinders.js';
import { type MeshEdges, meshEdges } from './edges.js';
import { type FaceNormals, faceNormals } from './face-normals.js';
import { type FacingAreas, facingAreas } from './facing.js';
import { massProperties } from './mass-properties.js';
import { mergeNear } from './merge-near.js';
import { type TriangleMesh, triangleCount } from './mesh.js';
import { type PlaneFace, planeFaces } from './planes.js';
import { type Section, sectionsAt } from './section.js';
import { type Shell, type ShellMap, shellMap, shellsOf } from './shells.js';
import { measureThickness, type Thickness } from './thickness.js';
import { type TriangleTree, triangleTree } from './triangle-tree.js';
import type { Vector } from './vector.js';

/** Closed room inside the metal: powder in it cannot come out. */
export interface Cavity {
  readonly volumeMm3: number;
  readonly surfaceAreaMm2: number;
}

/** What a mesh says of a part that stands as it is printed, z up. */
export interface PartMeasures {
  readonly triangles: number;
  readonly vertices: number;
  /** Every edge has a triangle on both sides: the volume is that of a solid. */
  readonly closed: boolean;
  readonly volumeMm3: number;
  readonly surfaceAreaMm2: number;
  readonly boxMm: Vector;
  readonly lowMm: Vector;
  readonly centreMm: Vector;
  readonly heightMm: number;
  /** Area in which the part meets the plate, mm2, and the height above the plate where it was taken. */
  readonly plateSection: Section;
  /** The largest of `sections`. */
  readonly largestSection: Section;
  /** Cuts at the middles of equal layers, lowest first. */
  readonly sections: readonly Section[];
  readonly facing: FacingAreas;
  /** Height over the shorter side of the box. */
  readonly slenderness: number;
  readonly shells: readonly Shell[];
  readonly cavities: readonly Cavity[];
  readonly thickness: Thickness;
  /** Flat faces of at least `leastFaceShare` of the skin, largest first; empty when not looked for. */
  readonly planes: readonly PlaneFace[];
  /** Round holes and bosses, largest first; empty when not looked for. */
  readonly cylinders: readonly CylinderFace[];
  readonly findings: readonly Finding[];
}

export interface MeasureOptions {
  /** Down-facing skin flatter than this angle to the plate, deg, is overhang; 45 if absent. */
  readonly overhangDeg?: number;
  /** Points at which thickness is taken; 4000 if absent. */
  readonly thicknessSamples?: number;
  /** Layers of the section profile; 50 if absent. */
  readonly layers?: number;
  /** Least share of the skin that a flat face must have to be listed; 0.01 if absent. */
  readonly leastFaceShare?: number;
}

/** Most triangles of a mesh that is searched for flat and round faces. */
const maxFaceTriangles = 500_000;
/** The foot is cut this far above the lowest vertex, mm, so that rounding of coordinates is nothing. */
const footHeightMm = 0.001;
/** A rounded foot, which has hardly any area there, is cut this far up. */
const raisedFootMm = 0.1;

/**
 * Measures a part from its mesh. Where the skin is open, vertices parted by rounding are merged (within a
 * millionth of the diagonal), and a closed skin that faces inwards is turned; whatever else is wrong with the mesh is reported and left as it is.
 *
 * @example
 * measurePart(boxMesh(40, 20, 10)).plateSection.areaMm2 // -> 800
 */
export function measurePart(given: TriangleMesh, options: MeasureOptions = {}): PartMeasures {
  const findings: Finding[] = [];
  const find = (id: string, severity: Finding['severity'], message: string): void => {
    findings.push({ id, severity, message });
  };
  const { mesh, edges, map, tree, shells } = oriented(mended(given, find), find);
  const mass = massProperties(mesh);
  const { boxMm, lowMm } = mass;
  const heightMm = boxMm[2];
  const diagonal = Math.hypot(...boxMm);
  const closed = edges.open + edges.flipped + edges.nonManifold - edges.balanced === 0;
  describeEdges(edges, find);
  if (mass.slivers > 0)
    find('mesh-slivers', 'note', `${mass.slivers} triangles without area: they change no figure`);
  describeSize(Math.max(...boxMm), find);
  const cavities = cavitiesOf(shells, map.count, find);
  const faces = faceNormals(mesh);
  describeCrossings(tree, edges, faces, 1e-5 * diagonal, find);
  const { planes, cylinders } = flatAndRound(tree, edges, faces, diagonal, options, find);
  const layers = options.layers ?? 50;
  const sections = sectionsAt(
    mesh,
    Array.from({ length: layers }, (_, layer) => lowMm[2] + ((layer + 0.5) * heightMm) / layers),
  );
  const plateSection = footOf(mesh, lowMm[2], heightMm, find);
  return {
    triangles: triangleCount(mesh),
    vertices: mesh.positionsMm.length / 3,
    closed,
    volumeMm3: mass.volumeMm3,
    surfaceAreaMm2: mass.surfaceAreaMm2,
    boxMm,
    lowMm,
    centreMm: mass.centreMm,
    heightMm,
    plateSection,
    largestSection: sections.reduce(
      (most, section) => (section.areaMm2 > most.areaMm2 ? section : most),
      plateSection,
    ),
    sections,
    facing: facingAreas(mesh, options.overhangDeg),
    slenderness: heightMm / Math.min(boxMm[0], boxMm[1]),
    shells,
    cavities,
    thickness: measureThickness(tree, options.thicknessSamples),
    planes,
    cylinders,
    findings,
  };
}

function footOf(mesh: TriangleMesh, lowMm: number, heightMm: number, find: Find): Section {
  const [foot, raised] = sectionsAt(mesh, [
    lowMm + Math.min(footHeightMm, heightMm / 2),
    lowMm + Math.min(raisedFootMm, heightMm / 2),
  ]);
  if (foot === undefined || raised === undefined) throw new RangeError('sections are missing');
  if (foot.areaMm2 >= 0.1 * raised.areaMm2) return foot;
  find(
    'mesh-rounded-foot',
    'note',
    `the part meets the plate in a point or a line: its foot is taken ${raisedFootMm} mm above`,
  );
  return raised;
}

type Find = (id: string, severity: Finding['severity'], message: string) => void;

interface Oriented {
  readonly mesh: TriangleMesh;
  readonly edges: MeshEdges;
  readonly map: ShellMap;
  readonly tree: TriangleTree;
  readonly shells: readonly Shell[];
}

/** A gap narrower than this share of the part's diagonal is rounding of 32-bit coordinates. */
const roundingShare = 1e-6;

/** Where edges are open, vertices that rounding has parted are merged, if that closes any. */
function mended(mesh: TriangleMesh, find: Find): TriangleMesh {
  const { open } = meshEdges(mesh);
  if (open === 0) return mesh;
  const { boxMm } = massProperties(mesh);
  const toleranceMm = roundingShare * Math.hypot(...boxMm);
  const merged = mergeNear(mesh, toleranceMm);
  if (merged.triangles.length === 0) return mesh;
  const left = meshEdges(merged).open;
  if (left >= open) return mesh;
  find(
    'mesh-merged',
    'note',
    `${(mesh.positionsMm.length - merged.positionsMm.length) / 3} vertices merged with others within ${toleranceMm.toPrecision(2)} mm: ${open - left} of ${open} open edges closed`,
  );
  return merged;
}

/** Turns closed outer shells that face inwards: the one repair that cannot be wrong. */
function oriented(mesh: TriangleMesh, find: Find): Oriented {
  const edges = meshEdges(mesh);
  const map = shellMap(mesh, edges);
  const tree = triangleTree(mesh);
  const shells = shellsOf(mesh, edges, map, tree);
  const wrong = shells.map(
    ({ closed, depth, volumeMm3 }) => closed && depth === 0 && volumeMm3 < 0,
  );
  const count = wrong.filter((each) => each).length;
  if (count === 0) return { mesh, edges, map, tree, shells };
  find(
    'mesh-turned',
    'warning',
    `${count} of ${map.count} closed skins faced inwards and were turned`,
  );
  const triangles = mesh.triangles.slice();
  for (const [triangle, shell] of map.shellOf.entries()) {
    if (wrong[shell] !== true) continue;
    triangles[3 * triangle + 1] = mesh.triangles[3 * triangle + 2] as number;
    triangles[3 * triangle + 2] = mesh.triangles[3 * triangle + 1] as number;
  }
  return oriented({ ...mesh, triangles }, find);
}

function describeEdges({ open, nonManifold, flipped, balanced }: MeshEdges, find: Find): void {
  if (open > 0)
    find(
      'mesh-open',
      'warning',
      `${open} edges have a triangle on one side only: the skin has gaps, and volume and sections are estimates`,
    );
  if (nonManifold > 0)
    find(
      'mesh-non-manifold',
      nonManifold === balanced ? 'note' : 'warning',
      `more than two triangles meet at ${nonManifold} edges: bodies touch there or walls have no thickness`,
    );
  if (flipped > 0)
    find(
      'mesh-flipped',
      'warning',
      `at ${flipped} edges the neighbouring triangles face opposite ways: volume and sections are estimates`,
    );
}

function describeSize(largest: number, find: Find): void {
  const shown = largest < 0.1 ? largest.toPrecision(2) : largest.toFixed(1);
  if (largest < 2)
    find('mesh-small', 'warning', `the part is ${shown} mm at its largest: is the unit right?`);
  if (largest > 1500)
    find('mesh-large', 'warning', `the part is ${shown} mm at its largest: is the unit right?`);
}

function cavitiesOf(shells: readonly Shell[], count: number, find: Find): readonly Cavity[] {
  const cavities: Cavity[] = [];
  let nested = 0;
  let separate = 0;
  for (const { closed, depth, volumeMm3, surfaceAreaMm2 } of shells) {
    if (depth === undefined || !closed) continue;
    if (depth === 0) separate++;
    if (depth % 2 === 1 && volumeMm3 < 0) cavities.push({ volumeMm3: -volumeMm3, surfaceAreaMm2 });
    else if (depth % 2 === 1) nested++;
  }
  cavities.sort((a, b) => b.volumeMm3 - a.volumeMm3);
  if (shells.some(({ depth }) => depth === undefined))
    find(
      'mesh-many-shells',
      'warning',
      `${count} separate skins: closed cavities were not looked for`,
    );
  if (nested > 0)
    find(
      'mesh-nested',
      'warning',
      `${nested} skins lie inside another and face outwards: their volume counts twice, and a cavity meant there is not seen`,
    );
  if (separate > 1)
    find('mesh-several-bodies', 'warning', `${separate} bodies are measured together as one part`);
  if (cavities.length > 0)
    find(
      'mesh-closed-cavity',
      'caution',
      `${cavities.length} closed ${cavities.length === 1 ? 'cavity holds' : 'cavities hold'} ${(cavities.reduce((sum, { volumeMm3 }) => sum + volumeMm3, 0) / 1000).toFixed(2)} cm3 of powder that cannot come out`,
    );
  return cavities;
}

function describeCrossings(
  tree: TriangleTree,
  edges: MeshEdges,
  faces: FaceNormals,
  depthMm: number,
  find: Find,
): void {
  const count = triangleCount(tree.mesh);
  if (count > maxCrossingTriangles) {
    find(
      'mesh-crossing-not-checked',
      'note',
      `not checked whether the skin crosses itself: ${count} triangles, checked up to ${maxCrossingTriangles}`,
    );
    return;
  }
  const most = 1000;
  const crossings = crossingEdges(tree, edges, faces, depthMm, most);
  if (crossings === undefined)
    find(
      'mesh-crossing-not-checked',
      'warning',
      'not checked whether the skin crosses itself: so many skins lie on each other that volume and sections count them many times',
    );
  else if (crossings > 0)
    find(
      'mesh-crossing',
      'warning',
      `the skin crosses itself at ${crossings === most ? `${most} or more` : crossings} edges: volume and sections count the overlap twice`,
    );
}

function flatAndRound(
  tree: TriangleTree,
  edges: MeshEdges,
  faces: FaceNormals,
  diagonal: number,
  options: MeasureOptions,
  find: Find,
): Pick<PartMeasures, 'planes' | 'cylinders'> {
  const count = triangleCount(tree.mesh);
  if (count > maxFaceTriangles) {
    find(
      'mesh-faces-not-searched',
      'note',
      `flat and round faces not looked for: ${count} triangles, done up to ${maxFaceTriangles}`,
    );
    return { planes: [], cylinders: [] };
  }
  // 32-bit coordinates are good to a ten-millionth of the part
  const toleranceMm = 2e-6 * diagonal;
  const { faces: cylinders, taken } = cylinderFaces(tree, edges, faces, toleranceMm);
  const area = faces.areasMm2.reduce((sum, each) => sum + each, 0);
  const least = (options.leastFaceShare ?? 0.01) * area;
  const planes = planeFaces(tree.mesh, edges, faces, taken, least, 2e-5 * diagonal);
  return { planes, cylinders };
}
