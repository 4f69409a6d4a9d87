// Entry '@offplate/core/limits': sizes and tolerances as on a drawing, without the planner.

export { fitLimits, fundamentalDeviationUm } from './limits/fits.js';
export { formatSize } from './limits/format-size.js';
export type {
  GeneralCharacteristic,
  GeneralClass,
  GeneralToleranceValue,
} from './limits/general-tolerance.js';
export { generalTolerance2768 } from './limits/general-tolerance.js';
export { geometricSymbols } from './limits/geometric-names.js';
export type {
  DatumReference,
  GeometricKind,
  GeometricTolerance,
} from './limits/geometric-types.js';
export type { ToleranceGrade } from './limits/grades.js';
export { equivalentGrade, toleranceGradeUm, toleranceOfGradeUm } from './limits/grades.js';
export { parseGeneralTolerance } from './limits/parse-general.js';
export type { GeometricOptions } from './limits/parse-geometric.js';
export { datumLetters, parseGeometricTolerance } from './limits/parse-geometric.js';
export type { RoughnessOptions } from './limits/parse-roughness.js';
export { parseRoughness } from './limits/parse-roughness.js';
export type { SizeOptions } from './limits/parse-size.js';
export { parseSize } from './limits/parse-size.js';
export {
  preferredRaUm,
  preferredRaWithinUm,
  roughnessGradeRaUm,
} from './limits/roughness-grades.js';
export type {
  Deviations,
  DrawingSize,
  GeneralTolerance,
  RoughnessLimits,
  SizeLimits,
  Thread,
} from './limits/types.js';
export type { Place, Problem, ProblemCode } from './problems/problem.js';
export { formatProblem, InputError, problemCodes } from './problems/problem.js';
export type { Fault, Reading } from './quantity/reading.js';
