import type { GeometricTolerance } from '../limits/geometric-types.js';
import { InputError } from '../problems/problem.js';
import { type FeatureOfSize, featureBoundaries, requireLengths } from './feature-boundaries.js';
import type { Contributor, Distribution } from './types.js';

/** A geometric tolerance that enters a chain. Lengths in mm. */
export interface GeometricContributorInput {
  /** The ids of the contributors begin with it. */
  readonly id: string;
  readonly tolerance: Pick<
    GeometricTolerance,
    'kind' | 'valueMm' | 'diametral' | 'materialCondition'
  >;
  /** Signed sensitivity of the chain to the offset; 1 when absent. */
  readonly coefficient?: number;
  /** Size of the toleranced feature: needed for the bonus at MMC or LMC. */
  readonly size?: FeatureOfSize;
  /** Diametral play on a datum at its material boundary (`datumShift`); 0 when absent. */
  readonly datumShiftMm?: number;
  /** Unequal profile: how much of the zone lies on the side that adds material. */
  readonly addsMaterialMm?: number;
  /** Orientation: length over which it is toleranced, and how far beyond the chain looks. */
  readonly lengthMm?: number;
  readonly beyondMm?: number;
  /** Distribution of the geometric part; see the table of defaults in `geometricContributors`. */
  readonly distribution?: Distribution;
}

/**
 * Turns a geometric tolerance into contributors of a linear chain, nominal 0, one for each thing
 * that varies: the zone, the bonus, the datum shift. Each states its distribution:
 *
 * - diametral zone (position, coaxiality, orientation of an axis) and runout: the axis is anywhere
 *   in the circle with equal chance, so along one direction it is semi-elliptical on ± half the zone;
 * - zone between planes (position of a plane, profile, form, symmetry): uniform on ± half the zone;
 * - bonus: the same shape on ± half the size tolerance (full bonus, the safe side; for an edge
 *   distance use `wallThickness`, where bonus and size go together);
 * - datum shift: uniform on ± half the play.
 *
 * Profile with unequal disposition is + the part that adds material / - the rest. Orientation over a
 * length L looked at P beyond its end is ± (zone/2)(1 + 2P/L). Throws `InputError`.
 *
 * @example
 * geometricContributors({ id: 'hole', tolerance: { kind: 'position', valueMm: 0.3, diametral: true } })[0].plus // -> 0.15
 */
export function geometricContributors(input: GeometricContributorInput): Contributor[] {
  const { id, tolerance, size, datumShiftMm = 0, addsMaterialMm, lengthMm, beyondMm = 0 } = input;
  const { kind, valueMm, materialCondition } = tolerance;
  requireLengths({ valueMm, datumShiftMm, addsMaterialMm, lengthMm, beyondMm });
  const isRound = tolerance.diametral || kind === 'runout' || kind === 'total-runout';
  const shape: Distribution =
    input.distribution ?? (isRound ? { kind: 'semi-elliptical' } : { kind: 'uniform' });
  const link = (
    part: string,
    plus: number,
    minus: number,
    distribution: Distribution,
  ): Contributor => ({
    id: `${id} ${part}`,
    nominal: 0,
    plus,
    minus,
    ...(input.coefficient === undefined ? {} : { coefficient: input.coefficient }),
    distribution,
    source: 'ASME Y14.5, ISO 1101: half the zone each way along the chain',
  });
  const isProfile = kind === 'profile-line' || kind === 'profile-surface';
  const adds = isProfile && addsMaterialMm !== undefined ? addsMaterialMm : 0.5 * valueMm;
  if (adds > valueMm) {
    refuse('addsMaterialMm', 'more than the whole zone', adds, `0 to ${valueMm}`);
  }
  const isOrientation =
    kind === 'perpendicularity' || kind === 'parallelism' || kind === 'angularity';
  if (beyondMm > 0 && !(isOrientation && lengthMm !== undefined && lengthMm > 0)) {
    const accept = 'an orientation tolerance with lengthMm above 0';
    refuse('beyondMm', 'a reach beyond the feature needs its length', beyondMm, accept);
  }
  const lever = beyondMm > 0 && lengthMm !== undefined ? 1 + (2 * beyondMm) / lengthMm : 1;
  const links = [link(kind, lever * adds, lever * (valueMm - adds), shape)];
  if (materialCondition !== undefined) {
    if (size === undefined) {
      const message = `the bonus at ${materialCondition} needs the limits of size`;
      refuse('size', message, undefined, 'the feature with its limits of size');
    } else {
      const bonus = 0.5 * lever * featureBoundaries(size, tolerance).bonusMm;
      links.push(link('bonus', bonus, bonus, shape));
    }
  }
  if (datumShiftMm > 0) {
    const play = 0.5 * datumShiftMm;
    links.push(link('datum shift', play, play, { kind: 'uniform' }));
  }
  return links;
}

function refuse(path: string, message: string, value: number | undefined, accept: string): never {
  const seen = value === undefined ? {} : { value: String(value) };
  throw new InputError([
    {
      code: value === undefined ? 'missing-field' : 'out-of-range',
      place: { path },
      message,
      accept,
      ...seen,
    },
  ]);
}
