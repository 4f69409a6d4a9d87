import { type CuttingStep, type SurfaceState, stepStockMm } from '../allowance/chain-stock.js';
import { addRun, noRun, type RunSum } from '../cost/charges.js';
import { stepMinutes, type WorkAmount } from '../cost/process-time.js';
import type { Process } from '../job/planning-context.js';
import type { FeatureRequirement } from '../job/requirements.js';
import { surfaceLayer } from './as-built-state.js';
import type { ChainSubject, Growth } from './chain.js';
import { type SequenceProfile, usualToleranceMm } from './chain-demand.js';
import { sizeShift } from './finishes.js';
import { type Locating, probabilityInZone } from './location.js';
import { opensSolid } from './process-sequences.js';
import type { SetUp, Stage } from './set-ups.js';

/** A sequence with every way of carrying it out that its stock allows. */
export interface PlacedSequence {
  readonly profile: SequenceProfile;
  /** Places in the list of the sequences that this one only carries on, without a new place. */
  readonly carriesOn: readonly number[];
  readonly ways: readonly Placement[];
}

/** Set-ups of the steps of a sequence; how fine each step must be is not known yet. */
export interface Placement {
  /** Change of size in heat that still follows the step that makes the size. */
  readonly growth: Growth | undefined;
  readonly steps: readonly PlacedStep[];
  readonly route: string;
  readonly setUps: readonly string[];
  readonly locating: Locating;
  /** A located requirement that this place cannot meet even with its datum in the same set-up. */
  readonly misplaced: FeatureRequirement | undefined;
}

/** A step that has its set-up and work. */
export interface PlacedStep {
  readonly setUp: SetUp;
  readonly work: PlacedWork;
}

/** What a step has to do, whichever way the part is held. */
export interface PlacedWork {
  readonly before: SurfaceState;
  readonly cut: CuttingStep;
  readonly amount: WorkAmount;
  /** Time multiple of metal that an age has hardened. */
  readonly slowdown: number;
  /** Run time at the economical grade and roughness, for the lot. */
  readonly usual: RunSum;
}

/** The stage in which a process takes place. */
type Staging = (process: Process) => Stage;

/** The first steps of a sequence, placed. */
interface Begun {
  readonly steps: readonly PlacedStep[];
  readonly after: SurfaceState;
}

/** All placements of some sequences that start from one printed state. */
export function placements(
  shared: ChainSubject,
  profiles: readonly SequenceProfile[],
): readonly PlacedSequence[] {
  const located = locatedOnce(shared);
  const begin = beginnings(shared);
  const placeOf = new Map<string, number>();
  return profiles.map((profile, place): PlacedSequence => {
    const { sequence, locatingIndex } = profile;
    placeOf.set(keyOf(sequence, sequence.length), place);
    const ways = stagingsOf(shared, sequence).flatMap((staging) => {
      const stages = sequence.map(staging);
      const growth = growthAfter(shared, profile, stages);
      return begin(sequence, sequence.length, staging).map(
        ({ steps }): Placement => ({
          growth,
          steps,
          route: steps.map(({ setUp }, index) => `${sequence[index]?.id}@${setUp.id}`).join('>'),
          setUps: [...new Set(steps.map(({ setUp }) => setUp.id))].sort(),
          ...located(sequence[locatingIndex], steps[locatingIndex]?.setUp),
        }),
      );
    });
    const carriesOn: number[] = [];
    const placed = shared.indifferent ? 0 : locatingIndex;
    for (let length = sequence.length - 1; length > placed; length--) {
      const shorter = placeOf.get(keyOf(sequence, length));
      if (shorter !== undefined) carriesOn.push(shorter);
    }
    return { profile, carriesOn, ways };
  });
}

function keyOf(sequence: readonly Process[], length: number): string {
  let key = '';
  for (let index = 0; index < length; index++) key += `>${sequence[index]?.id}`;
  return key;
}

const hard: Staging = () => 'hard';
const datum: Staging = () => 'datum';
const soft: Staging = () => 'soft';
const roughSoft: Staging = (process) => (process.needs.rank === 1 ? 'soft' : 'hard');

function stagingsOf(
  { chainContext, isDatum }: ChainSubject,
  sequence: readonly Process[],
): readonly Staging[] {
  if (sequence.length === 0) return [hard];
  const early = isDatum ? [hard, datum] : [hard];
  if (!chainContext.aged) return early;
  const rough = sequence.filter((process) => process.needs.rank === 1).length;
  return [...early, soft, ...(rough > 0 && rough < sequence.length ? [roughSoft] : [])];
}

/** Change of size in heat that still follows the step that makes the size. */
function growthAfter(
  { chainContext }: ChainSubject,
  { lastSize }: SequenceProfile,
  stages: readonly Stage[],
): Growth | undefined {
  if (lastSize < 0) return chainContext.growth;
  return stages[lastSize] === 'soft' ? chainContext.ageGrowth : undefined;
}

/** How a step locates the feature, and whether that is good enough; found once for each. */
function locatedOnce({
  start,
  geometry,
  requirements,
  context,
}: ChainSubject): (
  process: Process | undefined,
  setUp: SetUp | undefined,
) => Pick<Placement, 'locating' | 'misplaced'> {
  const known = new Map<string, Pick<Placement, 'locating' | 'misplaced'>>();
  const least = context.job.policy.minimumProbability - 1e-9;
  return (process, setUp) => {
    const key = `${process?.id}@${setUp?.id}`;
    const before = known.get(key);
    if (before !== undefined) return before;
    const locating: Locating = {
      start,
      extentMm: geometry.extentMm,
      ...(setUp === undefined ? {} : { setUp }),
      ...(process === undefined ? {} : { process }),
    };
    const misplaced = requirements.find(
      (entry) =>
        entry.kind === 'geometric' &&
        entry.tolerance.datums.length > 0 &&
        probabilityInZone(entry.tolerance, locating, locating) < least,
    );
    const result = { locating, misplaced };
    known.set(key, result);
    return result;
  };
}

/** Places the first steps of sequences; what sequences have in common is placed once. */
function beginnings(
  shared: ChainSubject,
): (sequence: readonly Process[], length: number, staging: Staging) => readonly Begun[] {
  const known = new Map<Staging, Map<string, readonly Begun[]>>();
  const layers = new Map<string, { rzMm: number; layerMm: number }>();
  const layerOf = (id: string): { rzMm: number; layerMm: number } => {
    const layer = layers.get(id) ?? surfaceLayer(shared.context, id);
    layers.set(id, layer);
    return layer;
  };
  const begin = (
    sequence: readonly Process[],
    length: number,
    staging: Staging,
  ): readonly Begun[] => {
    const last = sequence[length - 1];
    if (last === undefined) return [{ steps: [], after: shared.start.surface }];
    const ofStaging = known.get(staging) ?? new Map<string, readonly Begun[]>();
    known.set(staging, ofStaging);
    const key = keyOf(sequence, length);
    const before = ofStaging.get(key);
    if (before !== undefined) return before;
    const begun = begin(sequence, length - 1, staging).flatMap((start) =>
      nextStep(shared, start, last, staging(last), layerOf(last.id)),
    );
    ofStaging.set(key, begun);
    return begun;
  };
  return begin;
}

/** The next step in each set-up that it can take place in; it stays in the set-up before when it can. */
function nextStep(
  shared: ChainSubject,
  { steps, after: before }: Begun,
  process: Process,
  stage: Stage,
  layer: { readonly rzMm: number; readonly layerMm: number },
): readonly Begun[] {
  const options = shared.setUpOptions(process, stage);
  const last = steps[steps.length - 1]?.setUp;
  const stay = options.find((option) => option.id === last?.id);
  // Coming back to a set-up that was left would be a second visit.
  const open =
    stay === undefined
      ? options.filter((option) => !steps.some((step) => step.setUp.id === option.id))
      : [stay];
  const copying = shared.copying[process.needs.rank === 1 ? 'rough' : 'finish'];
  const after: SurfaceState = {
    rzMm: layer.rzMm,
    layerMm: layer.layerMm,
    formMm: shared.start.surface.formMm * copying,
    toleranceMm: usualToleranceMm(process, shared.nominal),
  };
  const atCentre = new Map<SetUp['centre'], PlacedWork | undefined>();
  const begun: Begun[] = [];
  for (const setUp of open) {
    // Which way the part is held does not matter to stock and time.
    const { centre } = setUp;
    if (!atCentre.has(centre))
      atCentre.set(centre, placedWork(shared, steps.length, before, after, process, setUp, last));
    const work = atCentre.get(centre);
    if (work !== undefined) begun.push({ steps: [...steps, { setUp, work }], after });
  }
  return begun;
}

/** Stock and time of one step in a set-up; undefined when it would have to take too much. */
function placedWork(
  shared: ChainSubject,
  index: number,
  before: SurfaceState,
  after: SurfaceState,
  process: Process,
  setUp: SetUp,
  last: SetUp | undefined,
): PlacedWork | undefined {
  const { context, feature, geometry, chainContext } = shared;
  const { row, needs } = process;
  const opened = shared.solid && index === 0 && opensSolid(process, feature);
  const probable =
    index === 0 && !opened && needs.allowanceRule === 'full' ? shared.probableStock : undefined;
  const cut: CuttingStep = {
    process: process.id,
    settingMm: settingMm(setUp, last),
    rule: needs.allowanceRule,
    shiftMm: sizeShift(process).meanMm,
    stockMinMm: row.stockMinMm ?? 0,
    stockMaxMm: row.stockMaxMm ?? Number.POSITIVE_INFINITY,
    ...(probable === undefined ? {} : { probableMm: probable(setUp, after.toleranceMm) }),
    after,
  };
  const stockMm = stepStockMm(before, cut, geometry.twoSided);
  if (stockMm === undefined) return undefined;
  const slowdown = chainContext.aged && setUp.stage !== 'soft' ? chainContext.slowdown : 1;
  const amount = {
    areaMm2: geometry.areaMm2,
    stockMm,
    solidVolumeMm3: opened ? geometry.holeVolumeMm3 : 0,
    count: feature.count,
    freeform: feature.kind === 'freeform',
  };
  const minutes = stepMinutes(process, context, amount, slowdown);
  return {
    before,
    cut,
    amount,
    slowdown,
    usual: addRun(noRun, setUp.centre, minutes, context),
  };
}

/** Setting error: three standard deviations of the clamping of a new set-up, none in the same one. */
function settingMm(here: SetUp, before: SetUp | undefined): number {
  if (before === undefined) return (3 * here.centre.roughRelocationUm) / 1000;
  if (here.id === before.id) return 0;
  return (3 * Math.hypot(here.centre.positionUm, here.centre.relocationUm)) / 1000;
}
