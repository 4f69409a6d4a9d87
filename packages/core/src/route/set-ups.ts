import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import type { Process } from '../job/planning-context.js';
import type { Direction, Feature } from '../job/types.js';

/**
 * When a visit takes place: `soft` before the age that hardens the part, `datum` first thing after all
 * heat (for features that others are located from), `hard` after that.
 */
export type Stage = 'soft' | 'datum' | 'hard';

/** Stages in working order. */
export const stages: readonly Stage[] = ['soft', 'datum', 'hard'];

/** One visit of the lot to a work centre with the part held one way. */
export interface SetUp {
  readonly id: string;
  readonly centre: WorkCentresRow;
  readonly stage: Stage;
  /** Tool directions that the set-up offers; empty when direction does not matter. */
  readonly directions: readonly Direction[];
  readonly holding: string;
}

const allDirections: readonly Direction[] = ['+x', '-x', '+y', '-y', '+z', '-z'];
/** Four-sided set-ups turn the part about one of its axes. */
const axes = ['x', 'y', 'z'] as const;
/** Five-sided set-ups hold the part by its foot or by its top. */
const clampSides: readonly Direction[] = ['-z', '+z'];

/** Set-ups at one work centre in which a process reaches a feature. */
export function setUpsFor(
  process: Process,
  centre: WorkCentresRow,
  feature: Feature,
  stage: Stage,
  access: readonly Direction[],
): readonly SetUp[] {
  if (!centre.processes.includes(process.id)) return [];
  if (process.needs.needsAxis && feature.onAxis !== true) return [];
  const sight = process.row.lineOfSight;
  if (
    centre.reach === 'all' ||
    sight === 'no' ||
    sight === 'wetting' ||
    sight === 'field' ||
    sight === 'flow-path'
  )
    return feature.kind === 'channel' && (sight === 'yes' || sight === 'axis')
      ? []
      : [setUp(centre, stage, 'all', [], 'loaded as it comes')];
  if (feature.kind === 'channel') return [];
  if (sight === 'wire-path') {
    const through = access.filter(
      (side) => side.startsWith('+') && access.includes(opposite(side)),
    );
    return through.map((side) => setUp(centre, stage, side, [side], `wire along ${side.slice(1)}`));
  }
  if (centre.reach === 'four-sides')
    return axes
      .filter((axis) => access.some((side) => !side.endsWith(axis)))
      .map((axis) =>
        setUp(
          centre,
          stage,
          `about-${axis}`,
          allDirections.filter((side) => !side.endsWith(axis)),
          `turned about ${axis}`,
        ),
      );
  if (centre.reach === 'one')
    return access.map((side) => setUp(centre, stage, side, [side], `tool from ${side}`));
  return clampSides
    .filter((clamp) => access.some((side) => side !== clamp))
    .map((clamp) =>
      setUp(
        centre,
        stage,
        `held${clamp}`,
        allDirections.filter((side) => side !== clamp),
        `held on the ${clamp} side`,
      ),
    );
}

function setUp(
  centre: WorkCentresRow,
  stage: Stage,
  place: string,
  directions: readonly Direction[],
  holding: string,
): SetUp {
  return { id: `${centre.id}/${place}/${stage}`, centre, stage, directions, holding };
}

function opposite(side: Direction): Direction {
  const axis = side.slice(1);
  return (side.startsWith('+') ? `-${axis}` : `+${axis}`) as Direction;
}

/** Sides a tool can come from; guessed from the facing when the job is silent. */
export function accessOf(feature: Feature): readonly Direction[] {
  if (feature.access.length > 0) return [...feature.access].sort();
  if (feature.kind === 'channel') return [];
  return [feature.facing === 'down' ? '-z' : feature.facing === 'side' ? '+x' : '+z'];
}
