/** How the tolerances of a chain add up to the tolerance of its resultant. */
export type AccumulationRule = 'worst-case' | 'rss';

/** One contributor's part in a chain. */
export interface AllocationTerm {
  readonly contributor: string;
  /** d resultant / d contributor; its sign does not matter. 1 when absent. */
  readonly sensitivity?: number;
}

/**
 * A chain whose resultant must stay within ± `limit`. Tolerances are half-widths (±), in one unit
 * throughout, usually mm.
 */
export interface AllocationChain {
  readonly id: string;
  readonly limit: number;
  /** `worst-case` when absent. */
  readonly rule?: AccumulationRule;
  /** Factor on the accumulated tolerance, e.g. 1.5 for the inflated RSS; 1 when absent. */
  readonly inflation?: number;
  /** Every contributor with sensitivity 1 when absent. */
  readonly terms?: readonly AllocationTerm[];
}

/** A contributor that is not to be changed, e.g. a bought part. */
export interface FixedContributor {
  readonly id: string;
  readonly tolerance: number;
}

/** Cost of holding ± T: `fixed` + `scale` / T^`power`, in any unit of money. */
export interface CostCurve {
  /** 0 when absent. */
  readonly fixed?: number;
  readonly scale: number;
  readonly power: number;
}

/** A contributor whose tolerance is free between bounds (0 and infinity when absent). */
export interface CostedContributor {
  readonly id: string;
  readonly cost: CostCurve;
  readonly lower?: number;
  readonly upper?: number;
}

/**
 * A process that holds any tolerance of a range (0 and infinity when absent), at a cost that falls
 * with the tolerance.
 */
export type RangeProcess = CostedContributor;

/** A process, or a grade of one, that holds one tolerance at one cost. */
export interface GradeProcess {
  readonly id: string;
  readonly cost: number;
  readonly tolerance: number;
}

export type ProcessOption = RangeProcess | GradeProcess;

/** A contributor that is made by one of several processes. */
export interface ProcessContributor {
  readonly id: string;
  readonly processes: readonly ProcessOption[];
}

/** What a chain uses of its limit after allocation. */
export interface ChainUse {
  readonly id: string;
  readonly rule: AccumulationRule;
  readonly limit: number;
  /** Accumulated tolerance, with the inflation factor. */
  readonly used: number;
  readonly slack: number;
  /** Nothing is left (slack below 1e-9 of the limit). */
  readonly tight: boolean;
}

/** A chain that cannot be met even when each of its contributors is at its smallest tolerance. */
export interface ImpossibleChain {
  readonly id: string;
  readonly rule: AccumulationRule;
  readonly limit: number;
  /** Least accumulated tolerance that the contributors reach. */
  readonly least: number;
  readonly excess: number;
  /** Smallest tolerance of each contributor and its share of `least` (of its square for RSS), %. */
  readonly contributors: readonly {
    readonly id: string;
    readonly tolerance: number;
    readonly sharePercent: number;
  }[];
}

/**
 * No allocation exists. Every contributor can be at its smallest tolerance at once, so the chains
 * that then exceed their limit are exactly the ones that stand in the way; worst first.
 */
export interface InfeasibleAllocation {
  readonly feasible: false;
  readonly impossible: readonly ImpossibleChain[];
}

/** Tolerances by one common factor. */
export interface ScaledAllocation {
  readonly feasible: true;
  /**
   * Factor on the given tolerances, or P of T = P D^(1/3); that of the first chain to be used up. 1
   * when every contributor is fixed.
   */
  readonly factor: number;
  /** In the order of the input. */
  readonly tolerances: readonly ScaledTolerance[];
  readonly chains: readonly ChainUse[];
}

export interface ScaledTolerance {
  readonly id: string;
  readonly tolerance: number;
  /** `fixed`: given. `chain`: a chain of it is used up. `lower`, `upper`: at a bound. */
  readonly stoppedBy: 'fixed' | 'chain' | 'lower' | 'upper';
}

/** Multiplier of a chain at the optimum. */
export interface PricedChainUse extends ChainUse {
  /**
   * Lagrange multiplier of the chain's constraint, written sum |a| T <= limit / inflation for worst
   * case and sum a^2 T^2 <= (limit / inflation)^2 for RSS.
   */
  readonly multiplier: number;
  /** Fall of the cost per unit of a wider limit, at the margin. */
  readonly savingPerUnit: number;
}

export interface CostedTolerance {
  readonly id: string;
  readonly tolerance: number;
  /** 0 for a fixed contributor. */
  readonly cost: number;
  readonly at: 'fixed' | 'lower' | 'upper' | 'between';
  /** Chosen process, where there was a choice. */
  readonly process?: string;
}

/** Why the cost is known to be the least. */
export interface OptimalityCertificate {
  /**
   * `closed-form`: Lagrange, one chain, equal powers. `one-equation`: one chain, root in the
   * multiplier. `newton`: several chains, primal-dual Newton. `bounds`: no chain is used up.
   * `branch-and-bound`: processes chosen by search, tolerances by one of the others.
   */
  readonly method: 'closed-form' | 'one-equation' | 'newton' | 'bounds' | 'branch-and-bound';
  /** No allocation costs less. By Lagrangian duality from the multipliers (and the search). */
  readonly lowerBound: number;
  /** (cost - lowerBound) / max(1e-300, |cost|), never below 0. */
  readonly gap: number;
  /** Largest error of the Karush-Kuhn-Tucker conditions, each relative to its own size. */
  readonly kktResidual: number;
  /** Newton iterations, or nodes of the search. */
  readonly steps: number;
}

export interface CostedAllocation {
  readonly feasible: true;
  readonly cost: number;
  /** In the order of the input. */
  readonly tolerances: readonly CostedTolerance[];
  readonly chains: readonly PricedChainUse[];
  readonly certificate: OptimalityCertificate;
}

export interface ProcessAllocation extends CostedAllocation {
  /** `optimal`: proven. `feasible`: the node limit was met; see the certificate's gap. */
  readonly status: 'optimal' | 'feasible';
}
