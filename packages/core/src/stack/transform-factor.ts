/**
 * One bounded term of a sum, as its moment generating function M(s) = E exp(s X) on a vertical
 * line Re s = c >= 0, scaled by exp(-s * top) so that nothing overflows.
 */
export interface TransformFactor {
  /** Upper end of the support. */
  readonly top: number;
  readonly width: number;
  /** |M| falls as |s|^-decay. */
  readonly decay: number;
  /** Relative error of the values. */
  readonly error: number;
  /** log of the scaled M(c), real c >= 0. */
  logAt(c: number): number;
  /** Multiplies re + i im by the scaled M(c + i h k) for k = first, first + 1, ... */
  multiply(re: Float64Array, im: Float64Array, c: number, h: number, first: number): void;
}

/** `power` equal uniforms: (1 - exp(-z)) / z with z = width * s. */
export function uniformFactor(top: number, width: number, power: number): TransformFactor {
  return {
    top: top * power,
    width: width * power,
    decay: power,
    error: 4e-16 * power,
    logAt(c) {
      const z = width * c;
      return z < 1e-300 ? 0 : power * Math.log(-Math.expm1(-z) / z);
    },
    multiply(re, im, c, h, first) {
      const x = width * c;
      const shrink = Math.exp(-x);
      const rise = -Math.expm1(-x);
      for (let j = 0; j < re.length; j++) {
        const y = width * h * (first + j);
        let vr = 1;
        let vi = 0;
        if (x !== 0 || y !== 0) {
          // 1 - exp(-z) written so that small z does not cancel
          const half = Math.sin(0.5 * y);
          const nr = rise + 2 * shrink * half * half;
          const ni = shrink * Math.sin(y);
          const size = x * x + y * y;
          vr = (nr * x + ni * y) / size;
          vi = (ni * x - nr * y) / size;
        }
        let pr = re[j] ?? 0;
        let pi = im[j] ?? 0;
        for (let p = 0; p < power; p++) {
          const t = pr * vr - pi * vi;
          pi = pr * vi + pi * vr;
          pr = t;
        }
        re[j] = pr;
        im[j] = pi;
      }
    },
  };
}

interface Complex {
  re: number;
  im: number;
}

/** Integral of 2 v exp(-z v) over 0 to 1. */
function rampFromZero(x: number, y: number, out: Complex): void {
  const size = x * x + y * y;
  if (size < 1) {
    sumSeries(x, y, 2, (k) => k + 2, out);
    return;
  }
  // 2 (1 - (1 + z) exp(-z)) / z^2
  const e = Math.exp(-x);
  const er = e * Math.cos(y);
  const ei = -e * Math.sin(y);
  divideBySquare(2 * (1 - ((1 + x) * er - y * ei)), -2 * ((1 + x) * ei + y * er), x, y, out);
}

/** Integral of 2 (1 - v) exp(-z v) over 0 to 1. */
function rampToZero(x: number, y: number, out: Complex): void {
  const size = x * x + y * y;
  if (size < 1) {
    sumSeries(x, y, 2, (k) => (k + 1) * (k + 2), out);
    return;
  }
  // 2 (exp(-z) - 1 + z) / z^2
  const e = Math.exp(-x);
  divideBySquare(2 * (e * Math.cos(y) - 1 + x), 2 * (y - e * Math.sin(y)), x, y, out);
}

/** Sum of scale * (-z)^k / (k! * divisor(k)). */
function sumSeries(
  x: number,
  y: number,
  scale: number,
  divisor: (k: number) => number,
  out: Complex,
): void {
  let tr = scale;
  let ti = 0;
  out.re = 0;
  out.im = 0;
  for (let k = 0; k < 20; k++) {
    out.re += tr / divisor(k);
    out.im += ti / divisor(k);
    const next = (-tr * x + ti * y) / (k + 1);
    ti = (-tr * y - ti * x) / (k + 1);
    tr = next;
  }
}

function divideBySquare(nr: number, ni: number, x: number, y: number, out: Complex): void {
  const sr = x * x - y * y;
  const si = 2 * x * y;
  const size = sr * sr + si * si;
  out.re = (nr * sr + ni * si) / size;
  out.im = (ni * sr - nr * si) / size;
}

/** A triangle with ramps of length `left` and `right` below and above the mode. */
export function triangleFactor(top: number, left: number, right: number): TransformFactor {
  const width = left + right;
  const p = left / width;
  const upper: Complex = { re: 0, im: 0 };
  const lower: Complex = { re: 0, im: 0 };
  // measured down from the top: upper ramp grows from zero, lower ramp starts at the mode
  const value = (x: number, y: number): Complex => {
    rampFromZero(right * x, right * y, upper);
    rampToZero(left * x, left * y, lower);
    const shrink = p * Math.exp(-right * x);
    const cr = shrink * Math.cos(right * y);
    const ci = -shrink * Math.sin(right * y);
    return {
      re: (1 - p) * upper.re + cr * lower.re - ci * lower.im,
      im: (1 - p) * upper.im + cr * lower.im + ci * lower.re,
    };
  };
  return {
    top,
    width,
    decay: left === 0 || right === 0 ? 1 : 2,
    error: 1e-15,
    logAt: (c) => Math.log(value(c, 0).re),
    multiply(re, im, c, h, first) {
      for (let j = 0; j < re.length; j++) {
        const v = value(c, h * (first + j));
        const r = re[j] ?? 0;
        const i = im[j] ?? 0;
        re[j] = r * v.re - i * v.im;
        im[j] = r * v.im + i * v.re;
      }
    },
  };
}
