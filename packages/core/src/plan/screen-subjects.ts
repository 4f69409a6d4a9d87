import type { CylinderFace } from '../geometry/cylinders.js';
import type { PartMeasures } from '../geometry/measure-part.js';
import { featureGeometry } from '../job/feature-geometry.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Feature } from '../job/types.js';
import { formatShort } from '../quantity/format.js';
import { axisIsVertical, isPlateSide } from '../route/as-built-state.js';
import type { ScreenCheckId } from './screen-types.js';

/** What a check finds to look at. */
export interface Seen {
  readonly about: string;
  readonly seen: number;
  readonly note?: string;
  /** It may not apply, or is provided for: never worse than `care`. */
  readonly mild?: boolean;
}

/** Down-facing skin of the mesh below this share of all skin is not worth a word. */
const leastSkinShare = 0.005;
/** A face flatter than this hangs as a ceiling. */
const ceilingDeg = 10;
/** A round face that goes this far round is a whole hole or pin. */
const wholeDeg = 355;

/**
 * The values that the checks look at.
 *
 * @param solid ids of features that are printed solid or closed: their printed shape does not matter
 */
export function screenSubjects(
  context: PlanningContext,
  solid: ReadonlySet<string>,
  measures: PartMeasures | undefined,
): Readonly<Partial<Record<ScreenCheckId, readonly Seen[]>>> {
  const { features, geometry } = context.job;
  const open = features.filter((feature) => !solid.has(feature.id));
  const of = (
    chosen: readonly Feature[],
    value: (feature: Feature, sizes: ReturnType<typeof featureGeometry>) => number | undefined,
    note?: string,
  ): readonly Seen[] =>
    chosen.flatMap((feature) => {
      const seen = value(feature, featureGeometry(feature, context));
      if (seen === undefined) return [];
      return [{ about: feature.id, seen, ...(note === undefined ? {} : { note, mild: true }) }];
    });
  const holes = open.filter(({ kind, thread }) => kind === 'bore' || thread?.internal === true);
  const pins = features.filter(
    ({ kind, thread }) => kind === 'shaft' || thread?.internal === false,
  );
  const channels = features.filter(({ kind }) => kind === 'channel');
  const slots = open.filter(({ kind }) => kind === 'slot');
  const lying = holes.filter((feature) => feature.access.length > 0 && !axisIsVertical(feature));
  const hanging = features.filter(
    (feature) => feature.facing === 'down' && !feature.supported && !isPlateSide(feature),
  );
  const faces = hanging.filter(({ kind }) => kind === 'plane' || kind === 'freeform');
  const across: Parameters<typeof of>[1] = (_, { acrossMm }) =>
    acrossMm > 0 ? acrossMm : undefined;
  const powder = geometry.trappedPowder !== 'none' ? channels : [];
  return {
    wall: part(geometry.thinnestWallMm, measures?.thickness.thinnestWallMm),
    pin: [...of(pins, across), ...smallest('boss', measures)],
    hole: [...of([...holes, ...channels], across), ...smallest('hole', measures)],
    gap: [...of(slots, across), ...mesh(measures?.thickness.narrowestGapMm)],
    'lying-hole': [...of(lying, across), ...of(channels, across, 'if it runs level')],
    overhang: [...of(faces, ({ angleDeg }) => angleDeg), ...flattestSkin(context, measures)],
    span: [
      ...of(
        slots.filter(
          ({ access }) => access.length > 0 && !access.some((side) => side.endsWith('z')),
        ),
        across,
        'if the slot lies level',
      ),
      ...of(
        faces.filter(({ angleDeg }) => angleDeg !== undefined && angleDeg < ceilingDeg),
        ({ widthMm }) => widthMm,
      ),
    ],
    'escape-hole': of(powder, across),
    'channel-length': of(powder, ({ lengthMm }, { acrossMm }) =>
      lengthMm === undefined || acrossMm <= 0 ? undefined : lengthMm / acrossMm,
    ),
    slenderness: part(
      geometry.boxMm === undefined
        ? undefined
        : geometry.boxMm[2] / Math.min(geometry.boxMm[0], geometry.boxMm[1]),
      measures?.slenderness,
    ),
    'free-standing': of(pins.filter(axisIsVertical), ({ lengthMm, depthMm }, { acrossMm }) => {
      const height = lengthMm ?? depthMm;
      return height === undefined || acrossMm <= 0 ? undefined : height / acrossMm;
    }),
  };
}

/** The job's figure, and the mesh's where it is another one. */
function part(said: number | undefined, measured: number | undefined): readonly Seen[] {
  const own = said === undefined ? [] : [{ about: 'part', seen: said }];
  const same = said !== undefined && measured !== undefined && Math.abs(measured / said - 1) < 0.01;
  return same ? own : [...own, ...mesh(measured)];
}

function mesh(seen: number | undefined): readonly Seen[] {
  return seen === undefined ? [] : [{ about: 'mesh', seen }];
}

/** The smallest whole hole or pin that the mesh has. */
function smallest(kind: CylinderFace['kind'], measures: PartMeasures | undefined): readonly Seen[] {
  const [least] = (measures?.cylinders ?? [])
    .filter((face) => face.kind === kind && face.coverageDeg >= wholeDeg)
    .sort((a, b) => a.diameterMm - b.diameterMm);
  return mesh(least?.diameterMm);
}

/** The flattest down-facing skin off the plate that is more than a trace. */
function flattestSkin(
  { job }: PlanningContext,
  measures: PartMeasures | undefined,
): readonly Seen[] {
  if (measures === undefined) return [];
  let areaMm2 = 0;
  for (const [degree, own] of measures.facing.downskinByDegreeMm2.entries()) {
    areaMm2 += own;
    if (areaMm2 < leastSkinShare * measures.surfaceAreaMm2) continue;
    const { latticeAreaMm2, solidAreaMm2 } = job.geometry.supports;
    const mild = latticeAreaMm2 + solidAreaMm2 > 0;
    const flat = `${formatShort(measures.facing.overhangMm2, 0)} mm² flatter than 45° in all`;
    return [{ about: 'mesh', seen: degree, note: mild ? `${flat}, on supports` : flat, mild }];
  }
  return [];
}
