import { featureGeometry } from '../job/feature-geometry.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Feature } from '../job/types.js';
import { asBuiltState } from './as-built-state.js';
import type { ChainSubject, Rival } from './chain.js';
import { type Locating, probabilityInZone, probabilityOf, wanderUm } from './location.js';

/**
 * Whether a chain that locates the feature as `a` does can take the place of one that locates it as
 * `b` in every pair: it is made in the same set-up by a tool that holds place and form as well; or no
 * tolerance hangs on a shared set-up, it is not made earlier against the age, and it is not worse
 * against a datum that stays as printed. Answers are kept: the same few places meet again and again.
 */
export function locatesAsWell(
  a: Locating,
  b: Locating,
  shared: Pick<ChainSubject, 'sensitiveDatum' | 'isDatum' | 'located' | 'context' | 'asWell'>,
): boolean {
  let known = shared.asWell.get(a);
  if (known === undefined) {
    known = new Map();
    shared.asWell.set(a, known);
  }
  let answer = known.get(b);
  if (answer === undefined) {
    answer = comparePlaces(a, b, shared);
    known.set(b, answer);
  }
  return answer;
}

function comparePlaces(
  a: Locating,
  b: Locating,
  shared: Pick<ChainSubject, 'sensitiveDatum' | 'isDatum' | 'located' | 'context'>,
): boolean {
  if (a.setUp?.id === b.setUp?.id && wanderUm(a) <= wanderUm(b) && formRate(a) <= formRate(b))
    return true;
  if (shared.sensitiveDatum || a.setUp === undefined || b.setUp === undefined) return false;
  if (a.setUp.stage !== b.setUp.stage) return false;
  const { minimumProbability } = shared.context.job.policy;
  const [mine, other] = [variancePrinted(a), variancePrinted(b)];
  if (mine > other && (shared.isDatum || couldFit(Math.sqrt(other) / 1000, shared))) return false;
  return shared.located.every(
    (tolerance) => probabilityInZone(tolerance, a, a, 're-located') >= minimumProbability - 1e-9,
  );
}

function formRate({ process }: Locating): number {
  return process?.needs.formUm100mm ?? Number.POSITIVE_INFINITY;
}

/** Variance of the place when the part is located on printed faces, um2. */
function variancePrinted(locating: Locating): number {
  const { positionUm = 0, roughRelocationUm = 0 } = locating.setUp?.centre ?? {};
  return positionUm ** 2 + roughRelocationUm ** 2 + wanderUm(locating) ** 2;
}

/**
 * Whether some tolerance could hold against a datum left as printed, were the print itself without
 * error: where none could, it does not matter who comes nearer.
 */
function couldFit(
  placeMm: number,
  { located, context }: Pick<ChainSubject, 'located' | 'context'>,
): boolean {
  const least = context.job.policy.minimumProbability - 1e-9;
  return located.some((tolerance) => probabilityOf(tolerance, { placeMm, formMm: 0 }) >= least);
}

/**
 * Leaves out a chain when another costs no more (and takes no longer, if both aims count), uses no
 * other set-ups and locates as well.
 */
export function undominated<T extends Rival>(chains: readonly T[], shared: ChainSubject): T[] {
  const sorted = [...chains].sort(
    (a, b) =>
      a.objective - b.objective ||
      (shared.context.bothAims === true ? a.leadMinutes - b.leadMinutes : 0) ||
      a.setUps.length - b.setUps.length ||
      (a.id < b.id ? -1 : a.id > b.id ? 1 : 0),
  );
  const kept: T[] = [];
  for (const chain of sorted)
    if (!kept.some((other) => replaces(other, chain, shared))) kept.push(chain);
  return kept;
}

export function replaces(
  a: Rival,
  b: Rival,
  shared: Pick<
    ChainSubject,
    'indifferent' | 'sensitiveDatum' | 'isDatum' | 'located' | 'context' | 'asWell'
  >,
): boolean {
  return (
    a.objective <= b.objective &&
    (shared.context.bothAims !== true || a.leadMinutes <= b.leadMinutes) &&
    a.setUps.length <= b.setUps.length &&
    a.setUps.every((id) => b.setUps.includes(id)) &&
    (shared.indifferent || locatesAsWell(a.locating, b.locating, shared))
  );
}

/** Some feature is located from this one. */
export function isDatumOfAny(feature: Feature, context: PlanningContext): boolean {
  return (
    feature.datum !== undefined &&
    context.job.features.some((other) => other.id !== feature.id && refersTo(other, feature.datum))
  );
}

function refersTo(feature: Feature, letter: string | undefined): boolean {
  return feature.geometric.some((tolerance) =>
    tolerance.datums.some((datum) => datum.letter === letter),
  );
}

/**
 * Some feature that refers to this datum could be made well enough in the same set-up, but not after
 * re-clamping, by some process at some work centre.
 */
export function isSensitiveDatum(feature: Feature, context: PlanningContext): boolean {
  if (feature.datum === undefined) return false;
  const least = context.job.policy.minimumProbability - 1e-9;
  const makers = [...context.processes.values()].filter(
    (process) => process.needs.correctsLocation,
  );
  return context.job.features.some((other) => {
    if (other.id === feature.id || !refersTo(other, feature.datum)) return false;
    const geometry = featureGeometry(other, context);
    const start = asBuiltState(other, geometry, context, 'cut-off-wire-edm', true);
    return makers.some((process) =>
      context.workCentres.some((centre) => {
        if (!centre.processes.includes(process.id)) return false;
        const locating: Locating = {
          start,
          process,
          extentMm: geometry.extentMm,
          setUp: { id: '', centre, stage: 'hard', directions: [], holding: '' },
        };
        return other.geometric.some(
          (tolerance) =>
            tolerance.datums.length > 0 &&
            probabilityInZone(tolerance, locating, locating, 'same set-up') >= least &&
            probabilityInZone(tolerance, locating, locating, 're-located') < least,
        );
      }),
    );
  });
}
