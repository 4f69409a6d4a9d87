import type { Geometry, Job } from '../job/types.js';
import type { Assumption, Finding } from '../problems/finding.js';
import { formatShort } from '../quantity/format.js';
import type { PartMeasures } from './measure-part.js';

export interface FilledJob {
  readonly job: Job;
  /** What was taken from the mesh because the job does not say it. */
  readonly assumptions: readonly Assumption[];
  /** What the mesh shows, and where the job says otherwise. */
  readonly findings: readonly Finding[];
}

type Figure =
  | 'volumeMm3'
  | 'surfaceAreaMm2'
  | 'plateSectionMm2'
  | 'thickestSectionMm'
  | 'thinnestWallMm';

interface Measured {
  readonly field: Figure;
  readonly what: string;
  readonly unit: string;
  readonly valueMm: number | undefined;
  /** Relative difference that is worth saying: how well people and samples know the figure. */
  readonly tolerance: number;
  /** Needs a skin without gaps. */
  readonly solid: boolean;
}

/**
 * A job with its geometry filled in from the mesh of its part. What the job gives stays; where it differs from the
 * mesh by more than a few per cent, a finding says so. Supports are estimated as the down-facing skin
 * that is flatter than the overhang angle, all of it lattice; trapped powder as a closed cavity when
 * there is one and else left as the job has it.
 *
 * @param file name of the mesh, for the sources of the assumptions
 * @example
 * geometryFromMesh({ geometry: { supports: { stated: true, latticeAreaMm2: 0, latticeAccess: 'open', solidAreaMm2: 0 }, trappedPowder: 'none', powderProof: false } }, measurePart(boxMesh(40, 20, 10)), 'box.stl').job.geometry.volumeMm3 // -> 8000
 */
export function geometryFromMesh(job: Job, part: PartMeasures, file: string): FilledJob {
  const given = job.geometry;
  const assumptions: Assumption[] = [];
  const findings: Finding[] = part.findings.map((finding) => ({ ...finding, about: file }));
  const assume = (what: string, value: string): void => {
    assumptions.push({ what, value, source: `mesh ${file}`, confidence: 'computed' });
  };
  const differs = (what: string, said: string, seen: string): void => {
    findings.push({
      id: 'mesh-disagrees',
      severity: 'warning',
      message: `${what}: the job says ${said}, the mesh has ${seen}; the job's value is used`,
      about: what,
    });
  };
  const filled: { -readonly [K in keyof Geometry]: Geometry[K] } = { ...given };
  for (const { field, what, unit, valueMm, tolerance, solid } of figures(part)) {
    if (valueMm === undefined || valueMm <= 0 || (solid && !part.closed)) continue;
    const value = rounded(valueMm);
    const said = given[field];
    if (said === undefined) {
      filled[field] = value;
      assume(what, `${formatShort(value, 3)} ${unit}`);
    } else if (Math.abs(said - valueMm) > tolerance * valueMm)
      differs(what, `${formatShort(said, 3)} ${unit}`, `${formatShort(value, 3)} ${unit}`);
  }
  const [x, y, z] = part.boxMm;
  const box = [rounded(x), rounded(y), rounded(z)] as const;
  const shown = (sides: readonly number[]): string =>
    `${sides.map((side) => formatShort(side, 3)).join(' x ')} mm`;
  if (given.boxMm === undefined) {
    filled.boxMm = box;
    assume('box of the part', shown(box));
  } else if (
    given.boxMm.some((side, axis) => Math.abs(side - (box[axis] ?? 0)) > 0.5 + 0.01 * side)
  )
    differs('box of the part', shown(given.boxMm), shown(box));
  fillSupports(given, filled, part, assume, findings);
  fillPowder(given, filled, part, assume, findings);
  return { job: { ...job, geometry: filled }, assumptions, findings };
}

function figures(part: PartMeasures): readonly Measured[] {
  const { thickness } = part;
  return [
    {
      field: 'volumeMm3',
      what: 'volume',
      unit: 'mm3',
      valueMm: part.volumeMm3,
      tolerance: 0.03,
      solid: true,
    },
    {
      field: 'surfaceAreaMm2',
      what: 'surface area',
      unit: 'mm2',
      valueMm: part.surfaceAreaMm2,
      tolerance: 0.05,
      solid: false,
    },
    {
      field: 'plateSectionMm2',
      what: 'plate section',
      unit: 'mm2',
      valueMm: part.plateSection.areaMm2,
      tolerance: 0.1,
      solid: true,
    },
    {
      field: 'thickestSectionMm',
      what: 'thickest section',
      unit: 'mm',
      valueMm: thickness.thickestMm,
      tolerance: 0.15,
      solid: true,
    },
    {
      field: 'thinnestWallMm',
      what: 'thinnest wall',
      unit: 'mm',
      valueMm: thickness.thinnestWallMm,
      tolerance: 0.15,
      solid: true,
    },
  ];
}

type Assume = (what: string, value: string) => void;
type Filled = { -readonly [K in keyof Geometry]: Geometry[K] };

function fillSupports(
  given: Geometry,
  filled: Filled,
  { facing, surfaceAreaMm2 }: PartMeasures,
  assume: Assume,
  findings: Finding[],
): void {
  const area = rounded(facing.overhangMm2);
  if (!given.supports.stated) {
    filled.supports = { ...given.supports, latticeAreaMm2: area, stated: true };
    assume(
      'supports',
      `${formatShort(area, 3)} mm2 of lattice: the skin that faces down, off the plate, flatter than 45 deg`,
    );
    return;
  }
  const said = given.supports.latticeAreaMm2 + given.supports.solidAreaMm2;
  if (said > 0 || area <= 0.02 * surfaceAreaMm2) return;
  findings.push({
    id: 'mesh-unsupported',
    severity: 'warning',
    message: `the job names no supports, but ${formatShort(area, 0)} mm2 of skin face down flatter than 45 deg off the plate`,
    about: 'supports',
  });
}

function fillPowder(
  given: Geometry,
  filled: Filled,
  { cavities }: PartMeasures,
  assume: Assume,
  findings: Finding[],
): void {
  if (cavities.length === 0) return;
  if (given.trappedPowder === 'unknown') {
    filled.trappedPowder = 'closed-cavity';
    assume('trapped powder', `${cavities.length} closed in`);
  } else if (given.trappedPowder === 'none')
    findings.push({
      id: 'mesh-disagrees',
      severity: 'caution',
      message: `trapped powder: the job says none, the mesh has ${cavities.length} closed cavities`,
      about: 'trapped powder',
    });
}

/** Five digits: more would claim what neither the mesh nor the printer holds. */
function rounded(value: number): number {
  return Number(value.toPrecision(5));
}
