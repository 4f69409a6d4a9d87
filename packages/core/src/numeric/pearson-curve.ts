import { betaLower, betaUpper } from './beta-function.js';
import { gammaLower, gammaUpper } from './gamma.js';
import { normalCdf, normalUpperTail } from './normal.js';
import { integrate } from './quadrature.js';
import { brentRoot } from './roots.js';

/** A standardised distribution (mean 0, standard deviation 1). */
export interface StandardCurve {
  lowerTail(z: number): number;
  upperTail(z: number): number;
}

const normalCurve: StandardCurve = { lowerTail: normalCdf, upperTail: normalUpperTail };

const reversed = (curve: StandardCurve): StandardCurve => ({
  lowerTail: (z) => curve.upperTail(-z),
  upperTail: (z) => curve.lowerTail(-z),
});

/**
 * The Pearson curve with the given skewness and excess kurtosis (K. Pearson, Phil. Trans. A 186
 * (1895) 343; Johnson, Kotz & Balakrishnan, Continuous Univariate Distributions 1, 2nd ed. 1994,
 * section 4.1): p'/p = -(A + D z) / (C0 + C1 z + C2 z^2). Undefined when no distribution has these
 * moments (excess kurtosis <= skewness^2 - 2).
 */
export function pearsonCurve(skewness: number, excessKurtosis: number): StandardCurve | undefined {
  if (!(Number.isFinite(skewness) && Number.isFinite(excessKurtosis))) return undefined;
  if (skewness < 0) {
    const mirror = pearsonCurve(-skewness, excessKurtosis);
    return mirror === undefined ? undefined : reversed(mirror);
  }
  const b1 = skewness * skewness;
  const b2 = excessKurtosis + 3;
  if (!(b2 > b1 + 1)) return undefined;
  const c0 = 4 * b2 - 3 * b1;
  const c1 = skewness * (b2 + 3);
  const c2 = 2 * b2 - 3 * b1 - 6;
  const d = 10 * b2 - 12 * b1 - 18;
  if (Math.abs(c2) < 1e-6) return skewness < 1e-6 ? normalCurve : gammaCurve(skewness);
  const discriminant = c1 * c1 - 4 * c0 * c2;
  if (discriminant < 0) return arctangentCurve(c0, c1, c2, d);
  const root = Math.sqrt(discriminant);
  // c1 >= 0, so this pair of roots does not cancel
  const q = -0.5 * (c1 + root);
  const roots = [q / c2, q === 0 ? 0 : c0 / q].sort((a, b) => a - b);
  const [low, high] = [roots[0] ?? 0, roots[1] ?? 0];
  const powerLow = -(c1 + d * low) / (c2 * (low - high));
  const powerHigh = -(c1 + d * high) / (c2 * (high - low));
  if (c2 < 0) return betaCurve(low, high, powerLow + 1, powerHigh + 1);
  return betaPrimeCurve(low, high, powerHigh + 1, -powerLow - powerHigh - 1);
}

/** Type III. */
function gammaCurve(skewness: number): StandardCurve {
  const shape = 4 / (skewness * skewness);
  const place = (z: number): number => shape + z * Math.sqrt(shape);
  return {
    lowerTail: (z) => gammaLower(shape, Math.max(0, place(z))),
    upperTail: (z) => gammaUpper(shape, Math.max(0, place(z))),
  };
}

/** Type I (and II). */
function betaCurve(low: number, high: number, a: number, b: number): StandardCurve {
  const width = high - low;
  const share = (z: number): number => Math.min(1, Math.max(0, (z - low) / width));
  const rest = (z: number): number => Math.min(1, Math.max(0, (high - z) / width));
  return {
    lowerTail: (z) => betaLower(a, b, share(z), rest(z)),
    upperTail: (z) => betaUpper(a, b, share(z), rest(z)),
  };
}

/** Type VI: density (z - high)^(a - 1) (z - low)^-(a + b) above `high`. */
function betaPrimeCurve(low: number, high: number, a: number, b: number): StandardCurve {
  const share = (z: number): number => Math.max(0, z - high) / (Math.max(high, z) - low);
  const rest = (z: number): number => (high - low) / (Math.max(high, z) - low);
  return {
    lowerTail: (z) => betaLower(a, b, share(z), rest(z)),
    upperTail: (z) => betaUpper(a, b, share(z), rest(z)),
  };
}

/** Type IV (and VII, Student's t): density cos(t)^(2m) exp(-v t) with z = centre + scale * tan(t). */
function arctangentCurve(c0: number, c1: number, c2: number, d: number): StandardCurve {
  const centre = -c1 / (2 * c2);
  const scale = Math.sqrt(c0 / c2 - centre * centre);
  const power = d / c2 - 2;
  const skew = (c1 + d * centre) / (c2 * scale);
  const logDensity = (t: number): number => power * Math.log(Math.cos(t)) - skew * t;
  const mode = -Math.atan(skew / power);
  const top = logDensity(mode);
  const density = (t: number): number => Math.exp(logDensity(t) - top);
  const end = Math.PI / 2;
  const spread = Math.cos(mode) / Math.sqrt(power);
  const breaks = [-8, -4, -2, 0, 2, 4, 8].map((k) => mode + k * spread);
  const area = (from: number, to: number): number => {
    return from >= to ? 0 : integrate(density, from, to, breaks, 1e-11).value;
  };
  const total = area(-end, end);
  const angle = (z: number): number => Math.atan((z - centre) / scale);
  return {
    lowerTail: (z) => area(-end, angle(z)) / total,
    upperTail: (z) => area(angle(z), end) / total,
  };
}

/** z with lowerTail(z) = p. */
export function curveQuantile(curve: StandardCurve, p: number): number {
  const isLower = p <= 0.5;
  const target = Math.log(isLower ? p : 1 - p);
  const miss = (z: number): number => {
    const tail = isLower ? curve.lowerTail(z) : curve.upperTail(z);
    const off = Math.log(Math.max(tail, 1e-300)) - target;
    return isLower ? off : -off;
  };
  let reach = 2;
  while (reach < 1e6 && (miss(-reach) > 0 || miss(reach) < 0)) reach *= 2;
  return brentRoot(miss, -reach, reach, 1e-12);
}
