/** One state of a hole or a shaft in the tabular method, finished state first. Sizes in mm. */
export interface AllowanceState {
  readonly name: string;
  /** Total tolerance of the size in this state. */
  readonly toleranceMm: number;
  /** Least allowance on the diameter that this state's operation takes; absent for the blank. */
  readonly leastMm?: number;
}

export interface AllowanceRow {
  readonly name: string;
  readonly lowerMm: number;
  readonly upperMm: number;
  /** Least and largest allowance on the diameter; absent for the blank. */
  readonly leastMm?: number;
  readonly mostMm?: number;
}

/**
 * Limits of a diameter in every state, worked back from the finished one by the tabular method: the
 * governing limit (the upper one of a hole, the lower one of a shaft) moves by the least allowance of
 * each operation, the other by the tolerance of the state; the largest allowance is the distance of
 * the other limits. So the largest less the least over all operations is the tolerance of the blank
 * less that of the part. Sizes in mm. Source: tabular form of the analytical method (handbook of the
 * process engineer, vol. 1, from memory).
 *
 * @param finished limits of the finished size, mm
 * @param states finished state first, blank last
 * @throws RangeError when a state but the last has no least allowance
 *
 * @example
 * allowanceTable({ lowerMm: 42.025, upperMm: 42.044 }, [{ name: 'ground', toleranceMm: 0.019, leastMm: 0.198 }, { name: 'broached', toleranceMm: 0.062 }], true)[1].upperMm // -> 41.846
 */
export function allowanceTable(
  finished: { readonly lowerMm: number; readonly upperMm: number },
  states: readonly AllowanceState[],
  internal: boolean,
): readonly AllowanceRow[] {
  const limits: { readonly lowerMm: number; readonly upperMm: number }[] = [finished];
  states.slice(1).forEach(({ toleranceMm }, index) => {
    const later = limits[index] ?? finished;
    const least = states[index]?.leastMm;
    if (least === undefined)
      throw new RangeError(`${states[index]?.name}: only the blank has no least allowance`);
    limits.push(
      internal
        ? {
            lowerMm: tidied(later.upperMm - least - toleranceMm),
            upperMm: tidied(later.upperMm - least),
          }
        : {
            lowerMm: tidied(later.lowerMm + least),
            upperMm: tidied(later.lowerMm + least + toleranceMm),
          },
    );
  });
  return states.map(({ name, leastMm }, index) => {
    const here = limits[index] ?? finished;
    const before = limits[index + 1];
    if (leastMm === undefined || before === undefined) return { name, ...here };
    const mostMm = internal ? here.lowerMm - before.lowerMm : before.upperMm - here.upperMm;
    return { name, ...here, leastMm, mostMm: tidied(mostMm) };
  });
}

/** Without the noise of binary fractions, a nanometre. */
function tidied(mm: number): number {
  return Math.round(mm * 1e6) / 1e6;
}
