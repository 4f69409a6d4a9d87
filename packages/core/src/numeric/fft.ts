/** cos and sin of 2 pi k / size for k below size / 2, each from the library function. */
export interface Twiddles {
  readonly size: number;
  readonly cosines: Float64Array;
  readonly sines: Float64Array;
}

/** Tables for transforms of `size` points, a power of two. */
export function twiddlesFor(size: number): Twiddles {
  if (size < 2 || (size & (size - 1)) !== 0) {
    throw new RangeError(`transform size ${size} is not a power of two`);
  }
  const cosines = new Float64Array(size / 2);
  const sines = new Float64Array(size / 2);
  for (let k = 0; k < size / 2; k++) {
    const angle = (2 * Math.PI * k) / size;
    cosines[k] = Math.cos(angle);
    sines[k] = Math.sin(angle);
  }
  return { size, cosines, sines };
}

/**
 * Discrete Fourier transform in place, X[k] = sum x[j] exp(-2 pi i j k / n), radix 2 (Cooley and
 * Tukey 1965, doi 10.1090/S0025-5718-1965-0178586-1). `inverse` has the opposite sign and divides by n.
 */
export function fftInPlace(
  re: Float64Array,
  im: Float64Array,
  twiddles: Twiddles,
  inverse: boolean = false,
): void {
  const n = twiddles.size;
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1;
    for (; (j & bit) !== 0; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) {
      const a = re[i] ?? 0;
      re[i] = re[j] ?? 0;
      re[j] = a;
      const b = im[i] ?? 0;
      im[i] = im[j] ?? 0;
      im[j] = b;
    }
  }
  const sign = inverse ? 1 : -1;
  for (let half = 1; half < n; half <<= 1) {
    const stride = n / (2 * half);
    for (let start = 0; start < n; start += 2 * half) {
      for (let k = 0; k < half; k++) {
        const c = twiddles.cosines[k * stride] ?? 0;
        const s = sign * (twiddles.sines[k * stride] ?? 0);
        const p = start + k;
        const q = p + half;
        const reQ = re[q] ?? 0;
        const imQ = im[q] ?? 0;
        const tr = reQ * c - imQ * s;
        const ti = reQ * s + imQ * c;
        const reP = re[p] ?? 0;
        const imP = im[p] ?? 0;
        re[p] = reP + tr;
        im[p] = imP + ti;
        re[q] = reP - tr;
        im[q] = imP - ti;
      }
    }
  }
  if (!inverse) return;
  for (let i = 0; i < n; i++) {
    re[i] = (re[i] ?? 0) / n;
    im[i] = (im[i] ?? 0) / n;
  }
}

/**
 * Linear convolution of two real sequences; the result has length a + b - 1. Both go through one
 * complex transform (a in the real part, b in the imaginary part). Absolute error about 1e-16 of
 * the product of the sums.
 */
export function convolve(a: ArrayLike<number>, b: ArrayLike<number>): Float64Array {
  const length = a.length + b.length - 1;
  let size = 2;
  while (size < length) size *= 2;
  const twiddles = twiddlesFor(size);
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  re.set(a);
  im.set(b);
  fftInPlace(re, im, twiddles);
  const outRe = new Float64Array(size);
  const outIm = new Float64Array(size);
  for (let k = 0; k < size; k++) {
    const m = (size - k) % size;
    const ar = ((re[k] ?? 0) + (re[m] ?? 0)) / 2;
    const ai = ((im[k] ?? 0) - (im[m] ?? 0)) / 2;
    const br = ((im[k] ?? 0) + (im[m] ?? 0)) / 2;
    const bi = ((re[m] ?? 0) - (re[k] ?? 0)) / 2;
    outRe[k] = ar * br - ai * bi;
    outIm[k] = ar * bi + ai * br;
  }
  fftInPlace(outRe, outIm, twiddles, true);
  return outRe.slice(0, length);
}
