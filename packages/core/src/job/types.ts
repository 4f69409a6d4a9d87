import type { GeometricTolerance } from '../limits/geometric-types.js';
import type { GeneralTolerance, SizeLimits, Thread } from '../limits/types.js';

export type { GeometricKind, GeometricTolerance } from '../limits/geometric-types.js';
export type { GeneralTolerance, Thread } from '../limits/types.js';

/** A job after reading: every length in mm, roughness in um, area in mm2, volume in mm3. */
export interface Job {
  readonly schemaVersion: 'job/1';
  readonly part: Part;
  readonly geometry: Geometry;
  readonly order: Order;
  /** Sorted by id, so that the order of CSV rows cannot matter. */
  readonly features: readonly Feature[];
  readonly generalTolerance?: GeneralTolerance;
  readonly chains: readonly PartChain[];
  readonly policy: Policy;
}

export type Printer = 'pbf-lb' | 'pbf-eb';
export type EndUse =
  | 'static'
  | 'fatigue'
  | 'pressure'
  | 'corrosion'
  | 'high-temperature'
  | 'wear'
  | 'prototype';

export interface Part {
  readonly name: string;
  readonly number: string;
  readonly revision: string;
  /** Id of a material in the catalogue. */
  readonly material: string;
  readonly printer: Printer;
  readonly endUse: EndUse;
  /** Condition named on the drawing, e.g. `H1025`, `SR`, `HIP`. */
  readonly condition?: string;
  readonly standards: readonly string[];
  readonly hazards: readonly string[];
  /** Medical, aviation, pressure equipment and the like: needs an approved procedure. */
  readonly regulated: boolean;
  /** Revisions of the drawing so far, in the order given. */
  readonly revisions: readonly PartRevision[];
  readonly note?: string;
}

export interface PartRevision {
  readonly revision: string;
  /** Calendar day YYYY-MM-DD. */
  readonly on?: string;
  readonly change: string;
  readonly approvedBy?: string;
}

export interface Geometry {
  /** File in the folder of the job that holds the part as it is printed, and the unit of an STL. */
  readonly mesh?: { readonly file: string; readonly units: 'mm' | 'in' };
  readonly volumeMm3?: number;
  readonly surfaceAreaMm2?: number;
  /** Box along x, y and the build direction z, mm. */
  readonly boxMm?: readonly [number, number, number];
  /** Area of the part's own foot on the plate, mm2. */
  readonly plateSectionMm2?: number;
  readonly thickestSectionMm?: number;
  readonly thinnestWallMm?: number;
  /** Id of the build plate's material in the catalogue; the part's own when absent. */
  readonly plateMaterial?: string;
  readonly supports: Supports;
  /** Internal channels or cavities that can trap powder. */
  readonly trappedPowder: 'none' | 'open-channels' | 'closed-cavity' | 'unknown';
  /** True when the job (or a witness method) shows that the channels are empty. */
  readonly powderProof: boolean;
}

export interface Supports {
  /** Area of lattice supports on the part, mm2. */
  readonly latticeAreaMm2: number;
  readonly latticeAccess: 'open' | 'internal';
  /** Area of solid supports on the part, mm2. */
  readonly solidAreaMm2: number;
  /** Whether the job said anything about supports. */
  readonly stated: boolean;
}

export interface Order {
  readonly quantity: number;
  /** ISO 4217 code. */
  readonly currency: string;
  /** Calendar date `YYYY-MM-DD`. */
  readonly startOn?: string;
  readonly dueOn?: string;
  /** Days on which nobody works, sorted; none when absent. */
  readonly closedOn?: readonly string[];
  readonly partsPerPlate?: number;
  readonly quantityBreaks: readonly number[];
  readonly customer?: string;
  readonly reference?: string;
}

export type FeatureKind =
  | 'plane'
  | 'bore'
  | 'shaft'
  | 'slot'
  | 'thread'
  | 'freeform'
  | 'channel'
  | 'radius';

/** Tool direction: the tool comes from this side of the part; z is the build direction. */
export type Direction = '+x' | '-x' | '+y' | '-y' | '+z' | '-z';

export type Facing = 'up' | 'down' | 'side' | 'angled';

export interface Feature {
  readonly id: string;
  readonly kind: FeatureKind;
  readonly name?: string;
  /** How many alike. */
  readonly count: number;
  readonly size?: SizeLimits;
  readonly thread?: Thread;
  readonly raMaxUm?: number;
  readonly rzMaxUm?: number;
  readonly lengthMm?: number;
  readonly widthMm?: number;
  readonly depthMm?: number;
  /** Area of one of them, mm2. */
  readonly areaMm2?: number;
  readonly facing?: Facing;
  /** Angle of the face to the plate, deg, 0 = horizontal, 90 = upright. */
  readonly angleDeg?: number;
  /** Lies on the axis about which the part can be turned. */
  readonly onAxis?: boolean;
  /** A radius in an inner corner; an outer edge when absent. */
  readonly concave?: boolean;
  /** Carries supports after printing. */
  readonly supported: boolean;
  /** Sides a tool can come from. Empty means that the job did not say. */
  readonly access: readonly Direction[];
  readonly datum?: string;
  readonly geometric: readonly GeometricTolerance[];
  /** Distance from the datums, mm, where the drawing gives it. */
  readonly locationMm?: number;
  /** Part-wide finishes that may act on this feature; absent = any. */
  readonly allowedFinishes?: readonly string[];
  readonly note?: string;
  /** Spare columns of the CSV, kept as written. */
  readonly extra: Readonly<Record<string, string>>;
  readonly place: { readonly file?: string; readonly line?: number; readonly path?: string };
}

/** A dimension chain of the part, to be checked on the planned route. */
export interface PartChain {
  readonly id: string;
  /** Sum of signed feature sizes. */
  readonly terms: readonly { readonly feature: string; readonly sign: 1 | -1 }[];
  /** Or a function of feature ids. */
  readonly expression?: string;
  readonly lowerMm: number;
  readonly upperMm: number;
}

export interface Learning {
  /** Mean run time of a part after each doubling of the lot, per cent of what it was before. */
  readonly percent: number;
  /** Processes that it holds for; all when absent. */
  readonly processes?: readonly string[];
}

export interface Policy {
  readonly objective: 'cost' | 'days' | 'weighted';
  /** Money per working day in the weighted objective, major currency units. */
  readonly costPerDay?: number;
  readonly required: readonly string[];
  readonly forbidden: readonly string[];
  /** Least probability that each requirement is met. */
  readonly minimumProbability: number;
  /** Least probability of enough good parts, for counting the parts to start. */
  readonly enoughGoodProbability?: number;
  readonly outsideWork: boolean;
  /** Asks for cut-off before stress relief. */
  readonly cutOffBeforeRelief: boolean;
  /** The lot has furnaces and vessels to itself, else it pays its share of a full load. */
  readonly furnaceAlone?: boolean;
  /** Per cent of all money lines. */
  readonly contingencyPercent: number;
  /** Per cent of all money lines and the contingency. */
  readonly marginPercent: number;
  /** Learning curve of run times that are counted by parts; none when absent. */
  readonly learning?: Learning;
  /** Parts that move on to the next operation together; the whole lot when absent. */
  readonly transferBatch?: number;
  /** How the stock of a first cut on a printed surface is found; by limits when absent. */
  readonly stockBy?: 'limits' | 'probability';
}
