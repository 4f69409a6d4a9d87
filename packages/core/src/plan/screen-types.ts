import type { PrintLimitsRow } from '../catalog/generated/print-limits.js';
import type { Confidence } from '../problems/finding.js';

/** What is looked at before a part is taken on. The last two have no figure to compare. */
export type ScreenCheckId = PrintLimitsRow['check'] | 'trapped-powder' | 'support-access';

/**
 * `care`: between what is wanted and what is firm, or beyond it but perhaps not so or provided for.
 * `unknown`: the job does not say.
 */
export type ScreenVerdict = 'within' | 'care' | 'outside' | 'unknown' | 'none';

/** A limit of shape: printing fails beyond `firm`, and up to `wanted` needs no special care. */
export interface ScreenLimit {
  /** `least`: what is smaller is worse. */
  readonly sense: 'least' | 'most';
  readonly firm: number;
  readonly wanted: number;
  /** Ratio has no unit. */
  readonly unit: 'mm' | 'deg' | 'ratio';
  readonly what: string;
  readonly source: string;
  readonly confidence: Confidence;
}

/** One thing that a check looks at: a feature, the part, or its mesh. */
export interface ScreenSubject {
  /** Feature id, `part` or `mesh`. */
  readonly about: string;
  /** In the unit of the limit; absent where there is no figure. */
  readonly seen?: number;
  readonly verdict: ScreenVerdict;
  /** In words, when the figure does not say it all. */
  readonly note?: string;
}

/** One check of the screen. */
export interface ScreenCheck {
  readonly check: ScreenCheckId;
  /** The worst verdict of the subjects; `none` when the part has nothing of the kind. */
  readonly verdict: ScreenVerdict;
  readonly limit?: ScreenLimit;
  /** Worst first. */
  readonly subjects: readonly ScreenSubject[];
  /** What it changes in the route; absent when it changes nothing. */
  readonly route?: string;
}

/** What printing holds of one feature against what the drawing asks. */
export interface ToleranceReality {
  readonly feature: string;
  readonly name?: string;
  /** Size as the drawing has it, and the width of its tolerance, mm. */
  readonly size?: string;
  readonly toleranceMm?: number;
  /** Six standard deviations of the printed size, mm, with a build model corrected for the mean. */
  readonly printedMm: number;
  readonly raMaxUm?: number;
  readonly printedRaUm: number;
  readonly asPrinted: boolean;
  /** What the route does with it. */
  readonly route: string;
  readonly source: string;
  readonly confidence: Confidence;
}

/** What speaks for and against printing the part as drawn, schema `screen/1`. */
export interface PrintScreen {
  readonly schema: 'screen/1';
  readonly part: string;
  readonly number: string;
  readonly revision: string;
  readonly printer: string;
  readonly material: { readonly id: string; readonly name: string; readonly family: string };
  readonly checks: readonly ScreenCheck[];
  readonly tolerances: readonly ToleranceReality[];
  /** For the talk with a customer new to additive design, in whole sentences. */
  readonly talk: readonly string[];
}
