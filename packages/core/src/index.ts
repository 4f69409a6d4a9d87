// catalog
export type { Catalog, CatalogTables, ShopRow } from './catalog/catalog.js';
export { defaultCatalog, rowKey, tableProperties } from './catalog/catalog.js';
export { checkCatalog } from './catalog/check.js';
export type { TableName } from './catalog/generated/table-schemas.js';
export { tableSchemas } from './catalog/generated/table-schemas.js';
export {
  currencyByCode,
  dimensionChangeOf,
  materialById,
  methodById,
  planningDefaultById,
  processById,
  processNeedsOf,
  schedulesFor,
  surfaceLayerOf,
  threadByDesignation,
  treatmentById,
  workCentreById,
} from './catalog/lookup.js';
export type { ShopTable } from './catalog/merge.js';
export { mergeShop } from './catalog/merge.js';
export type { Provenance } from './catalog/provenance.js';
export { provenance } from './catalog/provenance.js';
export type { Cell, ColumnSchema, Row, TableSchema } from './catalog/read-rows.js';

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
