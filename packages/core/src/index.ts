// problems

export type { Assumption, Confidence, Finding } from './problems/finding.js';
export { nearMatch } from './problems/near-match.js';
export type { Place, Problem, ProblemCode } from './problems/problem.js';
export { formatProblem, InputError, problemCodes } from './problems/problem.js';

// quantity

export { formatFixed, formatMm, formatShort, formatUm } from './quantity/format.js';
export type { QuantityOptions } from './quantity/parse-quantity.js';
export {
  parseAngleDeg,
  parseAreaMm2,
  parseLengthMm,
  parseMassKg,
  parseMinutes,
  parseNumber,
  parsePressureMPa,
  parseRoughnessUm,
  parseTemperatureC,
  parseTemperatureDifferenceK,
  parseVolumeMm3,
} from './quantity/parse-quantity.js';
export type { Fault, NumberOptions, Reading } from './quantity/reading.js';
export type {
  AngleUnit,
  AreaUnit,
  LengthUnit,
  MassUnit,
  PressureUnit,
  RoughnessUnit,
  TemperatureUnit,
  TimeUnit,
  VolumeUnit,
} from './quantity/units.js';

// numeric

export type { SampleStatistics } from './numeric/statistics.js';
export { sampleStatistics } from './numeric/statistics.js';

// conformity

export type {
  CapabilityFigures,
  FractionsOutside,
  ProcessAgainstLimits,
} from './conformity/capability.js';
export {
  capabilityFromFraction,
  fractionsFromCapability,
  processCapability,
} from './conformity/capability.js';
export type {
  ConformanceProbability,
  MeasuredAgainstLimits,
} from './conformity/conformance-probability.js';
export { conformanceProbability } from './conformity/conformance-probability.js';
export type { GlobalRisk, GlobalRiskInput } from './conformity/global-risk.js';
export { globalRisk } from './conformity/global-risk.js';
export type { GuardBand, GuardBandInput } from './conformity/guard-band.js';
export { guardBand } from './conformity/guard-band.js';
export type { ToleranceIntervalOptions } from './conformity/tolerance-interval.js';
export {
  howeToleranceFactor,
  oneSidedToleranceFactor,
  twoSidedToleranceFactor,
} from './conformity/tolerance-interval.js';

// limits (also an entry of its own)

export * from './limits.js';

// catalog

export type { Catalog, CatalogTables, ShopRow } from './catalog/catalog.js';
export { defaultCatalog, rowKey, tableProperties, tableRows } from './catalog/catalog.js';
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
  skinLayerById,
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
export { propertyName } from './catalog/read-rows.js';

// job
export { isCalendarDate } from './job/calendar-date.js';
export type { FeatureTable } from './job/feature-table.js';
export type { FeatureInput, JobInput } from './job/input.js';
export type { JobReading, JobSource } from './job/read-job.js';
export { featureTableName, jobVocabulary, readJob } from './job/read-job.js';
export type { JobVocabulary } from './job/read-part.js';
export { jobSchemaId, maxFeatures, maxJobTextLength } from './job/schema.js';
export type {
  Direction,
  EndUse,
  Facing,
  Feature,
  FeatureKind,
  Geometry,
  Job,
  Order,
  Part,
  PartChain,
  Policy,
  Printer,
  Supports,
} from './job/types.js';

// geometry (mesh files have an entry of their own: mesh-file.ts)

export type { CandidateFeature } from './geometry/candidate-features.js';
export { candidateFeatures } from './geometry/candidate-features.js';
export type { CylinderFace } from './geometry/cylinders.js';
export type { FacingAreas } from './geometry/facing.js';
export { facingAreas } from './geometry/facing.js';
export type { FilledJob } from './geometry/fill-job.js';
export { geometryFromMesh } from './geometry/fill-job.js';
export { bounds, type MassProperties, massProperties } from './geometry/mass-properties.js';
export type { Cavity, MeasureOptions, PartMeasures } from './geometry/measure-part.js';
export { measurePart } from './geometry/measure-part.js';
export type { MeshReading, TriangleMesh } from './geometry/mesh.js';
export { maxMeshBytes, maxTriangles } from './geometry/mesh.js';
export type { MeshReport } from './geometry/mesh-report.js';
export { meshReport } from './geometry/mesh-report.js';
export type { PlaneFace } from './geometry/planes.js';
export type { Section } from './geometry/section.js';
export { sectionsAt } from './geometry/section.js';
export type { Shell } from './geometry/shells.js';
export { boxMesh } from './geometry/solids.js';
export type { Thickness } from './geometry/thickness.js';
export { writeStl } from './geometry/write-stl.js';

// stack (also an entry of its own, without the reader of its files)

export type { StackReading, StackSettings, StackSource } from './stack/read-stack.js';
export { readStack } from './stack/read-stack.js';
export { maxStackTextLength, stackSchemaId } from './stack/schema.js';
export type { StackFile, StackFormula } from './stack/stack-file.js';
export type { StackTable } from './stack/stack-table.js';
export * from './stack.js';

// chart

export type { AssignmentOptions } from './chart/assign-tolerances.js';
export { assignTolerances, checkCutCosts } from './chart/assign-tolerances.js';
export type { ChartFile } from './chart/chart-file.js';
export { chartText } from './chart/chart-text.js';
export { checkChartInput, maxCuts } from './chart/check-chart-input.js';
export type { ChartReading } from './chart/read-chart.js';
export { readChart } from './chart/read-chart.js';
export { chartSchemaId, maxChartTextLength } from './chart/schema.js';
export { checkChart, solveChart } from './chart/solve-chart.js';
export type {
  Accumulated,
  BlueprintDimension,
  ChartAssignment,
  ChartCut,
  ChartFault,
  ChartInput,
  ChartLink,
  ChartLoop,
  ChartResult,
  ChartResultant,
  ChartRule,
  ChartStock,
  ChartSurface,
  CutCost,
  MmRange,
  SolvedCut,
  StatedLimit,
  SurfaceHistory,
  WorkingLimits,
} from './chart/types.js';

// thermal

export {
  beamModulusMPa,
  curlCurvature,
  curlLiftMm,
  curlRootMm,
  curlSagMm,
  machiningCurvature,
  thinLayerCurvature,
} from './thermal/curl.js';
export type {
  CurlRange,
  CurlSubject,
  CurlVerdict,
  CutOffCurl,
  UnknownCurl,
} from './thermal/cut-off-curl.js';
export { curlVerdict, cutOffCurl } from './thermal/cut-off-curl.js';
export type { ChangedSize } from './thermal/dimension-change.js';
export {
  densificationStrain,
  sizeAfterTreatment,
  sizeBeforeTreatment,
} from './thermal/dimension-change.js';
export type { LoadSensors } from './thermal/furnace-practice.js';
export { checksAfterTreatment, furnaceClass, loadSensors } from './thermal/furnace-practice.js';
export type { HeatCurve, HeatLeg, Hold } from './thermal/heat-curve.js';
export { heatCurve, minutesAbove } from './thermal/heat-curve.js';
export type { HeatedMass } from './thermal/heating.js';
export {
  heatDiffusivity,
  heatingEnergyKwh,
  powerRampCPerMin,
  sectionDifferenceC,
  sectionRampCPerMin,
} from './thermal/heating.js';
export type { HipAsRelief } from './thermal/hip-as-relief.js';
export { hipAsRelief } from './thermal/hip-as-relief.js';
export type { LoadCapacity, LoadLimits } from './thermal/load.js';
export { fitsVessel, looseCapacity, plateCapacity } from './thermal/load.js';
export type { PlateMismatch } from './thermal/plate-mismatch.js';
export { plateMismatch, plateObjection } from './thermal/plate-mismatch.js';
export type { LayeredBlock, PlateStress } from './thermal/plate-stress.js';
export {
  blockOnPlate,
  blockStressShare,
  layeredOnPlate,
  unboltedCurvature,
} from './thermal/plate-stress.js';
export type { ReliefLaw, ReliefPoint } from './thermal/relief-laws.js';
export {
  calibrateReliefLaw,
  creepRelaxation,
  equivalentMinutes,
  fitReliefLaw,
  reliefParameter,
  sameReliefMinutes,
  shareLeft,
} from './thermal/relief-laws.js';
export type {
  ReliefCycle,
  RemainingStress,
  UnknownStress,
} from './thermal/remaining-stress.js';
export { remainingAfter, remainingCurl, remainingStress } from './thermal/remaining-stress.js';
export type { Cooling } from './thermal/schedule-text.js';
export { coolsBetween, readCooling } from './thermal/schedule-text.js';
export type { FurnaceGas, HeatSkin } from './thermal/surface-skin.js';
export { alphaCaseUm, heatSkin, recastRemovalUm } from './thermal/surface-skin.js';

// allowance

export type { AllowanceRow, AllowanceState } from './allowance/allowance-table.js';
export { allowanceTable } from './allowance/allowance-table.js';
export type {
  CleanUpInput,
  CleanUpOptions,
  CleanUpTerm,
  ProbableStock,
} from './allowance/clean-up.js';
export { cleanUpProbability, stockForProbability } from './allowance/clean-up.js';
export type { CoatedLimits, CoatingGrowth } from './allowance/coating.js';
export { limitsBeforeCoating, pitchDiameterShift } from './allowance/coating.js';
export type { PitchDiameterLimits } from './allowance/thread-coating.js';
export { pitchDiameterLimits, threadBeforeCoating } from './allowance/thread-coating.js';

// cost

export type { BatchPart } from './cost/batch-share.js';
export { batchShares } from './cost/batch-share.js';
export type { BuildFailure } from './cost/build-failure.js';
export { buildFailure } from './cost/build-failure.js';
export type { GoodPart, ScrapStep } from './cost/good-part.js';
export { goodPartCost } from './cost/good-part.js';
export type { CostInput, CostReckoning } from './cost/inputs.js';
export { learningFactor } from './cost/learning.js';
export type { MachineCost } from './cost/machine-rate.js';
export { machineRate } from './cost/machine-rate.js';
export { formatMoney } from './cost/money.js';
export type { PrintedKilogram } from './cost/print-cost.js';
export { printedKilogram } from './cost/print-cost.js';
export type { WireStretch } from './cost/wire-cut.js';
export { wireCutMinutes } from './cost/wire-cut.js';

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

// schedule

export type { WorkingCalendar } from './schedule/calendar.js';
export { addWorkingDays, latestStart, workingDaysBetween } from './schedule/calendar.js';
export type { CriticalSpan, LotFlow, ScheduledWork, SpanKind } from './schedule/lot-flow.js';
export { lotFlow } from './schedule/lot-flow.js';
export type { Express, ScheduleBasis, Shortening } from './schedule/shortenings.js';
export { shortenings } from './schedule/shortenings.js';

// inspection

export type { DefectClass, DefectTest, DefectTestDemand } from './inspection/defect-tests.js';
export { defectTests } from './inspection/defect-tests.js';
export type { LotSample, SamplePlan, ZeroAcceptanceDemand } from './inspection/sample-plans.js';
export {
  acceptanceProbability,
  badPartsFound,
  zeroAcceptancePlan,
} from './inspection/sample-plans.js';
export type {
  InspectionLevel,
  NormalSamplePlan,
  QualityLimit,
} from './inspection/sample-plans-iso-2859.js';
export { normalSamplePlan, qualityLimits } from './inspection/sample-plans-iso-2859.js';

// sheets

export type { StepShares } from './cost/yield.js';
export { afterRework, enoughGood, partsToStart } from './cost/yield.js';
// plan
export type { BreakEven, BreakEvenOptions, BreakEvens } from './plan/break-even.js';
export { breakEvens } from './plan/break-even.js';
export { comparePlans } from './plan/compare.js';
export type { PlanInputs } from './plan/compare-causes.js';
export type {
  ComparedOperation,
  ComparedSide,
  ComparisonCause,
  PlanComparison,
} from './plan/compare-types.js';
export type { ExplainedCost } from './plan/explain-cost.js';
export { explainCost } from './plan/explain-cost.js';
export type { Frontier, FrontierPoint } from './plan/frontier.js';
export { frontier } from './plan/frontier.js';
export type { AnswerEffect, MissingAnswer, MissingAnswers } from './plan/missing-answers.js';
export { missingAnswers } from './plan/missing-answers.js';
export type {
  OperationYield,
  PartsToStart,
  PartsToStartOptions,
} from './plan/parts-to-start.js';
export { planStart } from './plan/parts-to-start.js';
export type { PlanOptions } from './plan/plan-job.js';
export { planJob, routeModel } from './plan/plan-job.js';
export type { Relaxation, RelaxReport } from './plan/relax.js';
export { relaxJob } from './plan/relax.js';
export { screenJob, screenLimit } from './plan/screen.js';
export type {
  PrintScreen,
  ScreenCheck,
  ScreenCheckId,
  ScreenLimit,
  ScreenSubject,
  ScreenVerdict,
  ToleranceReality,
} from './plan/screen-types.js';
export type {
  Caution,
  Conflict,
  CostLine,
  CostPlan,
  CurlMm,
  CutOffPlan,
  InspectionItem,
  Operation,
  OperationStep,
  Plan,
  PlanHeader,
  PlannedChart,
  PlannedFeature,
  PlannedShortening,
  Proof,
  QuantityBreak,
  Question,
  Reason,
  Requirement,
  RequirementStack,
  SchedulePlan,
  ScheduleStep,
  StockFace,
  StockPlan,
  ThermalCycle,
  ThermalPlan,
  WorkingDimension,
} from './plan/types.js';
export { chartSheet } from './sheets/chart-sheet.js';
export type { HeatRequestOptions } from './sheets/heat-request.js';
export { heatRequest } from './sheets/heat-request.js';
export type { ItemSample } from './sheets/inspection-sample.js';
export { itemSample } from './sheets/inspection-sample.js';
export { inspectionSheet } from './sheets/inspection-sheet.js';
export { planStacksSheet } from './sheets/plan-stacks.js';
export { leftOut, quoteSheet } from './sheets/quote.js';
export { stackProbabilities } from './sheets/stack-distribution.js';
export { stackSheet } from './sheets/stack-sheet.js';
export { stockMapSheet } from './sheets/stock-map.js';
export type { TravellerOptions } from './sheets/traveller.js';
export { travellerSheet } from './sheets/traveller.js';
export type {
  Axis,
  Bar,
  BarsBlock,
  Block,
  BoxBlock,
  Column,
  CurveBlock,
  DrawingBlock,
  DrawingMark,
  Field,
  FieldsBlock,
  HeadingBlock,
  ListBlock,
  OperationBlock,
  PageFormat,
  ParagraphBlock,
  PointMm,
  RouteStop,
  RouteStripBlock,
  Sheet,
  SheetOptions,
  SignOffBlock,
  TableBlock,
} from './sheets/types.js';
