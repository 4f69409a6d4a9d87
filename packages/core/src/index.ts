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

// sheets
export { travellerSheet } from './sheets/traveller.js';
export type {
  Block,
  BoxBlock,
  Column,
  Field,
  FieldsBlock,
  HeadingBlock,
  ListBlock,
  OperationBlock,
  PageFormat,
  ParagraphBlock,
  RouteStop,
  RouteStripBlock,
  Sheet,
  SignOffBlock,
  TableBlock,
  TravellerOptions,
} from './sheets/types.js';
