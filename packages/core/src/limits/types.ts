/** A size with its limits, mm. Deviations are kept exactly as the drawing or table gives them. */
export interface SizeLimits {
  readonly nominalMm: number;
  readonly lowerMm: number;
  readonly upperMm: number;
  /**
   * How the limits came about. `general`: a general tolerance filled them in. `untoleranced`,
   * `theoretical` (`[25]`) and `reference` (`(25)`) carry no tolerance: both limits are the nominal.
   */
  readonly origin:
    | 'fit'
    | 'plus-minus'
    | 'deviations'
    | 'limits'
    | 'one-sided'
    | 'general'
    | 'untoleranced'
    | 'theoretical'
    | 'reference';
  /**
   * The side that a one-sided size leaves open. The open limit is then only a finite bound for the
   * arithmetic: 0 below `max 5`, twice the value above `min 3`.
   */
  readonly open?: 'below' | 'above';
  /** Fit code such as `H7` when there is one. */
  readonly fit?: string;
  /** Upper (ES/es) and lower (EI/ei) deviation, um. */
  readonly upperDeviationUm: number;
  readonly lowerDeviationUm: number;
  /** As the user wrote it. */
  readonly text: string;
  readonly diametral: boolean;
  /** Symbol before the size when it is not a plain length or diameter. */
  readonly shape?: 'radius' | 'spherical-diameter' | 'spherical-radius' | 'square';
  /** ISO 14405-1 size modifiers as written, `E` for the envelope requirement. */
  readonly modifiers?: readonly string[];
  readonly count?: number;
}

/** Upper (ES/es) and lower (EI/ei) deviation from the nominal size, um. */
export interface Deviations {
  readonly upperDeviationUm: number;
  readonly lowerDeviationUm: number;
}

/** An ISO metric thread. */
export interface Thread {
  /** As written: `M8-6H`, `M10x1-6g`. */
  readonly designation: string;
  readonly majorMm: number;
  readonly pitchMm: number;
  readonly toleranceClass: string;
  readonly internal: boolean;
}

/** What a size text on a drawing can be. */
export type DrawingSize =
  | { readonly form: 'size'; readonly size: SizeLimits; readonly count: number }
  | { readonly form: 'thread'; readonly thread: Thread; readonly count: number };

export interface GeneralTolerance {
  /** ISO 2768-1 class f, m, c or v. */
  readonly linear?: 'f' | 'm' | 'c' | 'v';
  /** ISO 2768-2 class H, K or L. */
  readonly geometric?: 'H' | 'K' | 'L';
  readonly text: string;
}

/** Limits of a surface texture, um. At least one of the maxima is present. */
export interface RoughnessLimits {
  readonly raMaxUm?: number;
  readonly raMinUm?: number;
  readonly rzMaxUm?: number;
  readonly rzMinUm?: number;
}
