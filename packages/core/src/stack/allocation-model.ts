import type {
  AccumulationRule,
  AllocationChain,
  ChainUse,
  ImpossibleChain,
} from './allocation-types.js';

/**
 * A chain as one inequality that is additive over contributors under either rule:
 * sum coefficient * T^exponent <= budget, with |a|, 1 (worst case) or a^2, 2 (RSS).
 */
export interface BudgetRow {
  readonly id: string;
  readonly rule: AccumulationRule;
  readonly limit: number;
  readonly inflation: number;
  readonly exponent: 1 | 2;
  /** By contributor; 0 where the contributor is not in the chain. */
  readonly coefficients: Float64Array;
  readonly budget: number;
}

/** Relative slack below which a chain counts as used up. */
const tightShare = 1e-9;

/** Relative excess that is put down to rounding. */
export const roundingShare = 1e-12;

/** Room left of a limit, relative, below which there is none for a tolerance above 0. */
const noRoomShare = 1e-9;

/** Orders by code unit, so that no locale can change a result. */
export function byId(a: { readonly id: string }, b: { readonly id: string }): number {
  return a.id < b.id ? -1 : a.id > b.id ? 1 : 0;
}

export function buildRows(
  chains: readonly AllocationChain[],
  contributors: readonly string[],
): BudgetRow[] {
  const indexOf = new Map(contributors.map((id, index) => [id, index]));
  return chains.map((chain) => {
    const rule = chain.rule ?? 'worst-case';
    const exponent = rule === 'rss' ? 2 : 1;
    const inflation = chain.inflation ?? 1;
    const sensitivities = new Float64Array(contributors.length);
    if (chain.terms === undefined) sensitivities.fill(1);
    for (const { contributor, sensitivity } of chain.terms ?? []) {
      const index = indexOf.get(contributor);
      if (index !== undefined) sensitivities[index] = sensitivity ?? 1;
    }
    return {
      id: chain.id,
      rule,
      limit: chain.limit,
      inflation,
      exponent,
      coefficients: sensitivities.map((a) => Math.abs(a) ** exponent),
      budget: (chain.limit / inflation) ** exponent,
    };
  });
}

/** T^exponent without the cost of a general power. */
export function raised(tolerance: number, exponent: 1 | 2): number {
  return exponent === 1 ? tolerance : tolerance * tolerance;
}

/** Left side of the row; infinite as soon as a contributor of it is. */
export function rowUse(row: BudgetRow, tolerances: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < row.coefficients.length; i++) {
    const coefficient = row.coefficients[i] ?? 0;
    if (coefficient > 0) sum += coefficient * raised(tolerances[i] ?? 0, row.exponent);
  }
  return sum;
}

/** What one contributor puts into the row. */
export function partOf(row: BudgetRow, contributor: number, tolerance: number): number {
  const coefficient = row.coefficients[contributor] ?? 0;
  return coefficient > 0 ? coefficient * raised(tolerance, row.exponent) : 0;
}

function accumulated(row: BudgetRow, use: number): number {
  return row.inflation * (row.exponent === 1 ? use : Math.sqrt(use));
}

export function chainUse(row: BudgetRow, tolerances: ArrayLike<number>): ChainUse {
  const used = accumulated(row, rowUse(row, tolerances));
  const slack = row.limit - used;
  return {
    id: row.id,
    rule: row.rule,
    limit: row.limit,
    used,
    slack,
    tight: slack <= tightShare * row.limit,
  };
}

/**
 * Chains over their limit with every contributor at its smallest, the largest excess first. Where a
 * contributor may shrink to nothing, a chain that leaves it nothing is impossible too: its cost
 * would be without end.
 */
export function impossibleChains(
  rows: readonly BudgetRow[],
  contributors: readonly string[],
  smallest: ArrayLike<number>,
): ImpossibleChain[] {
  return rows
    .filter((row) => {
      const vanishes = row.coefficients.some((c, i) => c > 0 && smallest[i] === 0);
      return rowUse(row, smallest) > row.budget * (vanishes ? 1 - noRoomShare : 1 + roundingShare);
    })
    .map((row) => {
      const use = rowUse(row, smallest);
      const least = accumulated(row, use);
      const shares = contributors.flatMap((id, i) => {
        const tolerance = smallest[i] ?? 0;
        const part = (row.coefficients[i] ?? 0) * raised(tolerance, row.exponent);
        return part > 0 ? [{ id, tolerance, sharePercent: (100 * part) / use }] : [];
      });
      return {
        id: row.id,
        rule: row.rule,
        limit: row.limit,
        least,
        excess: least - row.limit,
        contributors: shares.sort((a, b) => b.sharePercent - a.sharePercent || byId(a, b)),
      };
    })
    .sort((a, b) => b.excess / b.limit - a.excess / a.limit || byId(a, b));
}
