import {
  assumptionCauses,
  jobCauses,
  type PlanInputs,
  requirementCauses,
  tableCauses,
  unmet,
} from './compare-causes.js';
import type {
  ComparedOperation,
  ComparedSide,
  ComparisonCause,
  PlanComparison,
} from './compare-types.js';
import { tidy } from './tidy.js';
import type { CostLine, Operation, Plan } from './types.js';

/**
 * Puts two plans side by side: money, days and ready date, operations in and out, and for each
 * difference what asks for it. Side b is read as a change of side a. Money in minor units, days in
 * working days. With the jobs and catalogues that the plans were made from, the fields of the job and
 * the table cells that differ are among the causes; without them only what the plans themselves say.
 */
export function comparePlans(
  a: Plan,
  b: Plan,
  inputs?: { readonly a: PlanInputs; readonly b: PlanInputs },
): PlanComparison {
  const tables =
    inputs === undefined
      ? { causes: [], unusedRows: 0 }
      : tableCauses(inputs.a.catalog, inputs.b.catalog, [a, b]);
  const fromJobs = inputs === undefined ? [] : jobCauses(inputs.a.job, inputs.b.job);
  const assumed = assumptionCauses(a, b).filter(
    ({ kind }) => kind !== 'policy' || inputs === undefined,
  );
  const causes: readonly ComparisonCause[] = [
    ...requirementCauses(a, b),
    ...fromJobs,
    ...assumed,
    ...tables.causes,
  ];
  const sides = { a: sideOf(a), b: sideOf(b) };
  const comparable = sides.a.planned && sides.b.planned && a.cost.currency === b.cost.currency;
  return tidy({
    schema: 'comparison/1' as const,
    ...sides,
    ...(comparable
      ? {
          difference: {
            perPart: b.cost.perPart - a.cost.perPart,
            perLot: b.cost.perLot - a.cost.perLot,
            days: b.schedule.days - a.schedule.days,
          },
        }
      : {}),
    causes,
    unusedRows: tables.unusedRows,
    operations: comparedOperations(a, b, causes),
    money: moneyByKind(a, b),
  });
}

function sideOf(plan: Plan): ComparedSide {
  const { job, cost, schedule } = plan;
  return {
    part: job.part,
    number: job.number,
    revision: job.revision,
    quantity: job.quantity,
    feasible: plan.feasible,
    planned: plan.operations.length > 0,
    proven: plan.proof.optimal,
    currency: cost.currency,
    minorDigits: cost.minorDigits,
    perPart: cost.perPart,
    perLot: cost.perLot,
    days: schedule.days,
    ...(schedule.readyOn === undefined ? {} : { readyOn: schedule.readyOn }),
    lateDays: schedule.lateDays,
  };
}

function moneyByKind(a: Plan, b: Plan): PlanComparison['money'] {
  const sum = (plan: Plan, kind: string): number =>
    plan.cost.lines
      .filter((line) => line.kind === kind)
      .reduce((total, line) => total + line.amount, 0);
  const kinds = new Set([...a.cost.lines, ...b.cost.lines].map((line) => line.kind));
  return [...kinds].map((kind) => {
    const [before, after] = [sum(a, kind), sum(b, kind)];
    return { kind, a: before, b: after, difference: after - before };
  });
}

interface Pair {
  readonly a?: Operation;
  readonly b?: Operation;
}

/** In the order of side b, what falls away where it stood. */
function comparedOperations(
  a: Plan,
  b: Plan,
  causes: readonly ComparisonCause[],
): readonly ComparedOperation[] {
  return paired(a.operations, b.operations).map((pair) => comparedOperation(pair, a, b, causes));
}

/**
 * Pairs operations of the same set-up or of the same process at the same work centre; of what is left
 * over, operations of one treatment or part-wide process at different work centres.
 */
function paired(a: readonly Operation[], b: readonly Operation[]): readonly Pair[] {
  const partners = new Map<Operation, Operation>();
  const match = (keyOf: (operation: Operation) => string | undefined): void => {
    const open = a.filter((operation) => ![...partners.values()].includes(operation));
    for (const operation of b) {
      const key = keyOf(operation);
      if (partners.has(operation) || key === undefined) continue;
      const at = open.findIndex((other) => keyOf(other) === key);
      const [partner] = at < 0 ? [] : open.splice(at, 1);
      if (partner !== undefined) partners.set(operation, partner);
    }
  };
  match((operation) => operation.setup ?? `${operation.process}@${operation.workCentre.id}`);
  match((operation) => (operation.setup === undefined ? operation.process : undefined));
  const taken = new Set(partners.values());
  const gone = a.filter((operation) => !taken.has(operation));
  const list: Pair[] = [];
  for (const operation of b) {
    const partner = partners.get(operation);
    if (partner !== undefined)
      while (gone[0] !== undefined && gone[0].seq < partner.seq)
        list.push({ a: gone.shift() as Operation });
    list.push({ ...(partner === undefined ? {} : { a: partner }), b: operation });
  }
  return [...list, ...gone.map((operation) => ({ a: operation }))];
}

function comparedOperation(
  { a: before, b: after }: Pair,
  a: Plan,
  b: Plan,
  causes: readonly ComparisonCause[],
): ComparedOperation {
  const shown = after ?? before;
  if (shown === undefined) throw new RangeError('a pair of operations holds at least one');
  const days = (after?.leadDays ?? 0) - (before?.leadDays ?? 0);
  const money = (after?.costPerLot ?? 0) - (before?.costPerLot ?? 0);
  const moved = before?.workCentre.id !== after?.workCentre.id;
  const change =
    before === undefined
      ? 'in'
      : after === undefined
        ? 'out'
        : moved || money !== 0 || Math.abs(days) > 1e-6
          ? 'changed'
          : 'same';
  return {
    change,
    title: shown.title,
    ...(before === undefined ? {} : { workCentreA: before.workCentre.name, seqA: before.seq }),
    ...(after === undefined ? {} : { workCentreB: after.workCentre.name, seqB: after.seq }),
    perLotA: before?.costPerLot ?? 0,
    perLotB: after?.costPerLot ?? 0,
    perPartA: before?.costPerPart ?? 0,
    perPartB: after?.costPerPart ?? 0,
    days,
    because:
      before === undefined && after !== undefined
        ? whyOnOneSide(after, b, a, causes, 'in')
        : after === undefined && before !== undefined
          ? whyOnOneSide(before, a, b, causes, 'out')
          : before !== undefined && after !== undefined && change === 'changed'
            ? whyChanged(before, after, a, b, causes)
            : [],
  };
}

/** The requirements that ask for an operation, and how the other side meets them without it. */
function whyOnOneSide(
  operation: Operation,
  here: Plan,
  there: Plan,
  causes: readonly ComparisonCause[],
  change: 'in' | 'out',
): readonly string[] {
  const first: string[] = [];
  // Requirements that stand as before, by the sentence that ends with how the other side meets them.
  const asBefore = new Map<string, string[]>();
  for (const { text, requirement } of operation.reasons) {
    if (requirement === undefined) {
      first.push(wholePartReason(text, operation, causes, change));
      continue;
    }
    const { feature } = requirement;
    const id = here.features
      .find((entry) => entry.id === feature)
      ?.requirements.find((entry) => entry.text === requirement.text)?.id;
    const cause = causes.find((entry) => entry.kind === 'requirement' && entry.what === id);
    if (cause !== undefined) {
      first.push(requirementReason(feature, requirement.text, cause, change));
      continue;
    }
    const way = wayOf(feature, requirement.text, there);
    const key = `${feature}|${way}`;
    asBefore.set(key, [...(asBefore.get(key) ?? []), requirement.text]);
  }
  const rest = [...asBefore].map(([key, texts]) => {
    const [feature = '', way = ''] = key.split('|');
    const asks = `${feature} ${change === 'in' ? 'asks' : 'still asks'} ${texts.join(', ')}`;
    return change === 'in' ? `${asks} as before, in A by ${way}` : `${asks}, in B by ${way}`;
  });
  return [...new Set([...first, ...rest])];
}

function requirementReason(
  feature: string,
  text: string,
  { a, b }: ComparisonCause,
  change: 'in' | 'out',
): string {
  if (change === 'in') {
    const before = a === '' || a === unmet ? '' : `, before ${a}`;
    return `${feature} now asks ${text}${before}`;
  }
  if (b === unmet) return `${feature}: ${text} ${unmet} in B`;
  return b === '' ? `${feature} no longer asks ${text}` : `${feature} asks ${b} instead of ${text}`;
}

/** A reason that no single requirement gives, and whether the policy is what differs. */
function wholePartReason(
  text: string,
  { process }: Operation,
  causes: readonly ComparisonCause[],
  change: 'in' | 'out',
): string {
  const required = causes.find((entry) => entry.what === 'policy.required');
  const names = (list: string | undefined): boolean => list?.split(', ').includes(process) === true;
  if (names(required?.a) !== names(required?.b) && text.includes('requires'))
    return change === 'in' ? 'the job now requires it' : 'the job no longer requires it';
  return change === 'in' ? text : `in A because: ${text}`;
}

/** How a plan meets a requirement: by the steps on the feature, or by part-wide finishes. */
function wayOf(feature: string, text: string, plan: Plan): string {
  const chain = plan.features.find((entry) => entry.id === feature)?.chain ?? [];
  const visits = [...new Set(chain.map((step) => step.operation))].map((operation) => {
    const steps = chain.filter((step) => step.operation === operation);
    return `op ${operation} ${steps.map((step) => step.title.toLowerCase()).join(', ')}`;
  });
  const finishes = plan.operations
    .filter((operation) =>
      operation.reasons.some(
        ({ requirement }) => requirement?.feature === feature && requirement.text === text,
      ),
    )
    .map((operation) => `op ${operation.seq} ${operation.title.toLowerCase()}`);
  const ways = visits.length > 0 ? visits : finishes;
  return ways.length > 0 ? ways.join(' and ') : 'printing alone';
}

/** What made the same operation cost or take otherwise: place, features, and the lines that moved most. */
function whyChanged(
  before: Operation,
  after: Operation,
  a: Plan,
  b: Plan,
  causes: readonly ComparisonCause[],
): readonly string[] {
  const list: string[] = [];
  if (before.workCentre.id !== after.workCentre.id)
    list.push(`${before.workCentre.name} gives way to ${after.workCentre.name}`);
  const [had, has] = [new Set(before.features), new Set(after.features)];
  const come = after.features.filter((id) => !had.has(id));
  const gone = before.features.filter((id) => !has.has(id));
  if (come.length > 0) list.push(`now also for ${come.join(', ')}`);
  if (gone.length > 0) list.push(`no longer for ${gone.join(', ')}`);
  for (const id of [...after.features, ...gone]) {
    const mine = causes.filter((entry) => entry.kind === 'requirement' && entry.feature === id);
    if (mine.length > 0)
      list.push(
        `${id}: ${mine.map((entry) => `${entry.b || 'nothing'} in place of ${entry.a || 'nothing'}`).join(', ')}`,
      );
  }
  return [...list, ...movedLines(before, after, a, b)];
}

/** Most cost lines of one operation that are shown with both reckonings. */
const linesShown = 3;

function movedLines(before: Operation, after: Operation, a: Plan, b: Plan): readonly string[] {
  const linesOf = (plan: Plan, { seq }: Operation): ReadonlyMap<string, CostLine> =>
    new Map(
      plan.cost.lines.filter((line) => line.operation === seq).map((line) => [line.label, line]),
    );
  const [old, now] = [linesOf(a, before), linesOf(b, after)];
  const moved = [...new Set([...old.keys(), ...now.keys()])]
    .map((label) => ({ label, was: old.get(label), is: now.get(label) }))
    .map((entry) => ({ ...entry, by: (entry.is?.amount ?? 0) - (entry.was?.amount ?? 0) }))
    .filter(({ by }) => by !== 0)
    .sort((x, y) => Math.abs(y.by) - Math.abs(x.by) || (x.label < y.label ? -1 : 1));
  const shown = moved
    .slice(0, linesShown)
    .map(({ label, was, is }) => `${label}: ${was?.formula ?? 'none'} -> ${is?.formula ?? 'none'}`);
  const more = moved.length - shown.length;
  return more > 0 ? [...shown, `${more} more line${more === 1 ? '' : 's'} moved less`] : shown;
}
