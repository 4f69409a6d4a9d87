import { curveQuantile, pearsonCurve } from '../numeric/pearson-curve.js';
import { conformityFigures, type OutsideShares } from './conformity-figures.js';
import { finiteMoments } from './stack-parts.js';
import type { Moments, MomentsResult, RequirementLimits } from './types.js';

const assumesNormal = 'the first four moments; no curve has these, so the result counts as normal';

/** Shares outside the limits of the Pearson curve with the four moments (normal where none exists). */
export function momentsOutside(moments: Moments, requirement: RequirementLimits): OutsideShares {
  const { mean, sd } = moments;
  const { lower, upper } = requirement;
  if (sd === 0) {
    return {
      below: lower !== undefined && mean < lower ? 1 : 0,
      above: upper !== undefined && mean > upper ? 1 : 0,
    };
  }
  const curve = pearsonCurve(moments.skewness, moments.excessKurtosis) ?? pearsonCurve(0, 0);
  return {
    below: lower === undefined ? 0 : (curve?.lowerTail((lower - mean) / sd) ?? 0),
    above: upper === undefined ? 0 : (curve?.upperTail((upper - mean) / sd) ?? 0),
  };
}

/** The method of moments: a Pearson curve through mean, sigma, skewness and kurtosis. */
export function momentsMethod(
  moments: Moments,
  coverage: number,
  requirement: RequirementLimits | undefined,
  how: string,
): MomentsResult {
  const { mean, sd, skewness, excessKurtosis } = moments;
  const fitted = pearsonCurve(skewness, excessKurtosis);
  const curve = fitted ?? pearsonCurve(0, 0);
  const ends = [0.5 * (1 - coverage), 0.5 * (1 + coverage)].map((p) =>
    sd === 0 || curve === undefined ? mean : mean + sd * curveQuantile(curve, p),
  );
  const conformity =
    requirement && conformityFigures(mean, sd, requirement, momentsOutside(moments, requirement));
  return {
    assumes: fitted === undefined ? assumesNormal : how,
    mean,
    sigma: sd,
    ...finiteMoments(moments),
    lower: ends[0] ?? mean,
    upper: ends[1] ?? mean,
    ...(conformity === undefined ? {} : { conformity }),
  };
}
