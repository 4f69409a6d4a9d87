/**
 * Root of `f` between `a` and `b`, where it changes sign (R. P. Brent, Algorithms for Minimization
 * without Derivatives, 1973, ch. 4). Stops when the bracket is within `tolerance` (absolute) or at
 * machine precision. NaN when the ends have the same sign.
 */
export function brentRoot(
  f: (x: number) => number,
  a: number,
  b: number,
  tolerance: number = 0,
): number {
  let best = b;
  let fBest = f(b);
  let previous = a;
  let fPrevious = f(a);
  if (fPrevious === 0) return a;
  if (fBest === 0) return b;
  if (!(fPrevious < 0 !== fBest < 0) || Number.isNaN(fPrevious) || Number.isNaN(fBest)) {
    return Number.NaN;
  }
  let other = previous;
  let fOther = fPrevious;
  let step = best - previous;
  let lastStep = step;
  for (let iteration = 0; iteration < 400; iteration++) {
    if (fBest > 0 === fOther > 0) {
      other = previous;
      fOther = fPrevious;
      step = best - previous;
      lastStep = step;
    }
    if (Math.abs(fOther) < Math.abs(fBest)) {
      previous = best;
      best = other;
      other = previous;
      fPrevious = fBest;
      fBest = fOther;
      fOther = fPrevious;
    }
    const limit = 2 * Number.EPSILON * Math.abs(best) + 0.5 * tolerance;
    const half = 0.5 * (other - best);
    if (Math.abs(half) <= limit || fBest === 0) return best;
    if (Math.abs(lastStep) >= limit && Math.abs(fPrevious) > Math.abs(fBest)) {
      const s = fBest / fPrevious;
      let p: number;
      let q: number;
      if (previous === other) {
        p = 2 * half * s;
        q = 1 - s;
      } else {
        const qq = fPrevious / fOther;
        const r = fBest / fOther;
        p = s * (2 * half * qq * (qq - r) - (best - previous) * (r - 1));
        q = (qq - 1) * (r - 1) * (s - 1);
      }
      if (p > 0) q = -q;
      else p = -p;
      if (2 * p < Math.min(3 * half * q - Math.abs(limit * q), Math.abs(lastStep * q))) {
        lastStep = step;
        step = p / q;
      } else {
        step = half;
        lastStep = half;
      }
    } else {
      step = half;
      lastStep = half;
    }
    previous = best;
    fPrevious = fBest;
    best += Math.abs(step) > limit ? step : half > 0 ? limit : -limit;
    fBest = f(best);
  }
  return best;
}

/**
 * Root of an increasing function from its value and slope: Newton's steps inside a bracket that
 * shrinks, so that it cannot run away. Stops when a step is below `tolerance` relative to x.
 */
export function newtonInBracket(
  f: (x: number) => readonly [value: number, slope: number],
  lower: number,
  upper: number,
  start: number,
  tolerance: number = 4e-16,
): number {
  let a = lower;
  let b = upper;
  let x = start > a && start < b ? start : 0.5 * (a + b);
  for (let iteration = 0; iteration < 200; iteration++) {
    const [value, slope] = f(x);
    if (value === 0) return x;
    if (value < 0) a = x;
    else b = x;
    const step = value / slope;
    // a last step as small as rounding may leave the bracket
    if (Math.abs(step) <= tolerance * Math.abs(x))
      return Math.min(upper, Math.max(lower, x - step));
    let next = x - step;
    if (!(next > a && next < b)) next = 0.5 * (a + b);
    if (next === a || next === b) return next;
    x = next;
  }
  return x;
}
