import type { FeatureGeometry } from '../job/feature-geometry.js';
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
}

/** How a toleranced feature stands to its datum when both are made. */
export type Relation = 'same set-up' | 're-located' | 'located on printed faces' | 'as printed';

export function relationOf(feature: Locating, datum: Locating): Relation {
  if (feature.setUp === undefined)
    return datum.setUp === undefined ? 'as printed' : 'located on printed faces';
  if (datum.setUp === undefined) return 'located on printed faces';
  return feature.setUp.id === datum.setUp.id ? 'same set-up' : 're-located';
}

/** One standard deviation of the place of a feature against its datum, mm, per direction. */
export function locationSigmaMm(
  feature: Locating,
  datum: Locating,
  relation: Relation = relationOf(feature, datum),
): number {
  const um = (value: number | undefined): number => (value ?? 0) / 1000;
  switch (relation) {
    case 'same set-up':
      return um(feature.setUp?.centre.positionUm);
    case 're-located':
      return Math.hypot(
        um(feature.setUp?.centre.positionUm),
        um(feature.setUp?.centre.relocationUm),
      );
    case 'located on printed faces': {
      const cut = feature.setUp ?? datum.setUp;
      const printed = feature.setUp === undefined ? feature.start : datum.start;
      return Math.hypot(
        um(cut?.centre.positionUm),
        um(cut?.centre.roughRelocationUm),
        printed.locationSigmaMm,
      );
    }
    case 'as printed':
      return feature.start.locationSigmaMm;
  }
}

const radial = ['position', 'coaxiality', 'runout', 'total-runout'];

/**
 * Probability that a located feature lies in its zone. A diametral zone (and run-out, which reads
 * twice the offset) takes the Rayleigh distribution of the offset, a flat zone the normal one;
 * orientation adds the form that the process holds over the feature.
 */
export function probabilityInZone(
  tolerance: GeometricTolerance,
  feature: Locating,
  datum: Locating,
  geometry: FeatureGeometry,
): number {
  return probabilityUnder(tolerance, relationOf(feature, datum), feature, datum, geometry);
}

/** The same for a stated relation. */
export function probabilityUnder(
  tolerance: GeometricTolerance,
  relation: Relation,
  feature: Locating,
  datum: Locating,
  geometry: FeatureGeometry,
): number {
  const place = locationSigmaMm(feature, datum, relation);
  const half = tolerance.valueMm / 2;
  if (radial.includes(tolerance.kind) && (tolerance.diametral || tolerance.kind !== 'position'))
    return place <= 0 ? 1 : 1 - Math.exp(-(half ** 2) / (2 * place ** 2));
  const form = orientationSigmaMm(feature, geometry);
  const orientation = ['perpendicularity', 'parallelism', 'angularity'].includes(tolerance.kind);
  const relocation = relation === 'same set-up' ? 0 : place;
  const sigma = orientation ? Math.hypot(form, relocation) : Math.hypot(place, form);
  return sigma <= 0 ? 1 : normalBetween(-half / sigma, half / sigma);
}

/** Form over the feature as one standard deviation: what the process holds counts as 3 sigma. */
function orientationSigmaMm(feature: Locating, geometry: FeatureGeometry): number {
  const held =
    feature.process?.needs.formUm100mm === undefined
      ? feature.start.formMm
      : (feature.process.needs.formUm100mm * Math.max(10, geometry.acrossMm)) / 100_000;
  return held / 6;
}
