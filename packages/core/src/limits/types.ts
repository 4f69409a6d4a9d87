/** A size with its limits, mm. Deviations are kept exactly as the drawing or table gives them. */
export interface SizeLimits {
  readonly nominalMm: number;
  readonly lowerMm: number;
  readonly upperMm: number;
  /** How the limits came about. `general` means that a general tolerance filled them in. */
  readonly origin:
    | 'fit'
    | 'plus-minus'
    | 'deviations'
    | 'limits'
    | 'one-sided'
    | 'general'
    | 'untoleranced';
  /** Fit code such as `H7` when there is one. */
  readonly fit?: string;
  /** Upper (ES/es) and lower (EI/ei) deviation, um. */
  readonly upperDeviationUm: number;
  readonly lowerDeviationUm: number;
  /** As the user wrote it. */
  readonly text: string;
  readonly diametral: boolean;
  readonly count?: number;
}
