const halfLog2Pi = 0.9189385332046727;

/** Stirling series of log Gamma(x) - ((x - 1/2) log x - x + log(2 pi)/2), for x >= 10. */
function stirlingTail(x: number): number {
  const z = 1 / (x * x);
  const series =
    1 / 12 -
    z *
      (1 / 360 -
        z * (1 / 1260 - z * (1 / 1680 - z * (1 / 1188 - z * (691 / 360360 - z * (1 / 156))))));
  return series / x;
}

/** log Gamma(x) for x > 0; error below 3e-15 of max(1, |log Gamma|). NaN for x <= 0. */
export function logGamma(x: number): number {
  if (!(x > 0)) return Number.NaN;
  if (x === 1 || x === 2) return 0;
  let shift = 1;
  let y = x;
  while (y < 10) {
    shift *= y;
    y += 1;
  }
  return (y - 0.5) * Math.log(y) - y + halfLog2Pi + stirlingTail(y) - Math.log(shift);
}

/** log Gamma(x + 1) - ((x + 1/2) log x - x + log(2 pi)/2): what Stirling's formula misses. */
export function stirlingError(x: number): number {
  if (x >= 10) return stirlingTail(x);
  return logGamma(x + 1) - (x + 0.5) * Math.log(x) + x - halfLog2Pi;
}

/**
 * x log(x/m) + m - x without cancellation near x = m (C. Loader, Fast and accurate computation of
 * binomial probabilities, 2000).
 */
export function poissonDeviance(x: number, m: number): number {
  if (Math.abs(x - m) >= 0.1 * (x + m)) return x * Math.log(x / m) + m - x;
  const v = (x - m) / (x + m);
  let sum = (x - m) * v;
  let term = 2 * x * v;
  for (let j = 1; j < 200; j++) {
    term *= v * v;
    const next = sum + term / (2 * j + 1);
    if (next === sum) break;
    sum = next;
  }
  return sum;
}

/** x^a exp(-x) / Gamma(a + 1), relative error about 1e-15. */
export function poissonTerm(a: number, x: number): number {
  if (x === 0) return a === 0 ? 1 : 0;
  if (a === 0) return Math.exp(-x);
  if (a < 1) return Math.exp(a * Math.log(x) - x - logGamma(a + 1));
  return Math.exp(-stirlingError(a) - poissonDeviance(a, x)) / Math.sqrt(2 * Math.PI * a);
}

function gammaSeries(a: number, x: number): number {
  let term = 1;
  let sum = 1;
  for (let k = 1; k < 100_000; k++) {
    term *= x / (a + k);
    sum += term;
    if (term < sum * 1e-17) break;
  }
  return poissonTerm(a, x) * sum;
}

/** Legendre's continued fraction by the modified Lentz method. */
function gammaFraction(a: number, x: number): number {
  const tiny = 1e-300;
  let b = x + 1 - a;
  let c = 1 / tiny;
  let d = 1 / b;
  let value = d;
  for (let k = 1; k < 100_000; k++) {
    const an = -k * (k - a);
    b += 2;
    d = an * d + b;
    if (Math.abs(d) < tiny) d = tiny;
    c = b + an / c;
    if (Math.abs(c) < tiny) c = tiny;
    d = 1 / d;
    const step = d * c;
    value *= step;
    if (Math.abs(step - 1) < 1e-16) break;
  }
  return a * poissonTerm(a, x) * value;
}

/** Regularised lower incomplete gamma function P(a, x), a > 0, x >= 0. */
export function gammaLower(a: number, x: number): number {
  if (!(a > 0) || Number.isNaN(x)) return Number.NaN;
  if (x <= 0) return 0;
  if (x === Number.POSITIVE_INFINITY) return 1;
  return x < a + 1 ? gammaSeries(a, x) : 1 - gammaFraction(a, x);
}

/** Regularised upper incomplete gamma function Q(a, x) = 1 - P(a, x), without the subtraction. */
export function gammaUpper(a: number, x: number): number {
  if (!(a > 0) || Number.isNaN(x)) return Number.NaN;
  if (x <= 0) return 1;
  if (x === Number.POSITIVE_INFINITY) return 0;
  return x < a + 1 ? 1 - gammaSeries(a, x) : gammaFraction(a, x);
}
