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

export interface DemandInput {
  readonly feature: Feature;
  readonly geometry: FeatureGeometry;
  readonly requirements: readonly FeatureRequirement[];
  readonly sequence: readonly Process[];
  readonly start: AsBuiltState;
  /** Part-wide finishes that act on the surface after the sequence. */
  readonly finish: FinishEffect;
  /** Spreads from heat after the last size-making step, as sigma in mm. */
  readonly heat: readonly SpreadTerm[];
  /** Change of size in heat after the last size-making step, at its worst, mm. */
  readonly heatShiftMm?: number;
  /** Bending of the feature by heat after the last size-making step, mm. */
  readonly heatFormMm?: number;
  readonly minimumProbability: number;
}

/** Why a sequence cannot meet the requirements, with the best it reaches. */
export interface Shortfall {
  readonly requirement: FeatureRequirement;
  readonly best: string;
  /** Smaller is nearer to the requirement; compares shortfalls of one requirement. */
  readonly distance: number;
}

/**
 * Works back from the requirement through the part-wide finishes and the polishing steps to the
 * working tolerance and roughness of the step that makes the size. Every term is normal; the size
 * meets its limits with the policy's probability or the sequence is refused.
 */
export function chainDemand(input: DemandInput): ChainDemand | Shortfall {
  const { sequence, start, geometry, feature } = input;
  const lastSize = sequence.findLastIndex((process) => process.row.itEconomic !== undefined);
  const z = normalQuantile((1 + input.minimumProbability) / 2);
  const later = sequence.slice(lastSize + 1).map((process) => ({ process, ...sizeShift(process) }));
  const spread: SpreadTerm[] = [
    ...later
      .filter((step) => step.sigmaMm > 0)
      .map((step) => spreadOf(step.process.row.name, sides(geometry) * step.sigmaMm, step.process)),
    ...(input.finish.sigmaMm > 0
      ? [
          {
            name: 'part-wide finishes',
            sigmaMm: sides(geometry) * input.finish.sigmaMm,
            source: 'process catalogue',
            confidence: 'practice' as const,
          },
        ]
      : []),
    ...input.heat.filter((term) => term.sigmaMm > 0),
  ];
  const other = Math.hypot(...spread.map((term) => term.sigmaMm));
  const nominal = nominalOf(feature, geometry);
  const ratio = raBeforeFinish(input);
  if ('requirement' in ratio) return ratio;

  const band = tightestBand(input);
  const heatShiftMm = input.heatShiftMm ?? 0;
  // Nobody finishes to size before heat that moves it by more than half of the tolerance.
  if (band !== undefined && heatShiftMm > band.widthMm / 2)
    return {
      requirement: band.requirement,
      best: `about +-${heatShiftMm.toFixed(3)} mm before the age`,
      distance: heatShiftMm,
    };
  const maker = sequence[lastSize];
  let gradeNeeded: number | undefined;
  let sigma: number;
  if (maker === undefined) {
    sigma = Math.hypot(start.sizeSigmaMm, other);
  } else {
    const allowed = band === undefined ? undefined : (band.widthMm / (2 * z)) ** 2 - other ** 2;
    const best = maker.row.itBest ?? 1;
    const safe =
      band === undefined ? 0 : band.widthMm - sides(geometry) * input.finish.coatingRangeMm;
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
  if (
    band !== undefined &&
    probabilityWithin(band.widthMm, sigma) < input.minimumProbability - 1e-9
  )
    return {
      requirement: band.requirement,
      best: `about +-${(z * sigma).toFixed(3)} mm`,
      distance: sigma,
    };
  const form = bendingShortfall(input) ?? formShortfall(input, lastSize);
  if (form !== undefined) return form;

  const rough = roughness(input, ratio.limitUm);
  if ('requirement' in rough) return rough;
  const tolerancesMm = sequence.map((process, index) => {
    if (process.row.itEconomic === undefined) return 0;
    const grade =
      index === lastSize && gradeNeeded !== undefined
        ? Math.min(process.row.itEconomic, Math.max(process.row.itBest ?? 1, gradeNeeded))
        : process.row.itEconomic;
    return toleranceOfGradeUm(nominal, grade) / 1000;
  });
  const threaded = feature.thread !== undefined;
  return {
    factors: sequence.map((process, index) =>
      finenessFactor(process, index === lastSize ? gradeNeeded : undefined, rough.asked[index]),
    ),
    tolerancesMm,
    usualTolerancesMm: sequence.map((process) =>
      process.row.itEconomic === undefined
        ? 0
        : toleranceOfGradeUm(nominal, process.row.itEconomic) / 1000,
    ),
    raUm: rough.reached,
    predictedToleranceMm: threaded ? undefined : 6 * sigma,
    predictedGrade: threaded || nominal <= 0 ? undefined : equivalentGrade(nominal, 6000 * sigma),
    predictedRaUm: input.finish.raAfter(rough.reached[rough.reached.length - 1] ?? start.raUm),
    probability: band === undefined ? 1 : probabilityWithin(band.widthMm, sigma),
    spread,
    laterRemovalMm: later.reduce((sum, step) => sum + step.meanMm, 0) + input.finish.meanMm,
  };
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
function tightestBand(
  input: DemandInput,
): { widthMm: number; requirement: FeatureRequirement } | undefined {
  let best: { widthMm: number; requirement: FeatureRequirement } | undefined;
  for (const requirement of input.requirements) {
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

function raBeforeFinish(input: DemandInput): { limitUm: number | undefined } | Shortfall {
  let limitUm: number | undefined;
  for (const requirement of input.requirements) {
    if (requirement.kind !== 'roughness') continue;
    const before = input.finish.raBefore(requirement.raMaxUm);
    if (before === undefined)
      return {
        requirement,
        best: `Ra ${input.finish.raAfter(0).toFixed(2)} after the part-wide finish`,
        distance: input.finish.raAfter(0),
      };
    limitUm = Math.min(limitUm ?? Number.POSITIVE_INFINITY, before);
  }
  return { limitUm };
}

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

/** Nobody finishes form or direction before heat that moves it by more than half of the tolerance. */
function bendingShortfall({ requirements, heatFormMm = 0 }: DemandInput): Shortfall | undefined {
  for (const requirement of requirements)
    if (
      requirement.kind === 'geometric' &&
      bendsInHeat(requirement.tolerance.kind) &&
      heatFormMm > requirement.tolerance.valueMm / 2
    )
      return {
        requirement,
        best: `${heatFormMm.toFixed(3)} mm of bending in the age alone`,
        distance: heatFormMm,
      };
  return undefined;
}

/** Form without datums: what the last form-making step (or printing) holds over the feature. */
function formShortfall(input: DemandInput, lastSize: number): Shortfall | undefined {
  const maker = input.sequence.findLast((process) => process.needs.formUm100mm !== undefined);
  const held =
    maker?.needs.formUm100mm === undefined || lastSize < 0
      ? input.start.formMm
      : (maker.needs.formUm100mm * Math.max(10, input.geometry.acrossMm)) / 100_000;
  for (const requirement of input.requirements)
    if (
      requirement.kind === 'geometric' &&
      formKinds.includes(requirement.tolerance.kind) &&
      held + (input.heatFormMm ?? 0) > requirement.tolerance.valueMm
    )
      return { requirement, best: `${held.toFixed(3)} mm`, distance: held };
  return undefined;
}

function roughness(
  input: DemandInput,
  limitUm: number | undefined,
): { asked: readonly (number | undefined)[]; reached: readonly number[] } | Shortfall {
  const asked: (number | undefined)[] = [];
  const reached: number[] = [];
  let raUm = input.start.raUm;
  input.sequence.forEach((process, index) => {
    const usual = usualRa(process, raUm);
    const last = index === input.sequence.length - 1;
    const best = process.needs.raRatio === undefined ? (process.row.raLowUm ?? usual) : usual;
    const wanted = last ? limitUm : undefined;
    asked.push(wanted);
    raUm = wanted === undefined ? usual : Math.min(usual, Math.max(best, wanted));
    reached.push(raUm);
  });
  const requirement = input.requirements.find((entry) => entry.kind === 'roughness');
  if (limitUm !== undefined && requirement !== undefined && raUm > limitUm * (1 + 1e-9)) {
    const after = input.finish.raAfter(raUm);
    return { requirement, best: `Ra ${after.toFixed(2)}`, distance: after };
  }
  return { asked, reached };
}
