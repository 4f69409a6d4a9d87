// Entry '@offplate/core/stack': stack-ups and allocation, without the planner and its tables.
export type { Place, Problem, ProblemCode } from './problems/problem.js';
export { formatProblem, InputError, problemCodes } from './problems/problem.js';
export type { LeastCostInput } from './stack/allocation-least-cost.js';
export { allocateLeastCost } from './stack/allocation-least-cost.js';
export type {
  ProcessSelectionInput,
  ProcessSelectionOptions,
} from './stack/allocation-processes.js';
export { selectProcesses } from './stack/allocation-processes.js';
export type {
  PrecisionFactorInput,
  ProportionalInput,
  ScalableContributor,
  SizedContributor,
} from './stack/allocation-scaling.js';
export { allocatePrecisionFactor, allocateProportional } from './stack/allocation-scaling.js';
export type {
  AccumulationRule,
  AllocationChain,
  AllocationTerm,
  ChainUse,
  CostCurve,
  CostedAllocation,
  CostedContributor,
  CostedTolerance,
  FixedContributor,
  GradeProcess,
  ImpossibleChain,
  InfeasibleAllocation,
  OptimalityCertificate,
  PricedChainUse,
  ProcessAllocation,
  ProcessContributor,
  ProcessOption,
  RangeProcess,
  ScaledAllocation,
  ScaledTolerance,
} from './stack/allocation-types.js';
export type { BoundedOffset } from './stack/beta-average.js';
export type { BoxExtreme, BoxExtremes, BoxExtremesOptions } from './stack/box-extremes.js';
export { boxExtremes } from './stack/box-extremes.js';
export { chainDistribution } from './stack/chain-distribution.js';
export type { ChainSummary } from './stack/chain-summary.js';
export { chainSummary } from './stack/chain-summary.js';
export type { TailValue } from './stack/contour-tail.js';
export type { UncertaintyPart } from './stack/effective-degrees.js';
export { effectiveDegreesOfFreedom } from './stack/effective-degrees.js';
export type {
  FixedFastener,
  FixedFastenerInput,
  FloatingFastener,
  FloatingFastenerInput,
} from './stack/fasteners.js';
export { fixedFastener, floatingFastener } from './stack/fasteners.js';
export type {
  FeatureBoundaries,
  FeatureOfSize,
  FeatureTolerance,
  MeasuredFeature,
  WallInput,
} from './stack/feature-boundaries.js';
export {
  datumShift,
  earnedTolerance,
  featureBoundaries,
  wallThickness,
} from './stack/feature-boundaries.js';
export type { FunctionTree, TreeOperation } from './stack/function-tree.js';
export { linearTree, treeText, treeVariables } from './stack/function-tree.js';
export type { GeometricContributorInput } from './stack/geometric-contributors.js';
export { geometricContributors } from './stack/geometric-contributors.js';
export type { LoopFunction } from './stack/loop.js';
export { loopFunction } from './stack/loop.js';
export type { LoopSystem, LoopUnknown, LoopVector } from './stack/loop-equations.js';
export { nextBlocks, runSampling, sampleBlocks, sampleStack } from './stack/monte-carlo.js';
export type { ResolvedStack } from './stack/resolve-stack.js';
export { maxContributors, resolveStack } from './stack/resolve-stack.js';
export type { RoundZone } from './stack/round-zone.js';
export { roundZoneProbability } from './stack/round-zone.js';
export type {
  Precision,
  SamplingOptions,
  SamplingPlan,
} from './stack/sampling-plan.js';
export { planSampling } from './stack/sampling-plan.js';
export type {
  CoverageInterval,
  Estimate,
  MonteCarloResult,
  QuantileEstimate,
} from './stack/sampling-summary.js';
export { summariseSampling } from './stack/sampling-summary.js';
export type { SamplingTally } from './stack/sampling-tally.js';
export { mergeSamplingTallies } from './stack/sampling-tally.js';
export type { SecondOrderMoments } from './stack/second-order.js';
export { secondOrderMoments } from './stack/second-order.js';
export type {
  ReportedContributor,
  StackReport,
  StackReportOptions,
  StackVerdict,
} from './stack/stack-report.js';
export { stackReport, usualMinimum } from './stack/stack-report.js';
export { stackUp } from './stack/stack-up.js';
export type { SumDistribution } from './stack/sum-distribution.js';
export type { TreeFunction } from './stack/tree-function.js';
export { treeFunction } from './stack/tree-function.js';
export type { LinearFunction } from './stack/tree-linear.js';
export { linearFunction } from './stack/tree-linear.js';
export type {
  Conformity,
  Contribution,
  Contributor,
  Distribution,
  DistributionKind,
  ExactResult,
  MethodResult,
  Moments,
  MomentsResult,
  NotApplicable,
  QuantileValue,
  RequirementLimits,
  ResolvedContributor,
  Shape,
  StackFunction,
  StackInput,
  StackResult,
  Tightening,
  WorstCaseResult,
} from './stack/types.js';
