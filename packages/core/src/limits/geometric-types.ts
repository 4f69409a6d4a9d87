export type GeometricKind =
  | 'position'
  | 'flatness'
  | 'straightness'
  | 'roundness'
  | 'cylindricity'
  | 'perpendicularity'
  | 'parallelism'
  | 'angularity'
  | 'profile-line'
  | 'profile-surface'
  | 'coaxiality'
  | 'symmetry'
  | 'runout'
  | 'total-runout';

export interface DatumReference {
  /** One letter, or the letters of a common datum: `A-B`. */
  readonly letter: string;
  readonly materialCondition?: 'MMC' | 'LMC';
}

export interface GeometricTolerance {
  readonly kind: GeometricKind;
  /** Width or diameter of the zone, mm. */
  readonly valueMm: number;
  readonly diametral: boolean;
  readonly materialCondition?: 'MMC' | 'LMC';
  readonly datums: readonly DatumReference[];
  /** As written by the user. */
  readonly text: string;
}
