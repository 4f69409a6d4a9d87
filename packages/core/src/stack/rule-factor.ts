import { logGamma } from '../numeric/gamma.js';
import { gaussJacobi } from '../numeric/gauss-jacobi.js';
import { normalPdf } from '../numeric/normal.js';
import { gaussLegendre, type QuadratureRule } from '../numeric/quadrature.js';
import { shapeDensity } from './shape-tail.js';
import { blockLength, type TransformFactor } from './transform-factor.js';
import type { Shape } from './types.js';

/** One end's part of an expansion in z = width * s: amplitude * z^-power * sum(terms[k] * z^-k). */
interface EndExpansion {
  readonly amplitude: number;
  readonly power: number;
  readonly terms: readonly number[];
  /** |z| squared up to which each term counts. */
  readonly squareUntil: readonly number[];
}

interface FarForm {
  /** |z| from which the expansion is used. */
  readonly from: number;
  readonly top: EndExpansion;
  readonly bottom: EndExpansion;
}

/** Terms of a series that are smaller, relative to the first, do not count. */
const leastTerm = 1e-15;

/** Terms of an asymptotic series, up to its smallest at |z| = `from`. */
function usefulTerms(next: (k: number, term: number) => number, from: number): number[] {
  const terms = [1];
  let before = 1;
  let last = 1;
  let term = 1;
  for (let k = 0; k < 200; k++) {
    term = next(k, term);
    const size = Math.abs(term) * from ** -(k + 1);
    // two in a row: every second term may be zero
    if (k > 2 && size > Math.max(before, last)) break;
    terms.push(term);
    before = last;
    last = size;
    if (Math.max(before, last) < 1e-18) break;
  }
  return terms;
}

function endExpansion(amplitude: number, power: number, terms: readonly number[]): EndExpansion {
  const squareUntil = terms.map((term, k) =>
    k === 0 ? Number.POSITIVE_INFINITY : (Math.abs(term) / leastTerm) ** (2 / k),
  );
  // a term that is zero does not end the series
  for (let k = terms.length - 2; k > 0; k--)
    squareUntil[k] = Math.max(squareUntil[k] ?? 0, squareUntil[k + 1] ?? 0);
  return { amplitude, power, terms, squareUntil };
}

function lastTermSize(terms: readonly number[], from: number): number {
  return Math.abs(terms[terms.length - 1] ?? 0) * from ** -(terms.length - 1);
}

/** A complex power z^-p, written to the buffer. */
const powered = new Float64Array(2);

/**
 * Writes amplitude * z^-power * sum(terms[k] z^-k) to `out`; 1/z = ir + i ii, and `powered` holds
 * z^-power.
 */
function endValue(
  end: EndExpansion,
  square: number,
  ir: number,
  ii: number,
  out: Float64Array,
): void {
  const { terms, squareUntil } = end;
  let count = 1;
  while (count < terms.length && square <= (squareUntil[count] ?? 0)) count += 1;
  // real coefficients at a complex point: division by the real quadratic (Knuth, TAOCP 4.6.4)
  const twice = 2 * ir;
  const norm = ir * ir + ii * ii;
  let one = 0;
  let two = 0;
  for (let k = count - 1; k > 0; k--) {
    const next = (terms[k] ?? 0) + twice * one - norm * two;
    two = one;
    one = next;
  }
  const re = (terms[0] ?? 0) + one * ir - norm * two;
  const im = one * ii;
  const cr = end.amplitude * (powered[0] ?? 0);
  const ci = end.amplitude * (powered[1] ?? 0);
  out[0] = re * cr - im * ci;
  out[1] = re * ci + im * cr;
}

const topPart = new Float64Array(2);
const bottomPart = new Float64Array(2);

/** Powers that a few products of z^-1/2 give. */
const fewHalves = 8;

/**
 * Writes z^-power to `powered`. Whole and half powers come from the root wr + i wi = z^-1/2, others from
 * the polar form. `turned` takes -z instead, its angle less by pi so that the cut is not crossed.
 */
function power(
  exponent: number,
  x: number,
  y: number,
  wr: number,
  wi: number,
  turned: boolean,
): void {
  const halves = 2 * exponent;
  if (Number.isInteger(halves) && halves >= 0 && halves <= fewHalves) {
    // (-z)^-1/2 with that angle is i z^-1/2
    const ur = turned ? -wi : wr;
    const ui = turned ? wr : wi;
    let re = 1;
    let im = 0;
    for (let k = 0; k < halves; k++) {
      const t = re * ur - im * ui;
      im = re * ui + im * ur;
      re = t;
    }
    powered[0] = re;
    powered[1] = im;
    return;
  }
  const size = Math.exp(-0.5 * exponent * Math.log(x * x + y * y));
  const angle = exponent * (Math.atan2(y, x) - (turned ? Math.PI : 0));
  powered[0] = size * Math.cos(angle);
  powered[1] = -size * Math.sin(angle);
}

/**
 * Writes the expansion at z = x + i y, x >= 0, to `out`.
 *
 * @param cr real part of exp(-z), `ci` its imaginary part
 */
function farValue(
  far: FarForm,
  x: number,
  y: number,
  cr: number,
  ci: number,
  out: Float64Array,
): void {
  const square = x * x + y * y;
  const ir = x / square;
  const ii = -y / square;
  // the root of 1/z by half angles; the real part of z is not negative, so nothing cancels
  const wr = Math.sqrt((0.5 * (Math.sqrt(square) + x)) / square);
  const wi = ii / (2 * wr);
  power(far.top.power, x, y, wr, wi, false);
  endValue(far.top, square, ir, ii, topPart);
  out[0] = topPart[0] ?? 0;
  out[1] = topPart[1] ?? 0;
  if (Math.abs(cr) + Math.abs(ci) < 1e-18) return;
  power(far.bottom.power, x, y, wr, wi, true);
  endValue(far.bottom, square, -ir, -ii, bottomPart);
  const br = bottomPart[0] ?? 0;
  const bi = bottomPart[1] ?? 0;
  out[0] += br * cr - bi * ci;
  out[1] += br * ci + bi * cr;
}

/**
 * A term given by quadrature: M(s) = sum(weights * exp(s * drop)), `drops` measured down from the
 * top (<= 0). Beyond the reach of the rule the ends' asymptotic expansion takes over.
 */
function ruleFactor(
  top: number,
  width: number,
  drops: Float64Array,
  weights: Float64Array,
  decay: number,
  error: number,
  far?: FarForm,
): TransformFactor {
  const count = drops.length;
  const value = new Float64Array(2);
  const vr = new Float64Array(blockLength);
  const vi = new Float64Array(blockLength);
  return {
    top,
    width,
    decay,
    error,
    addLog(c, out) {
      let log: number;
      let slope: number;
      let bend: number;
      if (far !== undefined && c * width > far.from) {
        farValue(far, c * width, 0, Math.exp(-c * width), 0, value);
        log = Math.log(value[0] ?? 0);
        slope = -far.top.power / c;
        bend = far.top.power / (c * c);
      } else {
        let sum = 0;
        let first = 0;
        let second = 0;
        for (let j = 0; j < count; j++) {
          const drop = drops[j] ?? 0;
          const part = (weights[j] ?? 0) * Math.exp(c * drop);
          sum += part;
          first += part * drop;
          second += part * drop * drop;
        }
        log = Math.log(sum);
        slope = first / sum;
        bend = Math.max(0, second / sum - slope * slope);
      }
      out[0] = (out[0] ?? 0) + log;
      out[1] = (out[1] ?? 0) + slope;
      out[2] = (out[2] ?? 0) + bend;
    },
    multiply(re, im, c, h, first) {
      const size = re.length;
      vr.fill(0);
      vi.fill(0);
      const reach = far === undefined ? Number.POSITIVE_INFINITY : far.from / width;
      const shrink = Math.exp(-width * c);
      let near = 0;
      while (near < size && Math.hypot(c, h * (first + near)) <= reach) near += 1;
      for (let j = 0; j < count && near > 0; j++) {
        const drop = drops[j] ?? 0;
        const weight = (weights[j] ?? 0) * Math.exp(c * drop);
        let pr = weight * Math.cos(h * first * drop);
        let pi = weight * Math.sin(h * first * drop);
        const cr = Math.cos(h * drop);
        const ci = Math.sin(h * drop);
        for (let k = 0; k < near; k++) {
          vr[k] = (vr[k] ?? 0) + pr;
          vi[k] = (vi[k] ?? 0) + pi;
          const t = pr * cr - pi * ci;
          pi = pr * ci + pi * cr;
          pr = t;
        }
      }
      // exp(-z), turned from node to node
      const turnCos = Math.cos(width * h);
      const turnSin = Math.sin(width * h);
      let cr = shrink * Math.cos(width * h * (first + near));
      let ci = -shrink * Math.sin(width * h * (first + near));
      for (let k = near; k < size && far !== undefined; k++) {
        farValue(far, width * c, width * h * (first + k), cr, ci, value);
        vr[k] = value[0] ?? 0;
        vi[k] = value[1] ?? 0;
        const t = cr * turnCos + ci * turnSin;
        ci = ci * turnCos - cr * turnSin;
        cr = t;
      }
      for (let k = 0; k < size; k++) {
        const r = re[k] ?? 0;
        const i = im[k] ?? 0;
        const a = vr[k] ?? 0;
        const b = vi[k] ?? 0;
        re[k] = r * a - i * b;
        im[k] = r * b + i * a;
      }
    },
  };
}

/** Gauss-Chebyshev rules on 0 to 1 of the arcsine and of the semi-ellipse, else Gauss-Jacobi. */
function betaRule(count: number, alpha: number, beta: number): QuadratureRule {
  if (alpha !== beta || (alpha !== 0.5 && alpha !== 1.5)) return gaussJacobi(count, alpha, beta);
  const nodes = new Float64Array(count);
  const weights = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const angle = alpha === 0.5 ? ((i + 0.5) * Math.PI) / count : ((i + 1) * Math.PI) / (count + 1);
    nodes[i] = Math.sin(0.5 * angle) ** 2;
    weights[i] = alpha === 0.5 ? 1 / count : (2 * Math.sin(angle) ** 2) / (count + 1);
  }
  return { nodes, weights };
}

const rules = new Map<string, QuadratureRule>();

/** A rule depends on its numbers alone; a stack asks for the same one again and again. */
function kept(key: string, make: () => QuadratureRule): QuadratureRule {
  let rule = rules.get(key);
  if (rule === undefined) {
    if (rules.size >= 64) rules.clear();
    rule = make();
    rules.set(key, rule);
  }
  return rule;
}

/** Beta on the support (arcsine and semi-ellipse are betas too). DLMF 13.7.2 for large s. */
export function betaFactor(
  lower: number,
  upper: number,
  alpha: number,
  beta: number,
): TransformFactor {
  const width = upper - lower;
  const { rule, far, error } = betaForm(alpha, beta);
  const drops = rule.nodes.map((node) => width * (node - 1));
  return ruleFactor(upper, width, drops, rule.weights, Math.min(alpha, beta), error, far);
}

/** What betas of one shape have in common, whatever their width. */
interface BetaForm {
  readonly rule: QuadratureRule;
  readonly far: FarForm;
  readonly error: number;
}

const betaForms = new Map<string, BetaForm>();

function betaForm(alpha: number, beta: number): BetaForm {
  const key = `${alpha} ${beta}`;
  let form = betaForms.get(key);
  if (form === undefined) {
    if (betaForms.size >= 64) betaForms.clear();
    form = makeBetaForm(alpha, beta);
    betaForms.set(key, form);
  }
  return form;
}

function makeBetaForm(alpha: number, beta: number): BetaForm {
  const topTerms = (z: number): number[] =>
    usefulTerms((k, t) => (t * (beta + k) * (1 - alpha + k)) / (k + 1), z);
  const bottomTerms = (z: number): number[] =>
    usefulTerms((k, t) => (t * (alpha + k) * (1 - beta + k)) / (k + 1), z);
  let reach = 36;
  const miss = (z: number): number =>
    Math.max(lastTermSize(topTerms(z), z), lastTermSize(bottomTerms(z), z));
  while (reach < 900 && miss(reach) > 1e-15) reach *= 1.25;
  const all = logGamma(alpha + beta);
  return {
    rule: betaRule(Math.ceil(0.32 * reach) + 12, alpha, beta),
    far: {
      from: reach,
      top: endExpansion(Math.exp(all - logGamma(alpha)), beta, topTerms(reach)),
      bottom: endExpansion(Math.exp(all - logGamma(beta)), alpha, bottomTerms(reach)),
    },
    error: Math.max(2e-14, miss(reach)),
  };
}

/** A normal cut off at both ends. */
export function truncatedFactor(
  shape: Shape & { readonly kind: 'truncated-normal' },
): TransformFactor {
  const { mean, sd } = shape;
  // what lies beyond 10 sigma weighs less than 1e-23
  const lower = Math.max(shape.lower, mean - 10 * sd);
  const upper = Math.min(shape.upper, mean + 10 * sd);
  const width = upper - lower;
  const spread = width / sd;
  const reach = Math.max(40, 11 * spread);
  const count = Math.ceil(0.32 * (reach + 9 * spread)) + 12;
  const rule = kept(`${count}`, () => gaussLegendre(count));
  const drops = rule.nodes.map((node) => 0.5 * width * (node - 1));
  const raw = rule.weights.map((weight, i) => {
    const z = (upper + (drops[i] ?? 0) - mean) / sd;
    return weight * normalPdf(z);
  });
  const total = raw.reduce((sum, weight) => sum + weight, 0);
  const end = (x: number, sign: number): EndExpansion => {
    // the top sees -f'/f, the bottom the same with s and x reversed: Hermite polynomials
    const z = (sign * (x - mean)) / sd;
    let before = 0;
    let hermite = 1;
    const terms = usefulTerms((k) => {
      const next = z * hermite - k * before;
      before = hermite;
      hermite = next;
      return next * spread ** (k + 1);
    }, reach);
    return endExpansion(width * shapeDensity(shape, x), 1, terms);
  };
  const far: FarForm = { from: reach, top: end(upper, 1), bottom: end(lower, -1) };
  const weights = raw.map((weight) => weight / total);
  return ruleFactor(upper, width, drops, weights, 1, 2e-14, far);
}

/** Equally likely values, ascending. */
export function empiricalFactor(values: Float64Array): TransformFactor {
  const top = values[values.length - 1] ?? 0;
  const drops = values.map((value) => value - top);
  const weights = new Float64Array(values.length).fill(1 / values.length);
  return ruleFactor(top, top - (values[0] ?? 0), drops, weights, 0, 1e-15);
}
