// route
export type {
  ChainChoice,
  FeatureChoice,
  PairCost,
  PartPlanChoice,
  RouteModel,
  RouteSolution,
  SetupChoice,
  SolveOptions,
} from './route/model.js';
export { checkRouteModel } from './route/solver/check.js';
export { routeCost } from './route/solver/cost.js';
export { solveRouteModel } from './route/solver/solve.js';
