import { finenessFactor } from '../cost/process-time.js';
import type { FeatureGeometry } from '../job/feature-geometry.js';
import type { Process } from '../job/planning-context.js';
import type { FeatureRequirement } from '../job/requirements.js';
import type { Feature } from '../job/types.js';
import { equivalentGrade, toleranceOfGradeUm } from '../limits/grades.js';
import { normalBetween, normalQuantile } from '../numeric/normal.js';
import type { AsBuiltState } from './as-built-state.js';
import { type FinishEffect, sizeShift } from './finishes.js';
import { usualRa } from './process-sequences.js';

/** A spread that a step adds to the finished size, besides the cutting itself. */
export interface SpreadTerm {
  readonly name: string;
  readonly sigmaMm: number;
  readonly source: string;
  readonly confidence: AsBuiltState['confidence'];
}

/** What the steps of one sequence must hold, and what comes out. */
export interface ChainDemand {
  /** Time multiple of each step. */
  readonly factors: readonly number[];
  /** Total tolerance of the size after each step, mm; 0 where a step makes no size. */
  readonly tolerancesMm: readonly number[];
  /** The same at the economical grades: stock is planned on these, so that it does not shrink when a
   * requirement gets tighter. */
  readonly usualTolerancesMm: readonly number[];
  readonly raUm: readonly number[];
  /** Total tolerance of the finished size that 99.73 % of parts fit in, mm. */
  readonly predictedToleranceMm: number | undefined;
  readonly predictedGrade: number | undefined;
  readonly predictedRaUm: number;
  readonly probability: number;
  readonly spread: readonly SpreadTerm[];
  /** Mean removal per side by what follows the last size-making step, mm. */
  readonly laterRemovalMm: number;
}

/** What a sequence does from the printed state on, whatever is asked of it. */
export interface SequenceProfile {
  readonly sequence: readonly Process[];
  /** Index of the last step that makes the size; -1 when none does. */
  readonly lastSize: number;
  /** Index of the last step that gives the feature its place; -1 when none does. */
  readonly locatingIndex: number;
  /** Spreads of the size from steps after the last that makes it. */
  readonly laterSpread: readonly SpreadTerm[];
  readonly laterMeanMm: number;
  readonly formMm: number;
  readonly usualTolerancesMm: readonly number[];
  readonly usualRaUm: readonly number[];
  /** Finest Ra that can be asked of the last step. */
  readonly bestRaUm: number;
}

export function sequenceProfile(
  sequence: readonly Process[],
  start: AsBuiltState,
  geometry: FeatureGeometry,
  nominal: number,
): SequenceProfile {
  const lastSize = sequence.findLastIndex((process) => process.row.itEconomic !== undefined);
  const later = sequence.slice(lastSize + 1).map((process) => ({ process, ...sizeShift(process) }));
  const usualRaUm: number[] = [];
  let raUm = start.raUm;
  let bestRaUm = start.raUm;
  for (const process of sequence) {
    raUm = usualRa(process, raUm);
    usualRaUm.push(raUm);
    bestRaUm = process.needs.raRatio === undefined ? (process.row.raLowUm ?? raUm) : raUm;
  }
  const former = sequence.findLast((process) => process.needs.formUm100mm !== undefined);
  return {
    sequence,
    lastSize,
    locatingIndex: sequence.findLastIndex((process) => process.needs.correctsLocation),
    laterSpread: later
      .filter((step) => step.sigmaMm > 0)
      .map((step) => spreadOf(step.process.row.name, sides(geometry) * step.sigmaMm, step.process)),
    laterMeanMm: later.reduce((sum, step) => sum + step.meanMm, 0),
    formMm:
      former?.needs.formUm100mm === undefined || lastSize < 0
        ? start.formMm
        : (former.needs.formUm100mm * Math.max(10, geometry.acrossMm)) / 100_000,
    usualTolerancesMm: sequence.map((process) => usualToleranceMm(process, nominal)),
    usualRaUm,
    bestRaUm,
  };
}

/** Total tolerance of a size at the economical grade of the process; 0 when it makes no size. */
export function usualToleranceMm({ row }: Process, nominal: number): number {
  return row.itEconomic === undefined ? 0 : toleranceOfGradeUm(nominal, row.itEconomic) / 1000;
}

/** What is asked of every sequence of a feature under the same part-wide finishes. */
export interface Demands {
  readonly feature: Feature;
  readonly geometry: FeatureGeometry;
  readonly start: AsBuiltState;
  readonly nominal: number;
  /** Part-wide finishes that act on the surface after the sequence. */
  readonly finish: FinishEffect;
  readonly finishSpread: readonly SpreadTerm[];
  readonly minimumProbability: number;
  /** Half-width over sigma of a band that holds with that probability. */
  readonly z: number;
  readonly band: { readonly widthMm: number; readonly requirement: FeatureRequirement } | undefined;
  readonly forms: readonly GeometricRequirement[];
  /** Tolerances that bending in heat spoils. */
  readonly bending: readonly GeometricRequirement[];
  readonly roughness: FeatureRequirement | undefined;
  /** Roughest Ra before the part-wide finishes; a shortfall when they end above what is asked. */
  readonly limitUm: number | undefined | Shortfall;
}

export function demandsOf(
  feature: Feature,
  geometry: FeatureGeometry,
  requirements: readonly FeatureRequirement[],
  start: AsBuiltState,
  finish: FinishEffect,
  minimumProbability: number,
): Demands {
  return {
    feature,
    geometry,
    start,
    nominal: nominalOf(feature, geometry),
    finish,
    finishSpread:
      finish.sigmaMm > 0
        ? [
            {
              name: 'part-wide finishes',
              sigmaMm: sides(geometry) * finish.sigmaMm,
              source: 'process catalogue',
              confidence: 'practice',
            },
          ]
        : [],
    minimumProbability,
    z: normalQuantile((1 + minimumProbability) / 2),
    band: tightestBand(requirements),
    forms: geometricOf(requirements, formKinds),
    bending: geometricOf(requirements, bentKinds),
    roughness: requirements.find((entry) => entry.kind === 'roughness'),
    limitUm: raBeforeFinish(requirements, finish),
  };
}

/** Heat after the last size-making step. */
export interface LaterHeat {
  readonly spread: readonly SpreadTerm[];
  /** Change of size at its worst, mm. */
  readonly shiftMm: number;
  /** Bending of the feature, mm. */
  readonly formMm: number;
}

/** Why a sequence cannot meet the requirements, with the best it reaches. */
export interface Shortfall {
  readonly requirement: FeatureRequirement;
  readonly best: () => string;
  /** Smaller is nearer to the requirement; compares shortfalls of one requirement. */
  readonly distance: number;
}

/**
 * Works back from the requirement through the part-wide finishes and the polishing steps to the
 * working tolerance and roughness of the step that makes the size. Every term is normal; the size
 * meets its limits with the policy's probability or the sequence is refused.
 */
export function chainDemand(
  profile: SequenceProfile,
  demands: Demands,
  heat: LaterHeat,
): ChainDemand | Shortfall {
  const { sequence, lastSize } = profile;
  const { start, nominal, band, z, limitUm } = demands;
  if (typeof limitUm === 'object') return limitUm;
  // Nobody finishes to size before heat that moves it by more than half of the tolerance.
  if (band !== undefined && heat.shiftMm > band.widthMm / 2)
    return {
      requirement: band.requirement,
      best: () => `about +-${heat.shiftMm.toFixed(3)} mm before the age`,
      distance: heat.shiftMm,
    };
  const spread = [
    ...profile.laterSpread,
    ...demands.finishSpread,
    ...heat.spread.filter((term) => term.sigmaMm > 0),
  ];
  const other = Math.hypot(...spread.map((term) => term.sigmaMm));
  const maker = sequence[lastSize];
  let gradeNeeded: number | undefined;
  let sigma: number;
  if (maker === undefined) {
    sigma = Math.hypot(start.sizeSigmaMm, other);
  } else {
    const allowed = band === undefined ? undefined : (band.widthMm / (2 * z)) ** 2 - other ** 2;
    const best = maker.row.itBest ?? 1;
    const safe =
      band === undefined
        ? 0
        : band.widthMm - sides(demands.geometry) * demands.finish.coatingRangeMm;
    const working =
      allowed === undefined
        ? undefined
        : allowed > 0
          ? withinSafe(6 * Math.sqrt(allowed), safe, toleranceOfGradeUm(nominal, best) / 1000)
          : 0;
    const usual = maker.row.itEconomic ?? best;
    gradeNeeded =
      working === undefined || working === 0 ? undefined : equivalentGrade(nominal, working * 1000);
    const grade =
      gradeNeeded === undefined
        ? working === 0
          ? best
          : usual
        : Math.min(usual, Math.max(best, gradeNeeded));
    sigma = Math.hypot(toleranceOfGradeUm(nominal, grade) / 6000, other);
  }
  const probability = band === undefined ? 1 : probabilityWithin(band.widthMm, sigma);
  if (band !== undefined && probability < demands.minimumProbability - 1e-9)
    return {
      requirement: band.requirement,
      best: () => `about +-${(z * sigma).toFixed(3)} mm`,
      distance: sigma,
    };
  const bent = demands.bending.find(({ tolerance }) => heat.formMm > tolerance.valueMm / 2);
  // Nobody finishes form or direction before heat that moves it by more than half of the tolerance.
  if (bent !== undefined)
    return {
      requirement: bent,
      best: () => `${heat.formMm.toFixed(3)} mm of bending in the age alone`,
      distance: heat.formMm,
    };
  const { formMm } = profile;
  const misshapen = demands.forms.find(({ tolerance }) => formMm + heat.formMm > tolerance.valueMm);
  if (misshapen !== undefined)
    return { requirement: misshapen, best: () => `${formMm.toFixed(3)} mm`, distance: formMm };
  const raUm = raReached(profile, limitUm);
  const raLast = raUm[raUm.length - 1] ?? start.raUm;
  const { roughness, finish } = demands;
  if (limitUm !== undefined && roughness !== undefined && raLast > limitUm * (1 + 1e-9)) {
    const after = finish.raAfter(raLast);
    return { requirement: roughness, best: () => `Ra ${after.toFixed(2)}`, distance: after };
  }
  const gradeOfMaker = (process: Process): number =>
    Math.min(
      process.row.itEconomic ?? 18,
      Math.max(process.row.itBest ?? 1, gradeNeeded ?? Number.POSITIVE_INFINITY),
    );
  const threaded = demands.feature.thread !== undefined;
  return {
    factors: sequence.map((process, index) =>
      finenessFactor(
        process,
        index === lastSize ? gradeNeeded : undefined,
        index === sequence.length - 1 ? limitUm : undefined,
      ),
    ),
    tolerancesMm: profile.usualTolerancesMm.map((usual, index) =>
      index === lastSize && maker !== undefined && gradeNeeded !== undefined
        ? toleranceOfGradeUm(nominal, gradeOfMaker(maker)) / 1000
        : usual,
    ),
    usualTolerancesMm: profile.usualTolerancesMm,
    raUm,
    predictedToleranceMm: threaded ? undefined : 6 * sigma,
    predictedGrade: threaded || nominal <= 0 ? undefined : equivalentGrade(nominal, 6000 * sigma),
    predictedRaUm: finish.raAfter(raLast),
    probability,
    spread,
    laterRemovalMm: profile.laterMeanMm + finish.meanMm,
  };
}

/** The last step is asked for the limit where it can; every other gives its usual roughness. */
function raReached(
  { usualRaUm, bestRaUm }: SequenceProfile,
  limitUm: number | undefined,
): readonly number[] {
  const usual = usualRaUm[usualRaUm.length - 1];
  if (limitUm === undefined || usual === undefined) return usualRaUm;
  return [...usualRaUm.slice(0, -1), Math.min(usual, Math.max(bestRaUm, limitUm))];
}

/** Where the process can hold it, every part is to be inside whatever the coating comes out as. */
function withinSafe(statisticalMm: number, safeMm: number, bestMm: number): number {
  return safeMm >= bestMm ? Math.min(statisticalMm, safeMm) : statisticalMm;
}

/** A diameter or width changes on both sides, a face on one. */
export function sides(geometry: FeatureGeometry): 1 | 2 {
  return geometry.twoSided ? 2 : 1;
}

export function nominalOf(feature: Feature, geometry: FeatureGeometry): number {
  return Math.min(
    3150,
    Math.max(
      0.5,
      feature.thread === undefined
        ? (feature.size?.nominalMm ?? geometry.acrossMm)
        : geometry.acrossMm,
    ),
  );
}

function spreadOf(name: string, sigmaMm: number, process: Process): SpreadTerm {
  return {
    name,
    sigmaMm,
    source: process.row.effectSource ?? 'process catalogue',
    confidence: process.row.effectConfidence ?? 'practice',
  };
}

function probabilityWithin(widthMm: number, sigmaMm: number): number {
  return sigmaMm <= 0 ? 1 : normalBetween(-widthMm / (2 * sigmaMm), widthMm / (2 * sigmaMm));
}

/** The narrowest of the size tolerance and the profile zones without other location. */
function tightestBand(requirements: readonly FeatureRequirement[]): Demands['band'] {
  let best: Demands['band'];
  for (const requirement of requirements) {
    const widthMm =
      requirement.kind === 'size'
        ? requirement.upperMm - requirement.lowerMm
        : requirement.kind === 'geometric' && requirement.tolerance.kind.startsWith('profile')
          ? requirement.tolerance.valueMm
          : undefined;
    if (widthMm !== undefined && (best === undefined || widthMm < best.widthMm))
      best = { widthMm, requirement };
  }
  return best;
}

function raBeforeFinish(
  requirements: readonly FeatureRequirement[],
  finish: FinishEffect,
): number | undefined | Shortfall {
  let limitUm: number | undefined;
  for (const requirement of requirements) {
    if (requirement.kind !== 'roughness') continue;
    const before = finish.raBefore(requirement.raMaxUm);
    if (before === undefined) {
      const after = finish.raAfter(0);
      return {
        requirement,
        best: () => `Ra ${after.toFixed(2)} after the part-wide finish`,
        distance: after,
      };
    }
    limitUm = Math.min(limitUm ?? Number.POSITIVE_INFINITY, before);
  }
  return limitUm;
}

type GeometricRequirement = Extract<FeatureRequirement, { readonly kind: 'geometric' }>;

function geometricOf(
  requirements: readonly FeatureRequirement[],
  kinds: readonly string[],
): readonly GeometricRequirement[] {
  return requirements.filter(
    (requirement): requirement is GeometricRequirement =>
      requirement.kind === 'geometric' && kinds.includes(requirement.tolerance.kind),
  );
}

/** Form without datums: what the last form-making step (or printing) holds over the feature. */
const formKinds: readonly string[] = ['flatness', 'straightness', 'roundness', 'cylindricity'];

const bentKinds: readonly string[] = [
  ...formKinds,
  'perpendicularity',
  'parallelism',
  'angularity',
  'profile-line',
  'profile-surface',
  'runout',
  'total-runout',
];

/** Whether heat bends a geometric tolerance of this kind. */
export function bendsInHeat(kind: string): boolean {
  return bentKinds.includes(kind);
}
