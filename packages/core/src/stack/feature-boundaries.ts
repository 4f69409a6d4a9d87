import { InputError, type Problem } from '../problems/problem.js';

/** A hole (internal) or pin (external) with its limits of size, mm. */
export interface FeatureOfSize {
  readonly kind: 'internal' | 'external';
  readonly lowerMm: number;
  readonly upperMm: number;
}

/** A geometric tolerance on a feature of size, mm; regardless of size without a condition. */
export interface FeatureTolerance {
  readonly valueMm: number;
  readonly materialCondition?: 'MMC' | 'LMC';
}

/** Boundaries that follow from size and geometric tolerance together, diameters in mm. */
export interface FeatureBoundaries {
  readonly maximumMaterialMm: number;
  readonly leastMaterialMm: number;
  /** Largest bonus: the whole size tolerance with a material condition, else 0. */
  readonly bonusMm: number;
  /** Collective effect of size and tolerance on the side of the stated condition (MMC without one). */
  readonly virtualConditionMm: number;
  /** Worst effect on the other side, bonus included. */
  readonly resultantConditionMm: number;
  /** Smallest and largest diameter that the feature's surface stays outside of and inside of. */
  readonly innerMm: number;
  readonly outerMm: number;
}

/** Throws unless every named number is finite and not negative. */
export function requireLengths(lengths: Readonly<Record<string, number | undefined>>): void {
  const problems: Problem[] = [];
  for (const [field, value] of Object.entries(lengths)) {
    if (value === undefined || (Number.isFinite(value) && value >= 0)) continue;
    problems.push({
      code: 'out-of-range',
      place: { path: field },
      message: `${field} must be a length`,
      value: String(value),
      accept: 'a number of mm, 0 or more',
    });
  }
  if (problems.length > 0) throw new InputError(problems);
}

/**
 * Virtual and resultant condition, inner and outer boundary of a feature of size, mm (ASME Y14.5;
 * ISO 2692). Throws `InputError` for a negative length or limits in the wrong order.
 *
 * @example
 * featureBoundaries({ kind: 'internal', lowerMm: 10, upperMm: 10.2 }, { valueMm: 0.3, materialCondition: 'MMC' }).resultantConditionMm // -> ~10.7
 */
export function featureBoundaries(
  feature: FeatureOfSize,
  tolerance: FeatureTolerance,
): FeatureBoundaries {
  const { lowerMm, upperMm } = feature;
  requireLengths({ lowerMm, upperMm, valueMm: tolerance.valueMm });
  if (lowerMm > upperMm) {
    throw new InputError([
      {
        code: 'inconsistent',
        place: { path: 'upperMm' },
        message: 'the lower limit of size is above the upper limit',
        value: `${lowerMm} to ${upperMm}`,
        accept: 'lowerMm <= upperMm',
      },
    ]);
  }
  const isHole = feature.kind === 'internal';
  const { valueMm, materialCondition } = tolerance;
  const sizeTolerance = upperMm - lowerMm;
  const bonusMm = materialCondition === undefined ? 0 : sizeTolerance;
  // without a condition both ends carry the bare tolerance; with one, the far end has the bonus
  const smallIsStated = (materialCondition === 'LMC') !== isHole;
  const innerMm = lowerMm - valueMm - (smallIsStated ? 0 : bonusMm);
  const outerMm = upperMm + valueMm + (smallIsStated ? bonusMm : 0);
  return {
    maximumMaterialMm: isHole ? lowerMm : upperMm,
    leastMaterialMm: isHole ? upperMm : lowerMm,
    bonusMm,
    virtualConditionMm: smallIsStated ? innerMm : outerMm,
    resultantConditionMm: smallIsStated ? outerMm : innerMm,
    innerMm,
    outerMm,
  };
}

/** One produced feature. */
export interface MeasuredFeature {
  readonly sizeMm: number;
  /** Orientation or form error of the axis that the mating envelope has to clear, mm. */
  readonly orientationMm?: number;
}

/**
 * Bonus and total tolerance that one produced feature earns, mm. The bonus counts from the mating
 * envelope (size less, or plus, the orientation error), not from the bare size (ASME Y14.5, related
 * actual mating envelope); it is never negative nor above the size tolerance.
 *
 * @example
 * earnedTolerance({ kind: 'internal', lowerMm: 10, upperMm: 10.2 }, { valueMm: 0.3, materialCondition: 'MMC' }, { sizeMm: 10.1, orientationMm: 0.02 }).bonusMm // -> ~0.08
 */
export function earnedTolerance(
  feature: FeatureOfSize,
  tolerance: FeatureTolerance,
  measured: MeasuredFeature,
): { readonly bonusMm: number; readonly totalMm: number } {
  const { sizeMm, orientationMm = 0 } = measured;
  requireLengths({ sizeMm, orientationMm });
  const limits = featureBoundaries(feature, tolerance);
  if (tolerance.materialCondition === undefined) {
    return { bonusMm: 0, totalMm: tolerance.valueMm };
  }
  const isMaximum = tolerance.materialCondition === 'MMC';
  const isHole = feature.kind === 'internal';
  // a hole's largest inscribed, a pin's smallest circumscribed cylinder; the reverse for LMC
  const envelopeMm = sizeMm + (isHole === isMaximum ? -orientationMm : orientationMm);
  const from = isMaximum ? limits.maximumMaterialMm : limits.leastMaterialMm;
  const departure = isHole === isMaximum ? envelopeMm - from : from - envelopeMm;
  const bonusMm = Math.min(limits.bonusMm, Math.max(0, departure));
  return { bonusMm, totalMm: tolerance.valueMm + bonusMm };
}

/**
 * Largest play of a part on a datum feature referenced at its maximum (or least) material boundary,
 * as a difference of diameters, mm: the axis may shift by half of it either way.
 *
 * @example
 * datumShift({ kind: 'internal', lowerMm: 20, upperMm: 20.1 }, { valueMm: 0.05, materialCondition: 'MMC' }) // -> ~0.15
 */
export function datumShift(datum: FeatureOfSize, tolerance: FeatureTolerance): number {
  if (tolerance.materialCondition === undefined) return 0;
  const limits = featureBoundaries(datum, tolerance);
  const far =
    tolerance.materialCondition === 'MMC' ? limits.leastMaterialMm : limits.maximumMaterialMm;
  return Math.abs(far - limits.virtualConditionMm);
}

/** A wall between two edges of features, or between a plane and the edge of one. */
export interface WallInput {
  /** Basic distance from the plane to the axis, or from axis to axis, mm. */
  readonly basicMm: number;
  readonly features: readonly {
    readonly feature: FeatureOfSize;
    readonly tolerance: FeatureTolerance;
  }[];
  /** Diametral datum shift along the measured direction, mm; 0 when absent. */
  readonly datumShiftMm?: number;
}

/**
 * Least and greatest wall (edge distance), mm, from inner and outer boundaries: bonus and position
 * are counted together, which a chain of separate contributors would count twice.
 *
 * @example
 * wallThickness({ basicMm: 30, features: [{ feature: { kind: 'internal', lowerMm: 10, upperMm: 10.2 }, tolerance: { valueMm: 0.3, materialCondition: 'MMC' } }] }).minimumMm // -> ~24.65
 */
export function wallThickness(input: WallInput): {
  readonly minimumMm: number;
  readonly maximumMm: number;
} {
  const { basicMm, features, datumShiftMm = 0 } = input;
  requireLengths({ basicMm, datumShiftMm });
  let minimumMm = basicMm - 0.5 * datumShiftMm;
  let maximumMm = basicMm + 0.5 * datumShiftMm;
  for (const { feature, tolerance } of features) {
    const { innerMm, outerMm } = featureBoundaries(feature, tolerance);
    minimumMm -= 0.5 * outerMm;
    maximumMm -= 0.5 * innerMm;
  }
  return { minimumMm, maximumMm };
}
