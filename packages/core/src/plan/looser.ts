import { type FeatureRequirement, requirementsOf } from '../job/requirements.js';
import type { Feature, GeneralTolerance } from '../job/types.js';
import { fitLimits } from '../limits/fits.js';
import { generalTolerance2768 } from '../limits/general-tolerance.js';
import { equivalentGrade, toleranceOfGradeUm } from '../limits/grades.js';
import { preferredRaUm } from '../limits/roughness-grades.js';
import type { SizeLimits } from '../limits/types.js';

/** A requirement in another class, and the feature that carries it. */
export interface ChangedRequirement {
  readonly feature: Feature;
  readonly requirement: string;
  readonly from: string;
  readonly to: string;
}

/** Zone widths in common use on drawings, mm (common practice, no source). */
const zones = [0.005, 0.008, 0.01, 0.015, 0.02, 0.03, 0.05, 0.08, 0.1, 0.15, 0.2, 0.3, 0.5, 1];

/**
 * A feature with one of its requirements in neighbouring practical classes: the next whole ISO 286
 * grades of a size about its own middle or with its own letter, the general tolerance, the next
 * preferred Ra, the next usual zone width.
 *
 * @param direction `looser` or `tighter`
 * @param classes how many classes on
 */
export function neighbours(
  feature: Feature,
  direction: 'looser' | 'tighter',
  classes: number,
  general?: GeneralTolerance,
): readonly ChangedRequirement[] {
  return requirementsOf(feature, () => 7).flatMap((requirement) =>
    changed(feature, requirement, direction, classes, general).map((entry) => ({
      ...entry,
      requirement: requirement.id,
      from: requirement.text,
    })),
  );
}

/** A feature with a change found by {@link neighbours}, on top of other changes of its requirements. */
export function withChange(feature: Feature, change: ChangedRequirement): Feature {
  const { feature: target } = change;
  const kind = change.requirement.slice(feature.id.length + 1);
  if (kind === 'size') {
    const { size: _size, ...rest } = feature;
    return target.size === undefined ? rest : { ...rest, size: target.size };
  }
  if (kind === 'ra' || kind === 'rz') {
    const { rzMaxUm: _rz, ...rest } = feature;
    return target.raMaxUm === undefined ? rest : { ...rest, raMaxUm: target.raMaxUm };
  }
  const gone = feature.geometric.findIndex(({ text }) => text === change.from);
  const come = target.geometric.find(({ text }) => text === change.to);
  return {
    ...feature,
    geometric: feature.geometric.map((entry, index) =>
      index === gone && come !== undefined ? come : entry,
    ),
  };
}

function changed(
  feature: Feature,
  requirement: FeatureRequirement,
  direction: 'looser' | 'tighter',
  classes: number,
  general: GeneralTolerance | undefined,
): readonly { readonly feature: Feature; readonly to: string }[] {
  switch (requirement.kind) {
    case 'size':
      if (feature.size === undefined || requirement.source === 'general-tolerance') return [];
      return otherSizes(feature.size, direction, classes, general).map((size) => ({
        feature: { ...feature, size },
        to: size.text,
      }));
    case 'roughness': {
      const values = next(preferredRaUm, requirement.raMaxUm, direction, classes);
      return values.map((raMaxUm) => {
        const { rzMaxUm: _rz, ...rest } = feature;
        return { feature: { ...rest, raMaxUm }, to: `Ra ${raMaxUm}` };
      });
    }
    case 'geometric': {
      const { tolerance } = requirement;
      return next(zones, tolerance.valueMm, direction, classes).map((valueMm) => {
        const text = tolerance.text.replace(/\d+(?:[.,]\d+)?/, String(valueMm));
        return {
          feature: {
            ...feature,
            geometric: feature.geometric.map((entry) =>
              entry === tolerance ? { ...entry, valueMm, text } : entry,
            ),
          },
          to: text,
        };
      });
    }
    case 'thread':
      return [];
  }
}

function next(
  series: readonly number[],
  value: number,
  direction: 'looser' | 'tighter',
  count: number,
): readonly number[] {
  const rising = [...series].sort((a, b) => a - b);
  return direction === 'looser'
    ? rising.filter((entry) => entry > value * 1.001).slice(0, count)
    : rising
        .filter((entry) => entry < value * 0.999)
        .reverse()
        .slice(0, count);
}

function otherSizes(
  size: SizeLimits,
  direction: 'looser' | 'tighter',
  classes: number,
  general: GeneralTolerance | undefined,
): readonly SizeLimits[] {
  const widthMm = size.upperMm - size.lowerMm;
  if (widthMm <= 0 || size.nominalMm <= 0 || size.nominalMm > 3150) return [];
  const grade = equivalentGrade(size.nominalMm, widthMm * 1000);
  const step = direction === 'looser' ? 1 : -1;
  const first = step > 0 ? Math.floor(grade + 1e-6) + 1 : Math.ceil(grade - 1e-6) - 1;
  const list: SizeLimits[] = [];
  for (let index = 0; index < classes; index += 1) {
    const wanted = first + index * step;
    if (wanted < 1 || wanted > 16) continue;
    list.push(withGrade(size, wanted));
  }
  if (direction === 'looser' && general?.linear !== undefined) {
    const value = generalTolerance2768('linear', general.linear, size.nominalMm)?.value;
    const last = list[list.length - 1];
    if (
      value !== undefined &&
      2 * value > (last === undefined ? widthMm : last.upperMm - last.lowerMm)
    )
      list.push(symmetric(size, value, `${size.nominalMm} by the general tolerance, ±${value}`));
  }
  return list;
}

function withGrade(size: SizeLimits, grade: number): SizeLimits {
  const letter = /^[A-Za-z]+/.exec(size.fit ?? '')?.[0];
  if (letter !== undefined) {
    const fit = fitLimits(size.nominalMm, `${letter}${grade}`);
    return { ...fit, diametral: size.diametral, text: `${size.nominalMm} ${letter}${grade}` };
  }
  const half = roundHalf(toleranceOfGradeUm(size.nominalMm, grade) / 2000);
  const middle = (size.lowerMm + size.upperMm) / 2;
  const shift = Math.round((middle - size.nominalMm) * 1e4) / 1e4;
  const text =
    shift === 0 ? `${size.nominalMm} ±${half}` : `${Math.round(middle * 1e4) / 1e4} ±${half}`;
  return symmetric(size, half, text);
}

/** Half tolerances are written to two figures. */
function roundHalf(value: number): number {
  const unit = 10 ** (Math.floor(Math.log10(value)) - 1);
  return Number((Math.round(value / unit) * unit).toPrecision(2));
}

function symmetric(size: SizeLimits, halfMm: number, text: string): SizeLimits {
  const middle = (size.lowerMm + size.upperMm) / 2;
  const { fit: _fit, ...rest } = size;
  return {
    ...rest,
    origin: 'plus-minus',
    lowerMm: middle - halfMm,
    upperMm: middle + halfMm,
    lowerDeviationUm: (middle - halfMm - size.nominalMm) * 1000,
    upperDeviationUm: (middle + halfMm - size.nominalMm) * 1000,
    text,
  };
}
