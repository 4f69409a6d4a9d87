/**
 * The choice problem behind a plan, as plain data (schema `route-model/1`): choose one part plan p
 * and one chain per feature that lists p; minimise cost(p) + sum of chain costs + cost of every
 * set-up that a chosen chain uses, once + sum of pair costs with both chains chosen. A pair cost of
 * null forbids the pair. Costs are numbers in one unit (here: minor currency units a lot).
 */
export interface RouteModel {
  readonly schema: 'route-model/1';
  readonly partPlans: readonly PartPlanChoice[];
  readonly setups: readonly SetupChoice[];
  readonly features: readonly FeatureChoice[];
  readonly pairs: readonly PairCost[];
}

export interface PartPlanChoice {
  readonly id: string;
  readonly cost: number;
}

export interface SetupChoice {
  readonly id: string;
  readonly cost: number;
}

export interface FeatureChoice {
  readonly id: string;
  readonly chains: readonly ChainChoice[];
}

export interface ChainChoice {
  /** Unique in the whole model. */
  readonly id: string;
  readonly cost: number;
  readonly setups: readonly string[];
  /** Part plans with which this chain works. */
  readonly partPlans: readonly string[];
}

export interface PairCost {
  readonly a: string;
  readonly b: string;
  readonly cost: number | null;
}

export interface RouteSolution {
  /** `optimal`: proven. `feasible`: node limit met, see gap. `infeasible`: proven that no choice works. `unknown`: node limit met before any choice was found. */
  readonly status: 'optimal' | 'feasible' | 'infeasible' | 'unknown';
  readonly partPlan?: string;
  /** Chain id by feature id. */
  readonly chains: Readonly<Record<string, string>>;
  readonly setups: readonly string[];
  readonly objective: number;
  readonly lowerBound: number;
  /** (objective - lowerBound) / max(1, |objective|). */
  readonly gap: number;
  readonly nodes: number;
}

export interface SolveOptions {
  /** Most branch-and-bound nodes before the best found is returned with its gap. */
  readonly nodeLimit?: number;
  /** Polled between nodes; true stops the search with the best found. */
  readonly shouldStop?: () => boolean;
  /** The same for an AbortSignal or anything like it. */
  readonly signal?: { readonly aborted: boolean };
  /** Choices that cost more are of no interest. */
  readonly cutoff?: number;
  /** A choice to start from, e.g. the previous optimum. */
  readonly start?: { readonly partPlan: string; readonly chains: Readonly<Record<string, string>> };
}
