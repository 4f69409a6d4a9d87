import type { MaterialsRow } from '../catalog/generated/materials.js';
import type { Confidence } from '../problems/finding.js';
import { beamModulusMPa, curlCurvature, curlLiftMm, curlRootMm, curlSagMm } from './curl.js';
import type { RemainingStress, UnknownStress } from './remaining-stress.js';

/** A part as a beam on the plate. */
export interface CurlSubject {
  /** Length along which it curls, mm. */
  readonly lengthMm: number;
  readonly widthMm: number;
  /** Height without legs and separate ridges, mm. */
  readonly heightMm: number;
  /** Length at one end that stays on the plate, mm; without it the part comes off whole. */
  readonly heldMm?: number;
  /** Stress at the top face when it was measured, MPa; else half of the as-built yield is taken. */
  readonly measuredStressMPa?: number;
}

export interface CurlRange {
  readonly lowMm: number;
  readonly typicalMm: number;
  readonly highMm: number;
}

/** What cutting off does to the shape, before and after relief. */
export interface CutOffCurl {
  readonly known: true;
  readonly stressMPa: number;
  readonly stressFrom: 'measurement' | 'as-built yield';
  readonly curvaturePerMm: number;
  /** Curl of the part as built. */
  readonly before: CurlRange;
  /** Curl with the stress that the heat before the cut left; equals `before` without heat. */
  readonly after: CurlRange;
  /** Error of the model: it lies within this share of what is measured. */
  readonly modelError: number;
  /** One standard deviation of the curl, before and after, mm: 30 % for the model, and a quarter of
   * the range of what the heat leaves. */
  readonly sigmaBeforeMm: number;
  readonly sigmaAfterMm: number;
  readonly note: string;
  readonly source: string;
  readonly confidence: Confidence;
}

export interface UnknownCurl {
  readonly known: false;
  readonly reason: string;
}

const yieldShare = 0.5;
const errorMeasured = 0.25;
const errorFromYield = 0.5;
const sigmaShare = 0.3;
/** Alloys with a curl that was measured and read: the AMB2018-01 bridges. */
const measuredAlloys: readonly string[] = ['n06625', 's15500'];

/**
 * Curl at cut-off as a range: lift of the free end when one end stays on the plate, else the
 * deviation from straight. The stress at the top is half of the as-built yield (0.48 to 0.53 on the
 * AMB2018-01 bridge) unless it was measured. The model lies within 25 % of what is measured when the
 * stress is measured, within 50 % when it comes from the yield; the range is what those errors admit,
 * times the range of the stress that the heat before the cut leaves. One full calibration (N06625)
 * and one measured lift (S15500) stand behind it: other alloys are unproven, and the note says so. Of
 * cantilevers it is known that the direction of the tracks in the last layers alone changes the curl
 * by almost 50 % (study of the University of the Bundeswehr Munich, abstract read), so that a
 * narrower range would promise too much.
 *
 * @param left what the heat before the cut leaves of the curl; undefined when there is none
 * @returns mm, or why no figure is given
 * @example
 * cutOffCurl(materialById(defaultCatalog(), 's15500'), { lengthMm: 74.5, widthMm: 5, heightMm: 5, heldMm: 19 }, undefined).before.typicalMm // -> ~1.5944
 */
export function cutOffCurl(
  material: MaterialsRow,
  subject: CurlSubject,
  left: RemainingStress | UnknownStress | undefined,
): CutOffCurl | UnknownCurl {
  const measured = subject.measuredStressMPa;
  const stressMPa =
    measured ??
    (material.asBuiltYieldMpa === undefined ? undefined : yieldShare * material.asBuiltYieldMpa);
  if (stressMPa === undefined)
    return {
      known: false,
      reason: `no as-built yield strength of ${material.name} in the catalogue and no measured stress`,
    };
  const modulus = beamModulusMPa(
    material.youngsModulusGpa,
    material.poisson,
    subject.widthMm,
    subject.heightMm,
  );
  const curvaturePerMm = curlCurvature(stressMPa, modulus, subject.heightMm);
  const typicalMm = curlMm(curvaturePerMm, subject);
  const modelError = measured === undefined ? errorFromYield : errorMeasured;
  const share = left?.known === true ? left : { low: 1, typical: 1, high: 1 };
  const range = (low: number, typical: number, high: number): CurlRange => ({
    lowMm: (low * typicalMm) / (1 + modelError),
    typicalMm: typical * typicalMm,
    highMm: (high * typicalMm) / (1 - modelError),
  });
  return {
    known: true,
    stressMPa,
    stressFrom: measured === undefined ? 'as-built yield' : 'measurement',
    curvaturePerMm,
    before: range(1, 1, 1),
    after: range(share.low, share.typical, share.high),
    modelError,
    sigmaBeforeMm: sigmaShare * typicalMm,
    sigmaAfterMm: typicalMm * Math.hypot(sigmaShare * share.typical, (share.high - share.low) / 4),
    note: [
      `beam model, within ${modelError * 100} % of what was measured on bridges of N06625 and S15500${measuredAlloys.includes(material.id) ? '' : '; no measured curl of this alloy was found, so it is unproven here'}`,
      left === undefined
        ? 'no heat before the cut'
        : left.known
          ? `${left.method}: ${left.note}`
          : left.reason,
    ].join('; '),
    source:
      'linear stress through the height, calibrated on the AMB2018-01 bridge (N06625), Phan et al. 2019, doi 10.1007/s40192-019-00149-0',
    confidence:
      measured === undefined ? (material.asBuiltYieldConfidence ?? 'practice') : 'computed',
  };
}

function curlMm(curvaturePerMm: number, subject: CurlSubject): number {
  if (subject.heldMm === undefined) return curlSagMm(curvaturePerMm, subject.lengthMm);
  const edgeMm = subject.lengthMm - subject.heldMm;
  return curlLiftMm(curvaturePerMm, curlRootMm(edgeMm, subject.heightMm), 0);
}

export interface CurlVerdict {
  readonly verdict: 'harmless' | 'eats into the stock' | 'more than the stock';
  /** High end of the curl over the stock. */
  readonly share: number;
  readonly text: string;
}

/** Curl up to this share of the stock is no reason to change the route. */
const harmlessShare = 0.25;

/**
 * What a curl takes of the stock on the face that it bends, by the high end of its range. Finishing
 * stock should be at least twice the curl (common practice, no source).
 *
 * @param stockMm stock per side, mm
 * @example
 * curlVerdict({ lowMm: 0.1, typicalMm: 0.2, highMm: 0.4 }, 0.6).verdict // -> "eats into the stock"
 */
export function curlVerdict(curl: CurlRange, stockMm: number): CurlVerdict {
  const share = stockMm > 0 ? curl.highMm / stockMm : Number.POSITIVE_INFINITY;
  const range = `curl ${curl.lowMm.toFixed(2)} to ${curl.highMm.toFixed(2)} mm against ${stockMm.toFixed(2)} mm of stock`;
  if (curl.highMm <= harmlessShare * stockMm) return { verdict: 'harmless', share, text: range };
  if (curl.highMm <= stockMm)
    return {
      verdict: 'eats into the stock',
      share,
      text: `${range}: rough both sides, unclamp, clamp anew, then finish`,
    };
  return {
    verdict: 'more than the stock',
    share,
    text: `${range}: relieve more before the cut, or give more stock`,
  };
}
