import type { CostInput } from '../cost/inputs.js';
import type { Assumption, Confidence, Finding } from '../problems/finding.js';
import type { CriticalSpan } from '../schedule/lot-flow.js';

/**
 * The answer to a job: plain data, schema `plan/1`. Lengths mm, roughness um, money in integer minor
 * units of `currency`, minutes and working days as named.
 */
export interface Plan {
  readonly schema: 'plan/1';
  readonly job: PlanHeader;
  readonly feasible: boolean;
  /** In the order of working; empty when nothing is feasible. */
  readonly operations: readonly Operation[];
  readonly features: readonly PlannedFeature[];
  readonly stacks: readonly RequirementStack[];
  /** Faces measured from one another along an axis of the part; none where the job says no such. */
  readonly charts: readonly PlannedChart[];
  readonly thermal: ThermalPlan;
  readonly stock: StockPlan;
  readonly inspection: readonly InspectionItem[];
  readonly cost: CostPlan;
  readonly schedule: SchedulePlan;
  readonly questions: readonly Question[];
  readonly assumptions: readonly Assumption[];
  readonly findings: readonly Finding[];
  readonly cautions: readonly Caution[];
  readonly proof: Proof;
  readonly conflicts: readonly Conflict[];
}

export interface PlanHeader {
  readonly part: string;
  readonly number: string;
  readonly revision: string;
  readonly material: { readonly id: string; readonly name: string; readonly designation: string };
  readonly printer: string;
  readonly endUse: string;
  readonly condition: string;
  readonly quantity: number;
  readonly customer?: string;
  readonly reference?: string;
  readonly dueOn?: string;
  readonly regulated: boolean;
  readonly standards: readonly string[];
  readonly hazards: readonly string[];
  readonly boxMm?: readonly [number, number, number];
  readonly massKg?: number;
}

export interface Operation {
  /** 10, 20, 30 ... */
  readonly seq: number;
  /** Process or treatment id. */
  readonly process: string;
  readonly title: string;
  readonly kind:
    | 'powder-removal'
    | 'thermal'
    | 'cut-off'
    | 'support-removal'
    | 'machining'
    | 'finishing'
    | 'coating'
    | 'testing'
    | 'inspection';
  readonly workCentre: {
    readonly id: string;
    readonly name: string;
    readonly sourcing: 'in-house' | 'outside';
  };
  /** Set-up id of the route model, when the operation is a visit to a set-up. */
  readonly setup?: string;
  /** Tool directions used. */
  readonly access: readonly string[];
  /** What the part is located on. */
  readonly locatedOn?: string;
  readonly features: readonly string[];
  /** What is done on each feature in this operation, in order. */
  readonly steps: readonly OperationStep[];
  readonly setupMinutes: number;
  /** For the whole lot. */
  readonly runMinutes: number;
  readonly costPerLot: number;
  readonly costPerPart: number;
  /** Queue plus turnaround plus work, working days. */
  readonly leadDays: number;
  readonly reasons: readonly Reason[];
  /** Caution ids. */
  readonly cautions: readonly string[];
  readonly workingDimensions: readonly WorkingDimension[];
  /** Temperature, gas, feed of the process and so on, ready to print. */
  readonly parameters: readonly {
    readonly name: string;
    readonly value: string;
    readonly confidence?: Confidence;
  }[];
  /** Set when work must stop for a check that a later operation would hide. */
  readonly holdPoint?: string;
}

export interface OperationStep {
  readonly feature: string;
  readonly process: string;
  readonly title: string;
  readonly runMinutesPerPart: number;
}

export interface Reason {
  readonly text: string;
  /** Feature and requirement that ask for it, when one does. */
  readonly requirement?: { readonly feature: string; readonly text: string };
}

export interface WorkingDimension {
  readonly feature: string;
  readonly step: string;
  /** What is measured: `diameter`, `height above datum A`, `Ra` ... */
  readonly what: string;
  readonly lower: number;
  readonly upper: number;
  readonly unit: 'mm' | 'um';
  /** Target the machine aims at. */
  readonly target: number;
  readonly diametral: boolean;
  /** Stock left per side after the step, mm. */
  readonly stockLeftPerSideMm: number;
  /** Stock per side that the step finds, mean and worst case; absent where it makes the surface. */
  readonly stockFound?: {
    readonly leastMm: number;
    readonly meanMm: number;
    readonly mostMm: number;
  };
}

export interface PlannedFeature {
  readonly id: string;
  readonly name?: string;
  readonly kind: string;
  readonly count: number;
  readonly datum?: string;
  readonly requirements: readonly Requirement[];
  readonly chain: readonly ChainStep[];
  readonly stockPerSideMm: number;
  /** What the build model must show; null when it is printed solid or has no size (see the note). */
  readonly printedSizeMm: number | null;
  readonly printedSolid: boolean;
  readonly printedNote?: string;
  readonly predicted: {
    /** ISO 286 grade the chain reaches at this size, may be fractional. */
    readonly grade?: number;
    readonly raUm?: number;
    /** Probability that every requirement of this feature is met. */
    readonly inLimits: number;
  };
  readonly costPerPart: number;
}

export interface ChainStep {
  readonly operation: number;
  readonly process: string;
  readonly title: string;
}

export interface Requirement {
  readonly id: string;
  readonly feature: string;
  readonly kind: 'size' | 'roughness' | 'thread' | 'geometric';
  readonly text: string;
  readonly source: 'drawing' | 'general-tolerance';
  /** Equivalent ISO 286 grade of a size tolerance. */
  readonly equivalentGrade?: number;
}

/**
 * How one requirement adds up over the planned operations: a size, or the offset of a feature from its
 * true place or direction along one direction, half of its zone each way.
 */
export interface RequirementStack {
  readonly requirement: string;
  readonly feature: string;
  readonly unit: 'mm';
  /** In a round zone the offset varies in two directions, and its length counts. */
  readonly shape: 'interval' | 'round zone';
  readonly lower: number;
  readonly upper: number;
  readonly mean: number;
  readonly sigma: number;
  readonly worstLower: number;
  readonly worstUpper: number;
  readonly inLimits: number;
  /** How `inLimits` was computed. */
  readonly method: string;
  readonly contributors: readonly {
    readonly name: string;
    readonly operation?: number;
    readonly mean: number;
    /** Change of the result for a unit of this contributor. */
    readonly sensitivity: number;
    /** Standard deviation that it puts into the result. */
    readonly sigma: number;
    readonly distribution: string;
    readonly sharePercent: number;
    readonly source: string;
    readonly confidence: Confidence;
  }[];
  /** The contributor with the largest share, and `inLimits` were it 10 % closer. */
  readonly tightenFirst?: { readonly contributor: string; readonly inLimits: number };
}

/** The operation chart along one axis from one datum face, statistical. Lengths in mm. */
export interface PlannedChart {
  readonly axis: string;
  /** Letter of the datum face. */
  readonly datum: string;
  readonly features: readonly string[];
  /** Working dimensions of the cuts, from the face that the part is located or measured from. */
  readonly cuts: readonly {
    readonly operation: number;
    readonly feature: string;
    readonly process: string;
    readonly from: string;
    readonly meanMm: number;
    readonly lowerMm: number;
    readonly upperMm: number;
  }[];
  /** What the drawing asks between the faces, with the range that the policy's share of parts lies in. */
  readonly dimensions: readonly {
    readonly requirement: string;
    readonly meanMm: number;
    readonly lowerMm: number;
    readonly upperMm: number;
    readonly inLimits: number;
    readonly holds: boolean;
  }[];
  /** Stock that each cut finds, and the least that it needs. */
  readonly stocks: readonly {
    readonly operation: number;
    readonly feature: string;
    readonly meanMm: number;
    readonly leastMm: number;
    readonly mostMm: number;
    readonly neededMm: number;
    readonly inLimits: number;
  }[];
}

export interface ThermalPlan {
  readonly route: string;
  readonly reason: string;
  readonly cycles: readonly ThermalCycle[];
  /** Routes that were looked at and not taken. */
  readonly rejected: readonly { readonly route: string; readonly reason: string }[];
  readonly cutOff?: CutOffPlan;
}

/** What cutting off does to the shape of the part. */
export interface CutOffPlan {
  /** Whether there is a figure. */
  readonly known: boolean;
  /** The part as a beam: its longer side on the plate and its height, mm. */
  readonly lengthMm?: number;
  readonly heightMm?: number;
  /** Stress at the top as built. */
  readonly stressMPa?: number;
  readonly stressFrom?: 'measurement' | 'as-built yield';
  /** Curl if it were cut off as built. */
  readonly unrelieved?: CurlMm;
  /** Curl after the heat that the route does on the plate. */
  readonly asPlanned?: CurlMm;
  /** The model lies within this share of what is measured. */
  readonly modelError?: number;
  /** Least stock of a machined face that looks up or down, mm. */
  readonly stockMm?: number;
  readonly verdict?: string;
  /** Verdict on cutting off before the relief. */
  readonly beforeRelief?: string;
  readonly note: string;
  readonly source?: string;
  readonly confidence?: Confidence;
  /** Whether one HIP on the plate could stand for relief and HIP, and whether it does. */
  readonly hipAsRelief?: {
    readonly allowed: boolean;
    readonly taken: boolean;
    readonly objections: readonly string[];
    readonly conditions: readonly string[];
  };
}

export interface CurlMm {
  readonly lowMm: number;
  readonly typicalMm: number;
  readonly highMm: number;
}

export interface ThermalCycle {
  readonly operation: number;
  readonly treatment: string;
  readonly schedule: string;
  readonly onPlate: boolean;
  readonly temperatureC: number;
  readonly toleranceC: number;
  readonly soakMinutes: number;
  readonly rampCPerMin: number;
  /** What keeps the ramp from being faster. */
  readonly rampLimit?: 'usual rate' | 'thick plate or tool steel' | 'section' | 'furnace power';
  readonly coolCPerMin?: number;
  /** Temperature at which the load is handled. */
  readonly releaseC?: number;
  /** Temperature down to which air is kept away. */
  readonly inertBelowC?: number;
  readonly holds?: readonly {
    readonly what: 'equalise' | 'soak' | 'second soak';
    readonly temperatureC: number;
    readonly minutes: number;
  }[];
  readonly totalMinutes: number;
  readonly atmosphere: string;
  readonly cooling: string;
  readonly pressureMPa?: number;
  readonly conditionAfter: string;
  readonly governing: string;
  readonly uniformityClass: string;
  readonly instrumentation?: string;
  /** Where load sensors sit. */
  readonly sensors?: readonly string[];
  /** Sensors of the uniformity survey. */
  readonly surveySensors?: number;
  readonly loads?: {
    readonly count: number;
    readonly of: 'plates' | 'parts';
    /** Full loads that the lot pays for: its share, or `count` when it runs alone. */
    readonly fullLoads?: number;
    /** Most in one load. */
    readonly most?: number;
    readonly limitedBy?: 'volume' | 'floor' | 'mass';
  };
  /** Of one load. */
  readonly energyKwh?: number;
  readonly argonM3?: number;
  /** Change of length, + grows. */
  readonly sizeChange?: {
    readonly lowPerMm: number;
    readonly meanPerMm: number;
    readonly highPerMm: number;
    readonly source: string;
    readonly confidence: Confidence;
  };
  /** Share of the curl that this cycle alone would leave. */
  readonly curlLeft?: {
    readonly low: number;
    readonly typical: number;
    readonly high: number;
    readonly method: string;
    readonly note: string;
    readonly source: string;
    readonly confidence: Confidence;
  };
  /** Skin that the step leaves on faces that are not machined after it. */
  readonly skin?: {
    readonly what: string;
    readonly depthUm?: number;
    readonly source: string;
    readonly confidence: Confidence;
  };
  readonly checks?: readonly {
    readonly check: string;
    readonly witness?: string;
    readonly source: string;
    readonly confidence: Confidence;
  }[];
  readonly confidence: Confidence;
  readonly source: string;
  /** Values that nobody has read in their specification. */
  readonly toConfirm?: readonly {
    readonly what: string;
    readonly value: string;
    readonly confidence: Confidence;
  }[];
  /** Time in minutes and temperature in C. */
  readonly curve: readonly (readonly [number, number])[];
}

export interface StockPlan {
  readonly faces: readonly StockFace[];
  /** Distance of the part's foot from the plate in the build model, mm. */
  readonly heightOffPlateMm: number;
  readonly heightOffPlateParts: readonly { readonly what: string; readonly mm: number }[];
}

export interface StockFace {
  readonly feature: string;
  readonly what: string;
  readonly finishedMm?: number;
  readonly printedMm: number | null;
  readonly stockPerSideMm: number;
  /** Probability that this stock takes all of the printed skin off. */
  readonly cleanUp?: number;
  readonly build: readonly { readonly what: string; readonly mm: number }[];
  readonly why: string;
}

export interface InspectionItem {
  readonly number: number;
  readonly feature: string;
  readonly requirement: string;
  readonly text: string;
  readonly method: string;
  readonly methodName: string;
  readonly uncertaintyUm?: number;
  /** Limits of the drawing. */
  readonly lower?: number;
  readonly upper?: number;
  /** Limits after the guard band. */
  readonly acceptLower?: number;
  readonly acceptUpper?: number;
  readonly unit?: 'mm' | 'um';
  readonly sample: number;
  readonly minutesPerPart: number;
}

export interface CostPlan {
  readonly currency: string;
  readonly minorDigits: number;
  readonly priceYear: string;
  readonly lines: readonly CostLine[];
  readonly perLot: number;
  readonly perPart: number;
  readonly breaks: readonly QuantityBreak[];
}

export interface CostLine {
  /** Operation and what the money is for: `40.set-up`, `40.run.B1.boring`, `margin`. */
  readonly id: string;
  readonly operation?: number;
  readonly label: string;
  readonly kind:
    | 'set-up'
    | 'programming'
    | 'run'
    | 'load'
    | 'lot-charge'
    | 'unit-charge'
    | 'furnace'
    | 'inspection'
    | 'relation'
    | 'contingency'
    | 'margin';
  readonly amount: number;
  /** `model` lines add up to the objective of the route model, `constant` lines stand outside it. */
  readonly from: 'model' | 'constant';
  /** The reckoning in figures. */
  readonly formula: string;
  /** The formula in words: the names of the inputs multiplied, minutes against rates per hour. */
  readonly rule: string;
  readonly inputs: readonly CostInput[];
  readonly source: string;
}

export interface QuantityBreak {
  readonly quantity: number;
  readonly perPart: number;
  readonly perLot: number;
  readonly days: number;
  /** Empty when the best route stays the same as for the ordered quantity. */
  readonly routeChanges: readonly string[];
  readonly feasible: boolean;
}

export interface SchedulePlan {
  /** Working days from start to ready. */
  readonly days: number;
  readonly startOn?: string;
  readonly readyOn?: string;
  readonly dueOn?: string;
  readonly late: boolean;
  readonly lateDays: number;
  /** Working days between ready and due. */
  readonly spareDays?: number;
  /** Last day on which the lot can start and still be ready when it is due. */
  readonly startBy?: string;
  readonly calendar: {
    readonly hoursPerDay: number;
    readonly daysPerWeek: number;
    /** Days on which nobody works, within the span of the lot. */
    readonly closedOn: readonly string[];
  };
  /** Parts that move on together; the whole lot when absent. */
  readonly transferBatch?: number;
  readonly steps: readonly ScheduleStep[];
  /** What the ready date hangs on, in the order of time; adds up to the days. */
  readonly critical: readonly CriticalSpan[];
  /** What would bring the date in, each way computed anew, most days saved first. */
  readonly shortenings: readonly PlannedShortening[];
}

export interface ScheduleStep {
  readonly operation: number;
  /** Wait before work starts, and the turnaround of a supplier. */
  readonly queueDays: number;
  /** Of these, the turnaround of a supplier. */
  readonly turnaroundDays: number;
  readonly workDays: number;
  /** Days from the start of the lot to the set-up; at a supplier to its leaving. */
  readonly startsAfterDays: number;
  readonly endsAfterDays: number;
  readonly startsOn?: string;
  readonly endsOn?: string;
}

export interface PlannedShortening {
  readonly id: string;
  readonly what: string;
  /** Working days that the lot would then take. */
  readonly days: number;
  readonly savesDays: number;
  readonly readyOn?: string;
  readonly late?: boolean;
  /** What it adds to the lot, minor units; absent where nothing says what it costs. */
  readonly costsPerLot?: number;
}

export interface Question {
  readonly feature: string;
  readonly change: string;
  readonly savesPerPart: number;
  readonly savesDays: number;
}

export interface Caution {
  readonly id: string;
  readonly text: string;
  readonly source: string;
  readonly operations: readonly number[];
}

export interface Proof {
  readonly status: 'optimal' | 'feasible' | 'infeasible' | 'unknown';
  readonly optimal: boolean;
  /** Objective of the route model, minor units a lot for the cost objective. */
  readonly objective: number;
  readonly lowerBound: number;
  readonly gap: number;
  readonly nodes: number;
  /** Sum of the cost lines that stand outside the model. */
  readonly constants: number;
}

export interface Conflict {
  readonly feature?: string;
  readonly requirement: string;
  readonly best: string;
  readonly help: readonly string[];
}
