import type { SurfaceState } from '../allowance/chain-stock.js';
import type { AsBuiltRow } from '../catalog/generated/as-built.js';
import type { PrintErrorsRow } from '../catalog/generated/print-errors.js';
import type { FeatureGeometry } from '../job/feature-geometry.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Feature } from '../job/types.js';

/** A feature as it comes out of the machine (or, on the plate side, off the plate). */
export interface AsBuiltState {
  readonly raUm: number;
  /** Spread of the size, one standard deviation, mm. */
  readonly sizeSigmaMm: number;
  /** Mean error of the size, mm; the build model is corrected by it. */
  readonly sizeMeanMm: number;
  readonly locationSigmaMm: number;
  /** Flatness or straightness of the surface, mm. */
  readonly formMm: number;
  readonly surface: SurfaceState;
  /** State of the surface in the table of layers. */
  readonly layerState: string;
  readonly source: string;
  readonly confidence: PrintErrorsRow['confidence'];
  /** The rows that it rests on; no roughness row on the plate side. */
  readonly rows: {
    readonly size: PrintErrorsRow;
    readonly place: PrintErrorsRow;
    readonly roughness?: AsBuiltRow;
  };
}

/** Curl that stock has to cover, over the length of the part. */
export interface PartCurl {
  /** Typical curl and a standard deviation, mm. */
  readonly formMm: number;
  readonly lengthMm: number;
  readonly source: string;
  readonly confidence: PrintErrorsRow['confidence'];
}

/** The plate side of the part: a flat face down without supports, when the part stands on the plate. */
export function isPlateSide(feature: Feature): boolean {
  return (
    feature.kind === 'plane' &&
    feature.facing === 'down' &&
    !feature.supported &&
    (feature.angleDeg === undefined || feature.angleDeg === 0)
  );
}

/**
 * @param cutOff the cut-off process, which makes the plate side
 * @param relieved whether stress relief precedes cut-off
 * @param curl curl of the part at cut-off; on faces that bend with it the larger of curl and practice
 *   rate is the form error
 * @param heatFormPer100Mm bending by heat after cut-off, mm per 100 mm, in quadrature with that
 */
export function asBuiltState(
  feature: Feature,
  geometry: FeatureGeometry,
  context: PlanningContext,
  cutOff: string,
  relieved: boolean,
  curl?: PartCurl,
  heatFormPer100Mm = 0,
): AsBuiltState {
  const { printer } = context.job.part;
  const errors = context.catalog.printErrors;
  const pick = (feature_class: PrintErrorsRow['featureClass']): PrintErrorsRow => {
    const row = errors.find(
      (entry) => entry.printer === printer && entry.featureClass === feature_class,
    );
    if (row === undefined)
      throw new RangeError(`print-errors has no row ${printer} / ${feature_class}`);
    return row;
  };
  const plateSide = isPlateSide(feature);
  const sizeRow = pick(plateSide ? cutOffClass(cutOff) : sizeClass(feature));
  const placeRow = pick('position');
  const size = feature.size?.nominalMm ?? geometry.acrossMm;
  const longest = longestSide(context, geometry);
  const reach = feature.locationMm ?? longest;
  const formRate = context.defaultValue(relieved ? 'form-error-relieved' : 'form-error-unrelieved');
  const bent = curl !== undefined && bendsWithPart(feature) ? curl : undefined;
  const sigma = sizeRow.sdMm + sizeRow.sdPerMm * size;
  const cutProcess = context.processes.get(cutOff);
  const rough = plateSide ? undefined : roughnessOf(feature, context);
  const raUm =
    rough === undefined
      ? Math.sqrt((cutProcess?.row.raLowUm ?? 3) * (cutProcess?.row.raHighUm ?? 8))
      : rough.typical;
  const layerState = plateSide ? cutOff : layerStateOf(feature, printer);
  const layer = surfaceLayer(context, layerState);
  return {
    raUm,
    sizeSigmaMm: sigma,
    sizeMeanMm: sizeRow.meanMm + sizeRow.meanPerMm * size,
    locationSigmaMm: placeRow.sdMm + placeRow.sdPerMm * reach,
    formMm: Math.hypot(
      Math.max(
        (formRate * geometry.acrossMm) / 100,
        bent === undefined ? 0 : bent.formMm * Math.min(1, geometry.acrossMm / bent.lengthMm) ** 2,
      ),
      (heatFormPer100Mm * geometry.acrossMm) / 100,
    ),
    surface: {
      ...layer,
      formMm: Math.hypot(
        Math.max((formRate * longest) / 100, bent?.formMm ?? 0),
        (heatFormPer100Mm * longest) / 100,
      ),
      toleranceMm: 6 * sigma,
    },
    layerState,
    source: sizeRow.source,
    confidence: sizeRow.confidence,
    rows: {
      size: sizeRow,
      place: placeRow,
      ...(rough === undefined ? {} : { roughness: rough.row }),
    },
  };
}

/** Faces that look up or down bend when the part curls; upright ones and upright holes do not. */
function bendsWithPart(feature: Feature): boolean {
  switch (feature.kind) {
    case 'bore':
    case 'thread':
    case 'shaft':
    case 'channel':
      return !axisIsVertical(feature);
    default:
      return feature.facing !== 'side';
  }
}

/**
 * Rz and defect layer that a state leaves, mm: the high end of the table's range for printed states,
 * whose scatter is large, the middle for worked ones.
 */
export function surfaceLayer(
  context: PlanningContext,
  state: string,
): { rzMm: number; layerMm: number } {
  const row = context.catalog.surfaceLayers.find((entry) => entry.state === state);
  if (row === undefined) throw new RangeError(`surface-layers has no row ${state}`);
  if (!context.processes.has(state))
    return { rzMm: row.rzHighUm / 1000, layerMm: row.layerHighUm / 1000 };
  return {
    rzMm: (row.rzLowUm + row.rzHighUm) / 2000,
    layerMm: (row.layerLowUm + row.layerHighUm) / 2000,
  };
}

function cutOffClass(cutOff: string): PrintErrorsRow['featureClass'] {
  return cutOff === 'cut-off-band-saw' ? 'cut-off-band-saw' : 'cut-off-wire-edm';
}

function sizeClass(feature: Feature): PrintErrorsRow['featureClass'] {
  if (feature.supported) return 'supported-face';
  switch (feature.kind) {
    case 'bore':
    case 'thread':
    case 'channel':
      return axisIsVertical(feature) ? 'vertical-hole' : 'horizontal-hole';
    case 'shaft':
      return 'outside-diameter';
    case 'plane':
      return feature.facing === 'up' || feature.facing === 'down' ? 'height' : 'in-plane-size';
    default:
      return 'in-plane-size';
  }
}

/** A hole whose tool comes along the build direction stands upright in the build. */
export function axisIsVertical(feature: Feature): boolean {
  return feature.access.some((side) => side.endsWith('z'));
}

function layerStateOf(feature: Feature, printer: string): string {
  if (printer === 'pbf-eb') return 'pbf-eb-wall';
  if (feature.supported) return 'as-built-supported';
  return feature.facing === 'down' ? 'as-built-downskin' : 'as-built-wall';
}

function longestSide(context: PlanningContext, geometry: FeatureGeometry): number {
  const box = context.job.geometry.boxMm;
  return box === undefined ? geometry.acrossMm : Math.max(...box);
}

/** Row of the roughness table for the way the surface faces. */
function roughnessOf(
  feature: Feature,
  context: PlanningContext,
): { readonly row: AsBuiltRow; readonly typical: number } {
  const { printer } = context.job.part;
  const wanted = surfaceClass(feature, printer);
  const rows = context.catalog.asBuilt.filter(
    (row) =>
      row.printer === printer &&
      row.group === 'roughness' &&
      row.characteristic === 'Ra' &&
      row.surfaceClass === wanted,
  );
  const best =
    rows.find((row) => row.material === context.material.id) ??
    rows.find((row) => row.material === 'any') ??
    rows[0];
  const typical = best === undefined ? undefined : typicalOf(best);
  if (best === undefined || typical === undefined)
    throw new RangeError(`as-built has no Ra for ${printer} / ${wanted}`);
  return { row: best, typical };
}

function typicalOf(row: AsBuiltRow): number | undefined {
  return row.typical ?? row.low;
}

function surfaceClass(feature: Feature, printer: string): string {
  const vertical = 'vertical wall';
  if (printer === 'pbf-eb') {
    if (feature.kind === 'channel' || feature.supported || feature.facing === 'down')
      return 'downskin';
    if (feature.facing === 'up')
      return feature.angleDeg === undefined || feature.angleDeg < 5 ? 'horizontal top' : 'upskin';
    return vertical;
  }
  if (feature.supported) return 'supported face';
  if (feature.kind === 'channel') return 'internal channel wall';
  if (feature.kind === 'bore' || feature.kind === 'thread')
    return axisIsVertical(feature) ? vertical : 'downskin 45-60';
  const angle = feature.angleDeg;
  switch (feature.facing) {
    case 'up':
      if (angle === undefined || angle < 10) return 'horizontal top';
      return angle < 60 ? 'upskin shallow' : 'upskin steep';
    case 'down':
      if (angle === undefined || angle < 45) return 'downskin 30-45';
      return angle < 60 ? 'downskin 45-60' : 'downskin 60-90';
    case 'angled':
      return 'upskin shallow';
    default:
      return vertical;
  }
}
