import type { MethodsRow } from '../catalog/generated/methods.js';
import type { Plan, PlannedFeature, WorkingDimension } from '../plan/types.js';

/** Made for the one size that the drawing asks for, so of no use at an earlier size. */
const oneSizeOnly: ReadonlySet<string> = new Set([
  'limit-gauge',
  'pneumatic-gauge',
  'comparator',
  'thread-gauge',
]);

/** Least ratio of a tolerance to the expanded uncertainty (gauge-maker's rule, from memory). */
const leastRatio = 4;

/**
 * Name of the tool for a working dimension: that of the final inspection where the limits are those of
 * the drawing, else the tool of the catalogue that is certain enough and takes the least time for the
 * lot. Undefined when there is none.
 */
export function measuringTool(
  plan: Plan,
  feature: PlannedFeature | undefined,
  dimension: WorkingDimension,
  methods: readonly MethodsRow[],
): string | undefined {
  if (feature === undefined) return undefined;
  const final = plan.inspection.find(
    (item) =>
      item.feature === dimension.feature &&
      item.unit === dimension.unit &&
      sameLimit(item.upper, dimension.upper) &&
      (dimension.unit === 'um' || sameLimit(item.lower, dimension.lower)),
  );
  return shortName(final?.methodName ?? quickest(plan, feature, dimension, methods)?.name);
}

/** Without the particulars after a comma: `Coordinate measuring machine` says which one to walk to. */
function shortName(name: string | undefined): string | undefined {
  const [start = ''] = name?.split(',') ?? [];
  return start.includes(' ') ? start : name;
}

function sameLimit(drawing: number | undefined, working: number): boolean {
  return drawing !== undefined && Math.abs(drawing - working) < 1e-6;
}

function quickest(
  plan: Plan,
  feature: PlannedFeature,
  dimension: WorkingDimension,
  methods: readonly MethodsRow[],
): MethodsRow | undefined {
  const roughness = dimension.unit === 'um';
  const kind = feature.kind === 'thread' && !roughness ? 'bore' : feature.kind;
  const { upper, lower } = dimension;
  const minutes = (method: MethodsRow): number =>
    method.setupMin + method.minutesEach * feature.count * plan.job.quantity;
  return methods
    .filter(
      (method) =>
        method.measures.includes(roughness ? 'roughness' : 'size') &&
        method.kinds.some((each) => each === kind) &&
        !method.destructive &&
        !oneSizeOnly.has(method.id) &&
        (method.sizeMaxMm === undefined || roughness || upper <= method.sizeMaxMm) &&
        (roughness || leastRatio * uncertaintyUm(method, upper) <= 1000 * (upper - lower)),
    )
    .sort((a, b) => minutes(a) - minutes(b) || (a.id < b.id ? -1 : 1))[0];
}

function uncertaintyUm(method: MethodsRow, lengthMm: number): number {
  return method.uncertaintyUm + (method.uncertaintyUmM * lengthMm) / 1000;
}
