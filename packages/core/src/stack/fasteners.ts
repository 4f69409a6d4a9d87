import { InputError } from '../problems/problem.js';
import { requireLengths } from './feature-boundaries.js';

/** Both parts have clearance holes. Give the hole or the tolerance. Diameters, mm. */
export interface FloatingFastenerInput {
  /** Largest fastener (maximum material). */
  readonly fastenerMm: number;
  /** Smallest clearance hole (maximum material). */
  readonly holeMm?: number;
  /** Position tolerance at MMC of each part's holes. */
  readonly toleranceMm?: number;
}

export interface FloatingFastener {
  readonly holeMm: number;
  readonly toleranceMm: number;
}

/**
 * Floating fastener: H = F + T (ASME Y14.5, appendix B). Gives the hole for a tolerance, or the
 * tolerance that a given hole allows. Throws `InputError`.
 *
 * @example
 * floatingFastener({ fastenerMm: 10, toleranceMm: 0.4 }).holeMm // -> 10.4
 */
export function floatingFastener(input: FloatingFastenerInput): FloatingFastener {
  const { fastenerMm, holeMm, toleranceMm } = input;
  requireLengths({ fastenerMm, holeMm, toleranceMm });
  if (holeMm === undefined) {
    if (toleranceMm === undefined) return missing('holeMm', 'the hole or the tolerance');
    return { holeMm: fastenerMm + toleranceMm, toleranceMm };
  }
  return { holeMm, toleranceMm: positive(holeMm - fastenerMm, holeMm) };
}

/** One part holds the fastener (thread, press fit), the other has clearance holes. Diameters, mm. */
export interface FixedFastenerInput {
  readonly fastenerMm: number;
  readonly holeMm?: number;
  /** Position tolerance at MMC of the clearance hole. */
  readonly clearanceToleranceMm?: number;
  /** Position tolerance of the thread or press-fit hole. */
  readonly fixedToleranceMm?: number;
  /**
   * Without a projected tolerance zone: how far the fastener stands out (thickness of the other
   * part) and how deep it is held. Absent: the zone is projected.
   */
  readonly unprojected?: { readonly heightMm: number; readonly depthMm: number };
}

export interface FixedFastener {
  readonly holeMm: number;
  readonly clearanceToleranceMm: number;
  readonly fixedToleranceMm: number;
}

/**
 * Fixed fastener: H = F + T1 + T2, or without a projected zone H = F + T1 + T2 (1 + 2P/D) (ASME
 * Y14.5, appendix B; the unprojected form from memory). Solves for the hole or for one tolerance;
 * with the hole alone, splits equally. Throws `InputError`.
 *
 * @example
 * fixedFastener({ fastenerMm: 10, holeMm: 10.6, clearanceToleranceMm: 0.25 }).fixedToleranceMm // -> ~0.35
 */
export function fixedFastener(input: FixedFastenerInput): FixedFastener {
  const { fastenerMm, holeMm, clearanceToleranceMm: t1, fixedToleranceMm: t2, unprojected } = input;
  const { heightMm = 0, depthMm = 1 } = unprojected ?? {};
  requireLengths({ fastenerMm, holeMm, clearanceToleranceMm: t1, fixedToleranceMm: t2, heightMm });
  if (!(Number.isFinite(depthMm) && depthMm > 0)) {
    throw new InputError([
      {
        code: 'out-of-range',
        place: { path: 'unprojected.depthMm' },
        message: 'the depth in which the fastener is held must be above 0',
        value: String(depthMm),
        accept: 'a number of mm above 0',
      },
    ]);
  }
  const lean = 1 + (2 * heightMm) / depthMm;
  if (holeMm === undefined) {
    if (t1 === undefined || t2 === undefined) {
      return missing('holeMm', 'the hole, or both tolerances');
    }
    return {
      holeMm: fastenerMm + t1 + t2 * lean,
      clearanceToleranceMm: t1,
      fixedToleranceMm: t2,
    };
  }
  const play = positive(holeMm - fastenerMm, holeMm);
  if (t1 !== undefined) {
    const fixedToleranceMm = positive(play - t1, holeMm) / lean;
    return { holeMm, clearanceToleranceMm: t1, fixedToleranceMm };
  }
  const fixedToleranceMm = t2 ?? play / (1 + lean);
  const clearanceToleranceMm = positive(play - fixedToleranceMm * lean, holeMm);
  return { holeMm, clearanceToleranceMm, fixedToleranceMm };
}

function missing(path: string, accept: string): never {
  const message = 'too little is given to solve the fastener formula';
  throw new InputError([{ code: 'missing-field', place: { path }, message, accept }]);
}

function positive(value: number, holeMm: number): number {
  if (value >= -1e-12) return Math.max(0, value);
  throw new InputError([
    {
      code: 'inconsistent',
      place: { path: 'holeMm' },
      message: 'the hole leaves no clearance for the fastener and the tolerances',
      value: String(holeMm),
      accept: 'a larger hole',
    },
  ]);
}
