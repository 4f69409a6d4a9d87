import type { Catalog } from '../catalog/catalog.js';
import { perPart } from '../cost/money.js';
import type { Job } from '../job/types.js';
import { chainLibrary } from '../route/planning.js';
import { type ChangedRequirement, neighbours } from './looser.js';
import type { PlanOptions } from './plan-job.js';
import { type SolvedJob, solveJob } from './solve-job.js';
import { tidy } from './tidy.js';

/** What changing one or more requirements would do, each job planned anew. */
export interface Relaxation {
  readonly changes: readonly {
    readonly feature: string;
    readonly requirement: string;
    readonly from: string;
    readonly to: string;
  }[];
  /** Minor currency units; negative when it costs more. */
  readonly savesPerPart: number;
  readonly savesPerLot: number;
  readonly savesDays: number;
  /** Operations that fall away or come in. */
  readonly routeChanges: readonly string[];
  /** In words that can go into a mail to the customer. */
  readonly question: string;
}

/** The list for the talk with the customer, schema `relax/1`. */
export interface RelaxReport {
  readonly schema: 'relax/1';
  readonly currency: string;
  readonly minorDigits: number;
  readonly base: { readonly perPart: number; readonly perLot: number; readonly days: number };
  /** Single requirements one or two classes looser, most saving first. */
  readonly single: readonly Relaxation[];
  /** Requirements that save more together than one by one. */
  readonly together: readonly Relaxation[];
  /** Requirements that could be one class tighter for nothing. */
  readonly freeToTighten: readonly Relaxation[];
  /** What one class tighter would cost, dearest last. */
  readonly tighter: readonly Relaxation[];
}

/** Most requirements that are loosened together. */
const togetherLimit = 4;

/**
 * Re-plans the job with each requirement in the next looser practical classes, exactly, and reports
 * what that saves; then with all requirements loosened that hold one set-up or part-wide finish in the
 * route; then one class tighter. Money in minor units, days in working days. Throws RangeError when
 * the job itself cannot be planned.
 */
export function relaxJob(job: Job, catalog: Catalog, options: PlanOptions = {}): RelaxReport {
  const quantity = options.quantity ?? job.order.quantity;
  const library = chainLibrary(quantity);
  const base = solveJob(job, catalog, quantity, options, library);
  const { plan, solution } = base.chosen;
  if (plan === undefined || solution.partPlan === undefined)
    throw new RangeError('the job cannot be planned as it stands: see the conflicts of its plan');
  const start = { partPlan: solution.partPlan, chains: solution.chains };
  const digits =
    catalog.currencies.find((row) => row.code === job.order.currency)?.minorDigits ?? 2;
  const words = { currency: job.order.currency, digits };
  const attempt = (changes: readonly ChangedRequirement[]): Relaxation | undefined => {
    const changed: Job = {
      ...job,
      features: job.features.map(
        (feature) => changes.find((change) => change.feature.id === feature.id)?.feature ?? feature,
      ),
    };
    const solved = solveJob(changed, catalog, quantity, { ...options, start }, library);
    return solved.chosen.plan === undefined ? undefined : compare(base, solved, changes, words);
  };
  const looser = job.features.flatMap((feature) =>
    neighbours(feature, 'looser', 2, job.generalTolerance),
  );
  const single = looser
    .map((change) => attempt([change]))
    .filter((entry) => entry !== undefined)
    .filter((entry) => entry.savesPerLot > 0 || entry.savesDays > 1e-6)
    .sort(bySaving);
  const together = groups(base, job)
    .map((changes) => attempt(changes))
    .filter((entry) => entry !== undefined)
    .filter((entry) => entry.savesPerLot > sumOfParts(entry, single))
    .sort(bySaving);
  const tighter = job.features
    .flatMap((feature) => neighbours(feature, 'tighter', 1))
    .map((change) => attempt([change]))
    .filter((entry) => entry !== undefined);
  return tidy({
    schema: 'relax/1' as const,
    currency: job.order.currency,
    minorDigits: digits,
    base: { perPart: perPart(base.totals.lot, quantity), perLot: base.totals.lot, days: base.days },
    single,
    together,
    freeToTighten: tighter.filter((entry) => entry.savesPerLot >= 0),
    tighter: tighter.filter((entry) => entry.savesPerLot < 0).sort(bySaving),
  });
}

function bySaving(a: Relaxation, b: Relaxation): number {
  return (
    b.savesPerLot - a.savesPerLot ||
    b.savesDays - a.savesDays ||
    (a.question < b.question ? -1 : a.question > b.question ? 1 : 0)
  );
}

/** What the same requirements save one by one, in the same classes. */
function sumOfParts(entry: Relaxation, single: readonly Relaxation[]): number {
  return entry.changes.reduce((sum, change) => {
    const alone = single.find(
      (other) =>
        other.changes[0]?.requirement === change.requirement && other.changes[0].to === change.to,
    );
    return sum + Math.max(0, alone?.savesPerLot ?? 0);
  }, 0);
}

/** Requirements of the few features that keep a set-up in the route, each one class looser. */
function groups(base: SolvedJob, job: Job): readonly (readonly ChangedRequirement[])[] {
  const bySetUp = new Map<string, Set<string>>();
  for (const chain of base.chosen.chains)
    for (const id of chain.setUps)
      bySetUp.set(id, (bySetUp.get(id) ?? new Set()).add(chain.feature.id));
  const seen = new Set<string>();
  const list: (readonly ChangedRequirement[])[] = [];
  for (const [, features] of [...bySetUp].sort(([a], [b]) => (a < b ? -1 : 1))) {
    if (features.size < 2 || features.size > togetherLimit) continue;
    const key = [...features].sort().join('|');
    if (seen.has(key)) continue;
    seen.add(key);
    const changes = [...features].sort().flatMap((id) => {
      const feature = job.features.find((entry) => entry.id === id);
      return feature === undefined
        ? []
        : neighbours(feature, 'looser', 2, job.generalTolerance).slice(-1);
    });
    if (changes.length > 1) list.push(changes);
  }
  return list;
}

function compare(
  base: SolvedJob,
  solved: SolvedJob,
  changes: readonly ChangedRequirement[],
  words: { readonly currency: string; readonly digits: number },
): Relaxation {
  const quantity = base.context.quantity;
  const savesPerLot = base.totals.lot - solved.totals.lot;
  const savesDays = base.days - solved.days;
  const before = marks(base);
  const after = marks(solved);
  return {
    changes: changes.map(({ feature, requirement, from, to }) => ({
      feature: feature.id,
      requirement,
      from,
      to,
    })),
    savesPerPart: perPart(savesPerLot, quantity),
    savesPerLot,
    savesDays,
    routeChanges: [
      ...[...before].filter((mark) => !after.has(mark)).map((mark) => `out: ${mark}`),
      ...[...after].filter((mark) => !before.has(mark)).map((mark) => `in: ${mark}`),
    ].sort(),
    question: questionFor(changes, savesPerLot / quantity, savesDays, words),
  };
}

function marks(solved: SolvedJob): ReadonlySet<string> {
  return new Set(
    solved.chosen.works.map((work) =>
      work.kind === 'part'
        ? `${work.work.title} (${work.work.centre.name})`
        : `${work.setUp.centre.name}, ${work.setUp.holding}`,
    ),
  );
}

function questionFor(
  changes: readonly ChangedRequirement[],
  savesPerPart: number,
  savesDays: number,
  { currency, digits }: { readonly currency: string; readonly digits: number },
): string {
  const asked = changes
    .map(
      ({ feature, from, to }) =>
        `${feature.name ?? feature.id} (${feature.id}) from ${from} to ${to}`,
    )
    .join(', and ');
  const money = (savesPerPart / 10 ** digits).toFixed(digits);
  const days = savesDays > 0.05 ? ` and ${savesDays.toFixed(1)} working days` : '';
  return `May we change ${asked}? It would take ${money} ${currency} off each part${days}.`;
}
