import type { Matrix } from '../numeric/linear-algebra.js';
import { normalUpperQuantile } from '../numeric/normal.js';
import { conformityFigures, normalOutside } from './conformity-figures.js';
import type { Conformity, MethodResult, RequirementLimits, ResolvedContributor } from './types.js';

/** The result as a linear form about the middles of the contributors' limits. */
export interface LinearForm {
  /** Result with every contributor in the middle of its limits. */
  readonly middle: number;
  readonly contributors: readonly ResolvedContributor[];
  /** d result / d contributor, in the order of the contributors. */
  readonly sensitivities: readonly number[];
  readonly correlation?: Matrix;
  readonly requirement?: RequirementLimits;
  readonly coverage: number;
}

/** Root of the sum of squares of signed parts, with correlation where there is one. */
export function rootSumSquares(parts: readonly number[], correlation?: Matrix): number {
  let sum = 0;
  parts.forEach((part, i) => {
    sum += part * part;
    correlation?.[i]?.forEach((value, j) => {
      if (j !== i) sum += part * (parts[j] ?? 0) * value;
    });
  });
  return Math.sqrt(Math.max(0, sum));
}

/** Half-width, in sigmas, of the central range of a normal; exactly 3 at the default coverage. */
function sigmasFor(coverage: number): number {
  const z = normalUpperQuantile(0.5 * (1 - coverage));
  return Math.abs(z - 3) < 1e-12 ? 3 : z;
}

const spread = (form: LinearForm, of: (c: ResolvedContributor) => number): number =>
  rootSumSquares(
    form.contributors.map((contributor, i) => (form.sensitivities[i] ?? 0) * of(contributor)),
    form.correlation,
  );

const withConformity = (conformity: Conformity | undefined): { conformity?: Conformity } =>
  conformity === undefined ? {} : { conformity };

function normalMethod(form: LinearForm, sigma: number, assumes: string): MethodResult {
  const { middle: mean, requirement, coverage } = form;
  const reach = sigmasFor(coverage) * sigma;
  return {
    assumes,
    mean,
    sigma,
    lower: mean - reach,
    upper: mean + reach,
    ...withConformity(requirement && conformityFigures(mean, sigma, requirement)),
  };
}

/** Root sum square: every tolerance is 3 sigma of a centred normal. */
export function rss(form: LinearForm): MethodResult {
  const assumes =
    'every contributor is normal, centred between its limits, and its half tolerance is 3 sigma; the result is normal';
  return normalMethod(
    form,
    spread(form, (c) => c.halfWidth / 3),
    assumes,
  );
}

/**
 * Inflated root sum square: each tolerance times c = 3 sd / T of its own distribution (F. Scholz,
 * Tolerance Stack Analysis Methods, 1995).
 */
export function inflatedRss(form: LinearForm): MethodResult {
  const assumes =
    'every contributor is centred and has the standard deviation of its stated distribution (factor 3 sd / T); the result is normal';
  return normalMethod(
    form,
    spread(form, (c) => c.moments.sd),
    assumes,
  );
}

/**
 * Estimated mean shift: a share m of each half tolerance adds up worst-case, the rest statistically
 * (Greenwood & Chase, J. Eng. for Industry 109 (1987) 112).
 */
export function estimatedMeanShift(form: LinearForm): MethodResult {
  const { middle: mean, requirement, coverage } = form;
  const shift = form.contributors.reduce(
    (sum, c, i) => sum + Math.abs(form.sensitivities[i] ?? 0) * c.shiftFactor * c.halfWidth,
    0,
  );
  const sigma = spread(form, (c) => ((1 - c.shiftFactor) * c.halfWidth) / 3);
  const reach = shift + sigmasFor(coverage) * sigma;
  let conformity: Conformity | undefined;
  if (requirement !== undefined) {
    // each side with the mean shifted all the way towards it
    const down = normalOutside(mean - shift, sigma, requirement);
    const up = normalOutside(mean + shift, sigma, requirement);
    const atDown = conformityFigures(mean - shift, sigma, requirement, down);
    const atUp = conformityFigures(mean + shift, sigma, requirement, up);
    const worse = (atDown.cpk ?? 0) < (atUp.cpk ?? 0) ? atDown : atUp;
    conformity = {
      ...worse,
      inLimits: Math.min(atDown.inLimits, atUp.inLimits),
      ppmBelow: 1e6 * down.below,
      ppmAbove: 1e6 * up.above,
    };
  }
  return {
    assumes:
      'the share m of each half tolerance is used up by a mean shift, all shifts add up in the worst direction; the rest is 3 sigma of a normal',
    mean,
    sigma,
    lower: mean - reach,
    upper: mean + reach,
    ...withConformity(conformity),
  };
}

/**
 * Cp/k form: sigma of each contributor is T / (3 Cp (1 - k)), a mean shift counted as more spread
 * (Harry & Stewart, Six Sigma Mechanical Design Tolerancing, 1988).
 */
export function sixSigma(form: LinearForm): MethodResult {
  const assumes =
    'a shift of each mean by the share k of its half tolerance acts as more spread, sigma = T / (3 Cp (1 - k)), about the middle; the result is normal';
  return normalMethod(
    form,
    spread(form, (c) => c.halfWidth / (3 * c.cp * (1 - c.k))),
    assumes,
  );
}
