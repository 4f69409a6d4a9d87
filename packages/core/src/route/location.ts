import type { Process } from '../job/planning-context.js';
import type { GeometricTolerance } from '../job/types.js';
import { normalBetween } from '../numeric/normal.js';
import type { AsBuiltState } from './as-built-state.js';
import type { SetUp } from './set-ups.js';

/** Where and by what a feature gets its place on the part. */
export interface Locating {
  /** Set-up of the last step that moves the feature to where it should be; absent = as printed. */
  readonly setUp?: SetUp;
  readonly process?: Process;
  readonly start: AsBuiltState;
  /** Length over which the direction of the feature shows, mm. */
  readonly extentMm: number;
}

/**
 * How far the tool of the step that gives the feature its place wanders, one standard deviation, um:
 * its start and its drift over the depth of a hole.
 */
export function wanderUm({ process, extentMm }: Pick<Locating, 'process' | 'extentMm'>): number {
  return (process?.needs.wanderUm ?? 0) + (process?.reach?.wanderUmMm ?? 0) * extentMm;
}

/** How a toleranced feature stands to its datum when both are made. */
export type Relation = 'same set-up' | 're-located' | 'located on printed faces' | 'as printed';

export function relationOf(feature: Locating, datum: Locating): Relation {
  if (feature.setUp === undefined)
    return datum.setUp === undefined ? 'as printed' : 'located on printed faces';
  if (datum.setUp === undefined) return 'located on printed faces';
  return feature.setUp.id === datum.setUp.id ? 'same set-up' : 're-located';
}

/**
 * One standard deviation of the place of a feature against its datum, mm, per direction. A tool that
 * wanders adds its own spread; that of the datum counts with the datum's own requirements.
 */
export function locationSigmaMm(
  feature: Locating,
  datum: Locating,
  relation: Relation = relationOf(feature, datum),
): number {
  const um = (value: number | undefined): number => (value ?? 0) / 1000;
  switch (relation) {
    case 'same set-up':
      return Math.hypot(um(feature.setUp?.centre.positionUm), um(wanderUm(feature)));
    case 're-located':
      return Math.hypot(
        um(feature.setUp?.centre.positionUm),
        um(feature.setUp?.centre.relocationUm),
        um(wanderUm(feature)),
      );
    case 'located on printed faces': {
      const cut = feature.setUp ?? datum.setUp;
      const printed = feature.setUp === undefined ? feature.start : datum.start;
      return Math.hypot(
        um(cut?.centre.positionUm),
        um(cut?.centre.roughRelocationUm),
        um(wanderUm(feature)),
        printed.locationSigmaMm,
      );
    }
    case 'as printed':
      return feature.start.locationSigmaMm;
  }
}

/** One cause of the spread in place, per direction. */
export interface PlaceTerm {
  readonly name: string;
  readonly sigmaMm: number;
  readonly source: string;
  readonly confidence: AsBuiltState['confidence'];
}

/**
 * What `locationSigmaMm` adds up in quadrature, each with its source; causes without a figure are left
 * out.
 *
 * @param letter datum from which the feature is located
 */
export function placeTerms(
  feature: Locating,
  datum: Locating,
  letter: string,
  relation: Relation = relationOf(feature, datum),
): readonly PlaceTerm[] {
  const terms: PlaceTerm[] = [];
  const add = (
    name: string,
    um: number | undefined,
    row: { readonly source: string; readonly confidence: PlaceTerm['confidence'] } | undefined,
  ): void => {
    if (row === undefined || um === undefined || um <= 0) return;
    terms.push({ name, sigmaMm: um / 1000, source: row.source, confidence: row.confidence });
  };
  const printed = (of: string, start: AsBuiltState): void =>
    add(`print, place of the ${of}`, start.locationSigmaMm * 1000, start);
  if (relation === 'as printed') {
    printed('feature', feature.start);
    return terms;
  }
  const centre = (feature.setUp ?? datum.setUp)?.centre;
  add(`machine, ${centre?.name}`, centre?.positionUm, centre);
  if (relation === 're-located')
    add(`re-location on datum ${letter}`, centre?.relocationUm, centre);
  if (relation === 'located on printed faces')
    add('setting on printed faces', centre?.roughRelocationUm, centre);
  add(
    `wander of ${feature.process?.row.name.toLowerCase()}`,
    wanderUm(feature),
    feature.process?.needs,
  );
  if (relation === 'located on printed faces')
    printed(
      feature.setUp === undefined ? 'feature' : `datum ${letter}`,
      feature.setUp === undefined ? feature.start : datum.start,
    );
  return terms;
}

const radial: readonly string[] = ['position', 'coaxiality', 'runout', 'total-runout'];
/** Kinds that hold a direction, not a place. */
export const orientations: readonly string[] = ['perpendicularity', 'parallelism', 'angularity'];

/** Standard deviations that make up a located tolerance, mm. */
export interface ZoneSpread {
  /** Offset from the datum; for an orientation the tilt of the clamping over the feature. */
  readonly placeMm: number;
  /** Form that the process holds over the feature. */
  readonly formMm: number;
}

/**
 * What spreads a feature in its zone. A wrong seat tilts the part by the seating error over the
 * length of the datum, so an orientation suffers in proportion to the feature's own length, at most
 * by the whole error; within one set-up there is no seat between the two.
 */
export function zoneSpread(
  tolerance: GeometricTolerance,
  feature: Locating,
  datum: Locating,
  relation: Relation = relationOf(feature, datum),
): ZoneSpread {
  const placeMm = locationSigmaMm(feature, datum, relation);
  if (isRadial(tolerance)) return { placeMm, formMm: 0 };
  const formMm = formSigmaMm(feature);
  if (!orientations.includes(tolerance.kind)) return { placeMm, formMm };
  return { placeMm: placeMm * leverOf(feature, datum, relation), formMm };
}

/** Share of the seating error that tilts the feature within its own length; 0 without a seat. */
export function leverOf(feature: Locating, datum: Locating, relation: Relation): number {
  if (relation === 'same set-up') return 0;
  return datum.extentMm > 0 ? Math.min(1, feature.extentMm / datum.extentMm) : 1;
}

/** Zones round an axis, and run-out, which reads twice the offset. */
export function isRadial(tolerance: GeometricTolerance): boolean {
  return radial.includes(tolerance.kind) && (tolerance.diametral || tolerance.kind !== 'position');
}

/**
 * Probability that a located feature lies in its zone. A diametral zone (and run-out) takes the
 * Rayleigh distribution of the offset, a flat zone the normal one.
 *
 * @param relation how feature and datum stand to each other; by their set-ups when absent
 */
export function probabilityInZone(
  tolerance: GeometricTolerance,
  feature: Locating,
  datum: Locating,
  relation?: Relation,
): number {
  return probabilityOf(tolerance, zoneSpread(tolerance, feature, datum, relation));
}

/** Probability of a zone for given spreads. */
export function probabilityOf(
  tolerance: GeometricTolerance,
  { placeMm, formMm }: ZoneSpread,
): number {
  const half = tolerance.valueMm / 2;
  if (isRadial(tolerance))
    return placeMm <= 0 ? 1 : 1 - Math.exp(-(half ** 2) / (2 * placeMm ** 2));
  const sigma = Math.hypot(placeMm, formMm);
  return sigma <= 0 ? 1 : normalBetween(-half / sigma, half / sigma);
}

/** Form over the feature as one standard deviation: what the process holds counts as 3 sigma. */
export function formSigmaMm({ process, start, extentMm }: Locating): number {
  const held =
    process?.needs.formUm100mm === undefined
      ? start.formMm
      : (process.needs.formUm100mm * Math.max(10, extentMm)) / 100_000;
  return held / 6;
}
