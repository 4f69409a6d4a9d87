/** What a surface is like before a step, per side. */
export interface SurfaceState {
  /** Roughness height Rz, mm. */
  readonly rzMm: number;
  /** Defect layer below the roughness, mm. */
  readonly layerMm: number;
  /** Spatial error: warp, offset, misalignment, mm. */
  readonly formMm: number;
  /** Total tolerance of the size that the surface bounds, mm. */
  readonly toleranceMm: number;
}

export interface CuttingStep {
  readonly process: string;
  /** Setting error when the part is clamped for this step, mm; 0 in the set-up of the step before. */
  readonly settingMm: number;
  /**
   * Which parts of the analytical method apply: all; without form and setting (the tool follows the
   * surface: reaming, honing); the roughness alone (lapping); a given mean removal (media finishing).
   */
  readonly rule: 'full' | 'floating' | 'roughness' | 'shift' | 'none';
  /** Mean removal of a `shift` step, mm. */
  readonly shiftMm: number;
  readonly stockMinMm: number;
  readonly stockMaxMm: number;
  /** Mean stock per side by probability of clean-up, in place of the analytical method. */
  readonly probableMm?: number;
  readonly after: SurfaceState;
}

export interface StepStock {
  readonly process: string;
  /** Least stock that cleans the surface up, per side, mm. */
  readonly minimumMm: number;
  /** Planned mean stock per side, mm: the least plus half the tolerances of both sizes. */
  readonly nominalMm: number;
  readonly parts: readonly { readonly what: string; readonly mm: number }[];
}

/**
 * Stock of one cutting step by the analytical method, per side: Zmin = Rz + h + sqrt(rho^2 + eps^2) of
 * the state before. The planned stock is the mean that leaves Zmin when the size before is at one
 * limit and the size after at the other: Zmin + (T_before + T_after)/2 on a face, half of that spread
 * per side of a diameter. Source: Kovan's method, handbook of the process engineer, vol. 1 (from
 * memory).
 *
 * @returns undefined when the step would have to take more than its process can
 */
export function stepStock(
  before: SurfaceState,
  step: CuttingStep,
  twoSided: boolean,
): StepStock | undefined {
  const nominalMm = stepStockMm(before, step, twoSided);
  if (nominalMm === undefined) return undefined;
  const parts = partsOf(step, before, twoSided);
  const minimumMm = parts.surface + parts.spatial;
  const asked = step.probableMm ?? minimumMm + parts.spread;
  return {
    process: step.process,
    minimumMm,
    nominalMm,
    parts: [
      ...(step.probableMm === undefined
        ? analyticalParts(step, parts)
        : [{ what: 'clean-up with the wanted probability', mm: step.probableMm }]),
      ...(nominalMm > asked ? [{ what: 'least stock of the process', mm: nominalMm - asked }] : []),
    ],
  };
}

/** The planned stock of {@link stepStock} alone. */
export function stepStockMm(
  before: SurfaceState,
  step: CuttingStep,
  twoSided: boolean,
): number | undefined {
  const { surface, spatial, spread } = partsOf(step, before, twoSided);
  const nominalMm = Math.max(step.probableMm ?? surface + spatial + spread, step.stockMinMm);
  return nominalMm > step.stockMaxMm ? undefined : nominalMm;
}

function analyticalParts(
  step: CuttingStep,
  parts: { readonly surface: number; readonly spatial: number; readonly spread: number },
): StepStock['parts'] {
  return [
    {
      what: step.rule === 'shift' ? 'mean removal' : 'roughness and defect layer',
      mm: parts.surface,
    },
    ...(parts.spatial > 0 ? [{ what: 'form and setting error', mm: parts.spatial }] : []),
    ...(parts.spread > 0 ? [{ what: 'tolerances of both sizes', mm: parts.spread }] : []),
  ];
}

function partsOf(
  step: CuttingStep,
  before: SurfaceState,
  twoSided: boolean,
): { surface: number; spatial: number; spread: number } {
  if (step.rule === 'none') return { surface: 0, spatial: 0, spread: 0 };
  if (step.rule === 'shift') return { surface: step.shiftMm, spatial: 0, spread: 0 };
  return {
    surface: before.rzMm + (step.rule === 'roughness' ? 0 : before.layerMm),
    spatial: step.rule === 'full' ? Math.hypot(before.formMm, step.settingMm) : 0,
    spread: (before.toleranceMm + step.after.toleranceMm) / (twoSided ? 4 : 2),
  };
}

/** Rounds a printed size to the step, always towards more material. */
export function roundPrinted(sizeMm: number, stepMm: number, internal: boolean): number {
  const steps = sizeMm / stepMm;
  const near = Math.round(steps);
  const whole =
    Math.abs(steps - near) < 1e-9 ? near : internal ? Math.floor(steps) : Math.ceil(steps);
  return Math.round(whole * stepMm * 1e6) / 1e6;
}
