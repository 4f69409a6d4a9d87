import type { StepStock } from '../allowance/chain-stock.js';
import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import type { WorkCost } from '../cost/charges.js';
import type { WorkAmount } from '../cost/process-time.js';
import type { FeatureGeometry } from '../job/feature-geometry.js';
import type { PlanningContext, Process } from '../job/planning-context.js';
import type { FeatureRequirement } from '../job/requirements.js';
import type { Feature, GeometricTolerance } from '../job/types.js';
import type { AsBuiltState, PartCurl } from './as-built-state.js';
import type { ChainDemand, Shortfall, SpreadTerm } from './chain-demand.js';
import type { PlannedFinish } from './finishes.js';
import type { Locating } from './location.js';
import type { SetUp, Stage } from './set-ups.js';

/** What a part plan means for the features: plans that agree here share their chains. */
export interface ChainContext {
  readonly key: string;
  readonly cutOff: string;
  readonly relieved: boolean;
  /** Change of size of a printed surface over all heat, and over the last age alone. */
  readonly growth: Growth;
  readonly ageGrowth: Growth;
  /** Whether an age splits machining into a soft and a hard stage. */
  readonly aged: boolean;
  /** Bending of printed faces by heat after cut-off, and of finished ones by the age, mm per 100 mm. */
  readonly heatFormPer100Mm: number;
  readonly ageFormPer100Mm: number;
  /** Curl of the part at cut-off by the beam model, where it has one. */
  readonly curl?: PartCurl;
  /** Cutting time in the hard stage relative to the soft one. */
  readonly slowdown: number;
  readonly finishes: readonly PlannedFinish[];
}

export interface Growth {
  readonly meanPerMm: number;
  readonly sigmaPerMm: number;
  readonly source: string;
  readonly confidence: SpreadTerm['confidence'];
}

/** One step of a chain as it was found: what is to be done, not yet priced for a lot. */
export interface FoundStep {
  readonly process: Process;
  readonly setUp: SetUp;
  readonly stage: Stage;
  readonly amount: WorkAmount;
  /** Time multiple for what is asked of it, and for metal that an age has hardened. */
  readonly timeFactor: number;
  readonly stock: StepStock;
  readonly toleranceMm: number;
  readonly raUm: number;
}

/** Keeping a finished surface from one part-wide finish. */
export interface Mask {
  readonly finish: PlannedFinish;
  readonly centre: WorkCentresRow;
  readonly minutesPerPart: number;
  readonly label: string;
}

/** The ordered operations that finish one feature, for any lot size and every context alike. */
export interface FoundChain {
  readonly id: string;
  /** Chains of one feature with the same mark take the same set-ups and time at any lot size. */
  readonly mark: string;
  /** Steps and set-ups alone: the chain without regard to part-wide finishes. */
  readonly route: string;
  readonly feature: Feature;
  readonly steps: readonly FoundStep[];
  readonly masks: readonly Mask[];
  /** At the lot size for which it was found. */
  readonly objective: number;
  /** Share of the lead time at that lot size, working minutes. */
  readonly leadMinutes: number;
  readonly setUps: readonly string[];
  readonly locating: Locating;
  readonly demand: ChainDemand;
  readonly start: AsBuiltState;
  readonly geometry: FeatureGeometry;
  readonly requirements: readonly FeatureRequirement[];
  readonly stockPerSideMm: number;
  /** The hole is closed in the build model and drilled. */
  readonly printedSolid: boolean;
  /** Absent when the feature is printed solid or has no size. */
  readonly printedSizeMm: number | undefined;
  /** Mean size to aim at when the last size-making step is done, mm. */
  readonly targetMm: number | undefined;
}

export interface ChainStep extends FoundStep {
  /** For the lot. */
  readonly minutes: number;
  readonly cost: WorkCost;
}

/** A chain as the plan takes it: under its chain context, priced for its lot. */
export interface Chain extends FoundChain {
  readonly context: ChainContext;
  readonly steps: readonly ChainStep[];
  /** Finished faces are plugged or masked against the finishes after machining. */
  readonly masked: readonly {
    readonly finish: PlannedFinish;
    readonly cost: WorkCost;
    readonly centre: WorkCentresRow;
  }[];
  readonly cost: WorkCost;
}

/** What decides whether one way of making a feature can stand for another. */
export type Rival = Pick<FoundChain, 'id' | 'objective' | 'leadMinutes' | 'setUps' | 'locating'>;

export interface FeatureChains {
  readonly feature: Feature;
  readonly chains: readonly FoundChain[];
  /** Nearest misses per requirement, when no chain works. */
  readonly shortfalls: readonly Shortfall[];
  /** Whether every chain of another context could be replaced by one of these. */
  covers(other: FeatureChains): boolean;
}

/** What the search for the chains of one feature reads under one chain context. */
export interface ChainSubject {
  readonly feature: Feature;
  readonly context: PlanningContext;
  readonly chainContext: ChainContext;
  readonly geometry: FeatureGeometry;
  readonly requirements: readonly FeatureRequirement[];
  readonly start: AsBuiltState;
  readonly nominal: number;
  readonly solid: boolean;
  /** Set-ups in which a process reaches the feature. */
  setUpOptions(process: Process, stage: Stage): readonly SetUp[];
  /** Mean stock per side of a first cut by probability of clean-up, when the policy asks for it. */
  probableStock?(setUp: SetUp, toleranceMm: number): number;
  /** Share of the form error that a rough and a finish cut leave. */
  readonly copying: { readonly rough: number; readonly finish: number };
  /** Tolerances against datums. */
  readonly located: readonly GeometricTolerance[];
  /** Another feature is located from it. */
  readonly isDatum: boolean;
  /** Which ways of locating the feature can stand for which, as far as it is known. */
  readonly asWell: Map<Locating, Map<Locating, boolean>>;
  /** Another feature needs it in its own set-up to be located well enough. */
  readonly sensitiveDatum: boolean;
  /** It matters to nothing in which set-up the feature is made. */
  readonly indifferent: boolean;
}

/** Stock makes the size smaller: holes, grooves, inner corners. */
export function isInternal(feature: Feature): boolean {
  return (
    feature.kind === 'bore' ||
    feature.kind === 'slot' ||
    feature.kind === 'channel' ||
    feature.concave === true ||
    feature.thread?.internal === true
  );
}

/** A chain of the route model with what it stands for under each chain context. */
export interface ModelChain {
  readonly id: string;
  readonly feature: string;
  readonly byContext: ReadonlyMap<string, FoundChain>;
}
