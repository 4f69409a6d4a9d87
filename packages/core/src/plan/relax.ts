import type { Catalog } from '../catalog/catalog.js';
import { perPart } from '../cost/money.js';
import type { Feature, Job } from '../job/types.js';
import { type ChangedRequirement, neighbours, withChange } from './looser.js';
import type { PlanOptions } from './plan-job.js';
import { togetherCandidates, togetherLimit } from './relax-groups.js';
import { tidy } from './tidy.js';
import { moneyWords, type Saving, type VariantBase, variantBase } from './variant.js';

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
  /** Two to four requirements that save more together than one by one, and none of them to spare. */
  readonly together: readonly Relaxation[];
  /** Requirements that could be one class tighter for nothing. */
  readonly freeToTighten: readonly Relaxation[];
  /** What one class tighter would cost, dearest last. */
  readonly tighter: readonly Relaxation[];
  /** One class tighter and the part cannot be made as drawn. */
  readonly atTheLimit: readonly {
    readonly feature: string;
    readonly requirement: string;
    readonly from: string;
    readonly to: string;
  }[];
}

/**
 * Plans the job again with each requirement in the next looser practical classes, exactly, and reports
 * what that saves; then with requirements loosened together that share a feature or an operation; then
 * one class tighter. A looser requirement never costs more by the job's objective, because the old
 * route still meets it. Money in minor units, days in working days. Throws RangeError when the job
 * itself cannot be planned.
 */
export function relaxJob(job: Job, catalog: Catalog, options: PlanOptions = {}): RelaxReport {
  const variants = variantBase(job, catalog, options);
  const { base } = variants;
  const known = new Map<string, Saving | undefined>();
  const savingOf = (changes: readonly ChangedRequirement[]): Saving | undefined => {
    const key = changes
      .map(({ requirement, to }) => `${requirement} ${to}`)
      .sort()
      .join('|');
    if (known.has(key)) return known.get(key);
    const solved = variants.withFeatures(changedFeatures(job, changes));
    const saving = solved === undefined ? undefined : variants.savingOf(solved);
    known.set(key, saving);
    return saving;
  };
  const attempt = (changes: readonly ChangedRequirement[]): readonly Relaxation[] => {
    const saving = savingOf(changes);
    return saving === undefined ? [] : [relaxation(changes, saving, variants)];
  };
  const single = job.features
    .flatMap((feature) => byRequirement(neighbours(feature, 'looser', 2, job.generalTolerance)))
    .flatMap((classes) => {
      const [loosest, ...nearer] = [...classes].reverse();
      const most = loosest === undefined ? [] : attempt([loosest]).filter(saves);
      // What the loosest class does not save, a nearer one does not either.
      return most.length === 0 ? [] : [...most, ...nearer.flatMap((change) => attempt([change]))];
    })
    .filter(saves)
    .sort(bySaving);
  const aloneSaving = (change: ChangedRequirement): number =>
    Math.max(0, savingOf([change])?.savesPerLot ?? 0);
  const more = (changes: readonly ChangedRequirement[]): boolean =>
    (savingOf(changes)?.savesPerLot ?? 0) >
    changes.reduce((sum, change) => sum + aloneSaving(change), 0);
  const together = new Map<string, Relaxation>();
  for (const candidate of togetherCandidates(base, job)) {
    const changes = more(candidate) ? needed(candidate, savingOf) : candidate;
    if (changes.length < 2 || changes.length > togetherLimit || !more(changes)) continue;
    for (const entry of attempt(changes)) together.set(entry.question, entry);
  }
  const narrower = job.features.flatMap((feature) => neighbours(feature, 'tighter', 1));
  const tighter = narrower.flatMap((change) => attempt([change]));
  return tidy({
    schema: 'relax/1' as const,
    currency: variants.currency,
    minorDigits: variants.minorDigits,
    base: {
      perPart: perPart(base.totals.lot, base.context.quantity),
      perLot: base.totals.lot,
      days: base.days,
    },
    single,
    together: [...together.values()].sort(bySaving),
    freeToTighten: tighter.filter((entry) => entry.savesPerLot >= 0),
    tighter: tighter.filter((entry) => entry.savesPerLot < 0).sort(bySaving),
    atTheLimit: narrower
      .filter((change) => savingOf([change]) === undefined)
      .map(({ feature, requirement, from, to }) => ({
        feature: feature.id,
        requirement,
        from,
        to,
      })),
  });
}

/** Changes of one requirement together, the nearest class first. */
function byRequirement(
  changes: readonly ChangedRequirement[],
): readonly (readonly ChangedRequirement[])[] {
  const groups = new Map<string, ChangedRequirement[]>();
  for (const change of changes) {
    const group = groups.get(change.requirement);
    if (group === undefined) groups.set(change.requirement, [change]);
    else group.push(change);
  }
  return [...groups.values()];
}

function changedFeatures(job: Job, changes: readonly ChangedRequirement[]): readonly Feature[] {
  return job.features.map((feature) =>
    changes
      .filter((change) => change.feature.id === feature.id)
      .reduce((changed, change) => withChange(changed, change), feature),
  );
}

/** The changes without those that can be spared: leaving one out saves as much, one after the other. */
function needed(
  changes: readonly ChangedRequirement[],
  savingOf: (changes: readonly ChangedRequirement[]) => Saving | undefined,
): readonly ChangedRequirement[] {
  let kept = changes;
  const whole = savingOf(changes)?.savesPerLot ?? 0;
  for (const change of changes) {
    const fewer = kept.filter((entry) => entry !== change);
    if (fewer.length > 0 && (savingOf(fewer)?.savesPerLot ?? 0) >= whole) kept = fewer;
  }
  return kept;
}

function saves({ savesPerLot, savesDays }: Relaxation): boolean {
  return savesPerLot > 0 || (savesPerLot === 0 && savesDays > 1e-6);
}

function bySaving(a: Relaxation, b: Relaxation): number {
  return (
    b.savesPerLot - a.savesPerLot ||
    b.savesDays - a.savesDays ||
    (a.question < b.question ? -1 : a.question > b.question ? 1 : 0)
  );
}

function relaxation(
  changes: readonly ChangedRequirement[],
  saving: Saving,
  variants: VariantBase,
): Relaxation {
  return {
    changes: changes.map(({ feature, requirement, from, to }) => ({
      feature: feature.id,
      requirement,
      from,
      to,
    })),
    ...saving,
    question: questionFor(changes, saving, variants),
  };
}

function questionFor(
  changes: readonly ChangedRequirement[],
  { savesPerPart, savesDays }: Saving,
  { currency, minorDigits }: VariantBase,
): string {
  const asked = [...new Set(changes.map(({ feature }) => feature.id))]
    .map((id) => {
      const own = changes.filter(({ feature }) => feature.id === id);
      const name = own[0]?.feature.name ?? id;
      return `${name} (${id}) ${listed(own.map(({ from, to }) => `from ${from} to ${to}`))}`;
    })
    .join(', together with ');
  const money = moneyWords(savesPerPart, currency, minorDigits);
  if (savesPerPart < 0)
    return `If ${asked} had to be changed, it would add ${money} to each part${daysWords(savesDays)}.`;
  return savesPerPart === 0 && Math.abs(savesDays) < 0.05
    ? `${asked} can be had at the same price.`
    : `May we change ${asked}? It would take ${money} off each part${daysWords(savesDays)}.`;
}

function listed(texts: readonly string[]): string {
  const last = texts.at(-1) ?? '';
  return texts.length < 2 ? last : `${texts.slice(0, -1).join(', ')} and ${last}`;
}

function daysWords(savesDays: number): string {
  if (Math.abs(savesDays) < 0.05) return '';
  const days = Math.abs(savesDays).toFixed(1);
  return savesDays > 0
    ? ` and make it ready ${days} working days sooner`
    : ` and take ${days} working days more`;
}
