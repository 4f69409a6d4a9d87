import type { QuadratureRule } from './quadrature.js';

/** Eigenvalues of a symmetric tridiagonal matrix by implicit QL; `off[i]` joins i and i + 1. */
function tridiagonalEigenvalues(diagonal: Float64Array, off: Float64Array): void {
  const n = diagonal.length;
  const at = (array: Float64Array, i: number): number => array[i] ?? 0;
  for (let l = 0; l < n; l++) {
    for (let iteration = 0; iteration < 100; iteration++) {
      let m = l;
      for (; m < n - 1; m++) {
        const size = Math.abs(at(diagonal, m)) + Math.abs(at(diagonal, m + 1));
        if (Math.abs(at(off, m)) <= Number.EPSILON * size) break;
      }
      if (m === l) break;
      let g = (at(diagonal, l + 1) - at(diagonal, l)) / (2 * at(off, l));
      let r = Math.sqrt(g * g + 1);
      g = at(diagonal, m) - at(diagonal, l) + at(off, l) / (g + (g >= 0 ? r : -r));
      let s = 1;
      let c = 1;
      let p = 0;
      for (let i = m - 1; i >= l; i--) {
        const f = s * at(off, i);
        const b = c * at(off, i);
        r = Math.sqrt(f * f + g * g);
        off[i + 1] = r;
        if (r === 0) {
          diagonal[i + 1] = at(diagonal, i + 1) - p;
          off[m] = 0;
          break;
        }
        s = f / r;
        c = g / r;
        g = at(diagonal, i + 1) - p;
        r = (at(diagonal, i) - g) * s + 2 * c * b;
        p = s * r;
        diagonal[i + 1] = g + p;
        g = c * r - b;
      }
      if (r === 0 && m - 1 >= l) continue;
      diagonal[l] = at(diagonal, l) - p;
      off[l] = g;
      off[m] = 0;
    }
  }
}

/**
 * Gauss-Jacobi rule for the beta distribution on 0 to 1: nodes ascending, weights that sum to 1,
 * exact for polynomials below degree 2 `count` (Golub and Welsch, Math. Comp. 23 (1969) 221). Nodes
 * are polished by Newton and weights taken as Christoffel sums, so that the tiny weights near an
 * end keep their relative accuracy.
 */
export function gaussJacobi(count: number, alpha: number, beta: number): QuadratureRule {
  // weight (1 - x)^a (1 + x)^b on -1 to 1, recurrence of the orthonormal polynomials
  const a = beta - 1;
  const b = alpha - 1;
  const centre = new Float64Array(count);
  const coupling = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    const s = 2 * k + a + b;
    centre[k] = k === 0 ? (b - a) / (a + b + 2) : (b * b - a * a) / (s * (s + 2));
    const j = k + 1;
    const t = 2 * j + a + b;
    const square =
      j === 1
        ? (4 * (1 + a) * (1 + b)) / (t * t * (t + 1))
        : (4 * j * (j + a) * (j + b) * (j + a + b)) / (t * t * (t + 1) * (t - 1));
    coupling[k] = Math.sqrt(square);
  }
  const roots = Float64Array.from(centre);
  tridiagonalEigenvalues(roots, Float64Array.from(coupling));
  roots.sort();
  const nodes = new Float64Array(count);
  const weights = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    let x = roots[i] ?? 0;
    let sum = 1;
    for (let pass = 0; pass < 2; pass++) {
      let before = 0;
      let value = 1;
      let slopeBefore = 0;
      let slope = 0;
      sum = 1;
      for (let k = 0; k < count; k++) {
        const up = coupling[k] ?? 1;
        const down = k === 0 ? 0 : (coupling[k - 1] ?? 0);
        const off = x - (centre[k] ?? 0);
        const next = (off * value - down * before) / up;
        const slopeNext = (value + off * slope - down * slopeBefore) / up;
        before = value;
        value = next;
        slopeBefore = slope;
        slope = slopeNext;
        if (k < count - 1) sum += value * value;
      }
      if (pass === 0 && slope !== 0) x -= value / slope;
    }
    nodes[i] = 0.5 * (1 + x);
    weights[i] = 1 / sum;
  }
  return { nodes, weights };
}
