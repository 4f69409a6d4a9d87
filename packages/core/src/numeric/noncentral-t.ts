import { chiSquaredPdf } from './chi-squared.js';
import { normalCdf, normalUpperTail } from './normal.js';
import { integrate } from './quadrature.js';
import { brentRoot } from './roots.js';

/**
 * P(T <= t) of the noncentral t distribution: T = (Z + delta) / sqrt(chi-squared / degrees). By
 * integrating the normal over the spread of the estimated standard deviation (Owen, Biometrika 52
 * (1965) 437, eq. 2.1); absolute error below 1e-12.
 */
export function noncentralCdf(t: number, degrees: number, delta: number): number {
  const reach = 9.5 / Math.sqrt(degrees);
  const low = Math.max(0, 1 - reach);
  const high = 1 + reach;
  const weight = (y: number): number =>
    y === 0 && degrees > 1 ? 0 : 2 * degrees * y * chiSquaredPdf(degrees * y * y, degrees);
  const breaks = t === 0 ? [1] : [1, delta / t];
  // the smaller of the two tails is integrated, so that small probabilities stay exact
  const lowerSide = t < delta;
  const tail = integrate(
    (y) => weight(y) * (lowerSide ? normalCdf(t * y - delta) : normalUpperTail(t * y - delta)),
    low,
    high,
    breaks,
  ).value;
  return lowerSide ? tail : 1 - tail;
}

/** Quantile of the noncentral t distribution, 0 < p < 1. */
export function noncentralQuantile(p: number, degrees: number, delta: number): number {
  if (!(p > 0 && p < 1)) return Number.NaN;
  const miss = (t: number): number => noncentralCdf(t, degrees, delta) - p;
  let step = 1 + Math.abs(delta);
  let low = delta - step;
  let high = delta + step;
  for (let i = 0; i < 200 && miss(low) > 0; i++) {
    step *= 2;
    low -= step;
  }
  for (let i = 0; i < 200 && miss(high) < 0; i++) {
    step *= 2;
    high += step;
  }
  return brentRoot(miss, low, high, 1e-13 * (1 + Math.abs(delta)));
}
