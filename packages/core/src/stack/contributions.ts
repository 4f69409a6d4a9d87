import { type LinearForm, rootSumSquares } from './linear-methods.js';
import type { Contribution, Tightening } from './types.js';

/** By how much a tolerance is tightened to see what it buys. */
const tighter = 0.9;

/** Standard deviation that each contributor puts into the result, signed like its sensitivity. */
export function signedSigmas(form: LinearForm): number[] {
  return form.contributors.map((c, i) => (form.sensitivities[i] ?? 0) * c.moments.sd);
}

/** Shares of the variance and of the worst-case width, in the order of the contributors. */
export function contributions(form: LinearForm): Contribution[] {
  const sigmas = signedSigmas(form);
  const variance = rootSumSquares(sigmas, form.correlation) ** 2;
  const reaches = form.contributors.map((c, i) =>
    Math.abs((form.sensitivities[i] ?? 0) * c.halfWidth),
  );
  const worst = reaches.reduce((sum, reach) => sum + reach, 0);
  return form.contributors.map((contributor, i) => {
    const sigma = sigmas[i] ?? 0;
    let covariance = sigma * sigma;
    form.correlation?.[i]?.forEach((value, j) => {
      if (j !== i) covariance += sigma * (sigmas[j] ?? 0) * value;
    });
    return {
      id: contributor.id,
      sensitivity: form.sensitivities[i] ?? 0,
      sigma: Math.abs(sigma),
      sharePercent: variance > 0 ? (100 * covariance) / variance : 0,
      worstSharePercent: worst > 0 ? (100 * (reaches[i] ?? 0)) / worst : 0,
    };
  });
}

/**
 * What each contributor buys when its limits close by 10 % about their middle and its spread
 * shrinks by 10 % about its mean. Best first: by P(in limits) where there is a requirement, then by
 * sigma, then by worst case, then by id.
 */
export function tightenFirst(
  form: LinearForm,
  outsideNow: number | undefined,
  outsideWith: (index: number, factor: number) => number,
): Tightening[] {
  const sigmas = signedSigmas(form);
  const now = rootSumSquares(sigmas, form.correlation);
  const list = form.contributors.map((contributor, i) => {
    const parts = sigmas.map((sigma, j) => (j === i ? tighter * sigma : sigma));
    const sigma = rootSumSquares(parts, form.correlation);
    const reach = Math.abs((form.sensitivities[i] ?? 0) * contributor.halfWidth);
    const base = {
      id: contributor.id,
      sigma,
      sigmaGainPercent: now > 0 ? (100 * (now - sigma)) / now : 0,
      worstGain: 2 * (1 - tighter) * reach,
    };
    if (outsideNow === undefined) return { ...base, outside: 0 };
    const outside = contributor.moments.sd === 0 ? outsideNow : outsideWith(i, tighter);
    return { ...base, outside, inLimits: 1 - outside, inLimitsGain: outsideNow - outside };
  });
  // figures that differ by rounding only are a tie
  const rank = (value: number): number => Number(value.toPrecision(9));
  list.sort(
    (a, b) =>
      rank(a.outside) - rank(b.outside) ||
      rank(b.sigmaGainPercent) - rank(a.sigmaGainPercent) ||
      rank(b.worstGain) - rank(a.worstGain) ||
      (a.id < b.id ? -1 : 1),
  );
  return list.map(({ outside, ...tightening }) => tightening);
}
