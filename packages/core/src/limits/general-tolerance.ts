import { type Iso2768Row, iso2768 } from '../catalog/generated/iso2768.js';

export type GeneralCharacteristic = Iso2768Row['characteristic'];
export type GeneralClass = Iso2768Row['class'];

/** A general tolerance: `+-` is a pair of deviations, `zone` the width of a zone. */
export interface GeneralToleranceValue {
  readonly value: number;
  readonly unit: 'mm' | 'arcmin';
  readonly form: '+-' | 'zone';
}

/**
 * General tolerance of ISO 2768-1:1989 (linear, radius-chamfer, angular; classes f, m, c, v) or
 * ISO 2768-2:1989 (straightness-flatness, perpendicularity, symmetry, circular-runout; classes H, K,
 * L; withdrawn, still on drawings). Undefined where the standard gives no value.
 *
 * @param sizeMm linear: the nominal size; angular: the shorter side of the angle; straightness and
 *   flatness: the longer side; perpendicularity and symmetry: the shorter side. Steps are over the
 *   lower, up to and including the upper size; the linear table begins at and including 0.5 mm.
 * @example
 * generalTolerance2768('linear', 'm', 10) // -> {"value":0.2,"unit":"mm","form":"+-"}
 */
export function generalTolerance2768(
  characteristic: GeneralCharacteristic,
  toleranceClass: GeneralClass,
  sizeMm: number,
): GeneralToleranceValue | undefined {
  const row = iso2768.find(
    (candidate) =>
      candidate.characteristic === characteristic &&
      candidate.class === toleranceClass &&
      covers(candidate, sizeMm),
  );
  if (row?.value === undefined || row.form === undefined) return undefined;
  return { value: row.value, unit: row.unit, form: row.form };
}

function covers({ overMm, upToMm }: Iso2768Row, sizeMm: number): boolean {
  // Run-out is independent of size: both ends are empty.
  const above = overMm === undefined || sizeMm > overMm || (overMm === 0.5 && sizeMm === overMm);
  return above && (upToMm === undefined || sizeMm <= upToMm);
}
