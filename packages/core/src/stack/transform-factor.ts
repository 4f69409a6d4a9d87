/** Nodes that are worked through together. */
export const blockLength = 64;

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
  /** Adds log of the scaled M(c), real c >= 0, and its first and second derivative to `out`. */
  addLog(c: number, out: Float64Array): void;
  /** Multiplies a block re + i im by the scaled M(c + i h k), k = first, first + 1, ... */
  multiply(re: Float64Array, im: Float64Array, c: number, h: number, first: number): void;
}

/** `power` equal uniforms: (1 - exp(-z)) / z with z = width * s. */
export function uniformFactor(top: number, width: number, power: number): TransformFactor {
  return {
    top: top * power,
    width: width * power,
    decay: power,
    error: 4e-16 * power,
    addLog(c, out) {
      const z = width * c;
      let first = -0.5 + z / 12;
      let second = 1 / 12 - (z * z) / 240;
      if (z > 0.01) {
        const grown = Math.expm1(z);
        first = 1 / grown - 1 / z;
        second = 1 / (z * z) - 1 / grown - 1 / (grown * grown);
      }
      const value = z < 1e-300 ? 0 : Math.log(-Math.expm1(-z) / z);
      out[0] = (out[0] ?? 0) + power * value;
      out[1] = (out[1] ?? 0) + power * width * first;
      out[2] = (out[2] ?? 0) + power * width * width * second;
    },
    multiply(re, im, c, h, first) {
      const x = width * c;
      const shrink = Math.exp(-x);
      const rise = -Math.expm1(-x);
      // half the angle, turned from node to node
      const angle = 0.5 * width * h;
      const turnCos = Math.cos(angle);
      const turnSin = Math.sin(angle);
      let cos = Math.cos(angle * first);
      let sin = Math.sin(angle * first);
      for (let j = 0; j < re.length; j++) {
        const y = 2 * angle * (first + j);
        let vr = 1;
        let vi = 0;
        if (x !== 0 || y !== 0) {
          // 1 - exp(-z) written so that small z does not cancel
          const nr = rise + 2 * shrink * sin * sin;
          const ni = 2 * shrink * sin * cos;
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
        const turned = cos * turnCos - sin * turnSin;
        sin = cos * turnSin + sin * turnCos;
        cos = turned;
      }
    },
  };
}

interface Complex {
  re: number;
  im: number;
}

/** Integral of 2 v exp(-z v) over 0 to 1, z = x + i y, given exp(-z). */
function rampFromZero(x: number, y: number, er: number, ei: number, out: Complex): void {
  if (x * x + y * y < 1) {
    sumSeries(x, y, 2, (k) => k + 2, out);
    return;
  }
  // 2 (1 - (1 + z) exp(-z)) / z^2
  divideBySquare(2 * (1 - ((1 + x) * er - y * ei)), -2 * ((1 + x) * ei + y * er), x, y, out);
}

/** Integral of 2 (1 - v) exp(-z v) over 0 to 1, given exp(-z). */
function rampToZero(x: number, y: number, er: number, ei: number, out: Complex): void {
  if (x * x + y * y < 1) {
    sumSeries(x, y, 2, (k) => (k + 1) * (k + 2), out);
    return;
  }
  // 2 (exp(-z) - 1 + z) / z^2
  divideBySquare(2 * (er - 1 + x), 2 * (ei + y), x, y, out);
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
  const logAt = (c: number): number => {
    const shrink = Math.exp(-right * c);
    rampFromZero(right * c, 0, shrink, 0, upper);
    rampToZero(left * c, 0, Math.exp(-left * c), 0, lower);
    return Math.log((1 - p) * upper.re + p * shrink * lower.re);
  };
  return {
    top,
    width,
    decay: left === 0 || right === 0 ? 1 : 2,
    error: 1e-15,
    addLog(c, out) {
      // a rough slope is enough: it only guides the search for the saddle point
      const delta = 1e-3 * (c + 1 / width);
      const at = logAt(c);
      const above = logAt(c + delta);
      const below = logAt(c - delta);
      out[0] = (out[0] ?? 0) + at;
      out[1] = (out[1] ?? 0) + (above - below) / (2 * delta);
      out[2] = (out[2] ?? 0) + (above - 2 * at + below) / (delta * delta);
    },
    // measured down from the top: the upper ramp grows from zero, the lower one starts at the mode
    multiply(re, im, c, h, first) {
      const upperShrink = Math.exp(-right * c);
      const lowerShrink = Math.exp(-left * c);
      for (let j = 0; j < re.length; j++) {
        const t = h * (first + j);
        const ur = upperShrink * Math.cos(right * t);
        const ui = -upperShrink * Math.sin(right * t);
        const lr = lowerShrink * Math.cos(left * t);
        const li = -lowerShrink * Math.sin(left * t);
        rampFromZero(right * c, right * t, ur, ui, upper);
        rampToZero(left * c, left * t, lr, li, lower);
        const vr = (1 - p) * upper.re + p * (ur * lower.re - ui * lower.im);
        const vi = (1 - p) * upper.im + p * (ur * lower.im + ui * lower.re);
        const r = re[j] ?? 0;
        const i = im[j] ?? 0;
        re[j] = r * vr - i * vi;
        im[j] = r * vi + i * vr;
      }
    },
  };
}
