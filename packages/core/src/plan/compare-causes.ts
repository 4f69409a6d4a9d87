import { type Catalog, rowKey, tableRows } from '../catalog/catalog.js';
import { type TableName, tableSchemas } from '../catalog/generated/table-schemas.js';
import { propertyName } from '../catalog/read-rows.js';
import type { Feature, Job } from '../job/types.js';
import type { ComparisonCause } from './compare-types.js';
import type { Plan } from './types.js';

/** What a plan was made from. */
export interface PlanInputs {
  readonly job: Job;
  readonly catalog: Catalog;
}

/** Requirements that are not the same on both sides, by feature. */
export function requirementCauses(a: Plan, b: Plan): readonly ComparisonCause[] {
  const list = (plan: Plan): ReadonlyMap<string, { feature: string; text: string }> =>
    new Map(
      plan.features.flatMap((feature) =>
        feature.requirements.map((entry) => [entry.id, { feature: feature.id, text: entry.text }]),
      ),
    );
  return differences(list(a), list(b), ({ text }) => text).map(({ key, mine, other }) => ({
    kind: 'requirement',
    what: key,
    feature: (mine ?? other)?.feature ?? '',
    a: mine?.text ?? setAside(a, other),
    b: other?.text ?? setAside(b, mine),
  }));
}

/** How a requirement reads that a side had to leave out. */
export const unmet = 'cannot be met';

/** A requirement that a plan of the rest had to leave out. */
function setAside(
  plan: Plan,
  asked: { readonly feature: string; readonly text: string } | undefined,
): string {
  const conflict = plan.conflicts.some(
    (entry) => entry.feature === asked?.feature && entry.requirement === asked?.text,
  );
  return conflict ? unmet : '';
}

/** Defaults and policy that both plans name with other values. */
export function assumptionCauses(a: Plan, b: Plan): readonly ComparisonCause[] {
  const list = (plan: Plan): ReadonlyMap<string, string> =>
    new Map(plan.assumptions.map((entry) => [entry.what, entry.value]));
  return differences(list(a), list(b), (text) => text).flatMap(
    ({ key, mine, other }): ComparisonCause[] =>
      mine === undefined || other === undefined
        ? []
        : [{ kind: key === 'policy' ? 'policy' : 'default', what: key, a: mine, b: other }],
  );
}

/** Fields of the job that name and address it and decide nothing. */
const labels = new Set([
  'part.name',
  'part.number',
  'part.revision',
  'part.note',
  'order.customer',
  'order.reference',
  'order.quantityBreaks',
]);

/** Fields of part, geometry, order and policy that differ, and what else differs on a feature. */
export function jobCauses(a: Job, b: Job): readonly ComparisonCause[] {
  const fields = (job: Job): ReadonlyMap<string, string> =>
    new Map(
      (['part', 'geometry', 'order', 'policy'] as const).flatMap((section) =>
        flat(job[section], section),
      ),
    );
  const own = differences(fields(a), fields(b), (text) => text)
    .filter(({ key }) => !labels.has(key))
    .map(
      ({ key, mine = '', other = '' }): ComparisonCause => ({
        kind: key.startsWith('policy.') ? 'policy' : 'job',
        what: key,
        a: mine,
        b: other,
      }),
    );
  const features = (job: Job): ReadonlyMap<string, Feature> =>
    new Map(job.features.map((feature) => [feature.id, feature]));
  const [before, after] = [features(a), features(b)];
  const onFeatures = [...new Set([...before.keys(), ...after.keys()])].sort().flatMap((id) => {
    const [mine, other] = [before.get(id), after.get(id)];
    if (mine === undefined || other === undefined)
      return [
        {
          kind: 'feature' as const,
          what: 'feature',
          feature: id,
          a: mine?.kind ?? '',
          b: other?.kind ?? '',
        },
      ];
    return differences(traits(mine), traits(other), (text) => text).map((entry) => ({
      kind: 'feature' as const,
      what: entry.key,
      feature: id,
      a: entry.mine ?? '',
      b: entry.other ?? '',
    }));
  });
  return [...own, ...onFeatures];
}

/** What a feature is besides its requirements. */
function traits(feature: Feature): ReadonlyMap<string, string> {
  const {
    id: _id,
    size: _size,
    thread: _thread,
    raMaxUm: _ra,
    rzMaxUm: _rz,
    geometric: _geometric,
    extra: _extra,
    place: _place,
    name: _name,
    note: _note,
    ...rest
  } = feature;
  return new Map(flat(rest, ''));
}

function flat(value: object, path: string): (readonly [string, string])[] {
  return Object.entries(value).flatMap(([key, entry]: [string, unknown]) => {
    const at = path === '' ? key : `${path}.${key}`;
    if (entry === undefined) return [];
    if (entry !== null && typeof entry === 'object' && !Array.isArray(entry))
      return flat(entry, at);
    const text = Array.isArray(entry) ? entry.join(', ') : String(entry);
    return [[at, text] as const];
  });
}

/** Tables whose rows a route names. */
const routeTables: readonly TableName[] = [
  'work-centres',
  'processes',
  'process-needs',
  'removal-rates',
  'treatments',
  'methods',
  'materials',
];

/** Columns that tell where a value is from and decide nothing. */
const isRemark = (column: string): boolean => /source|confidence|note|doc$/.test(column);

/** Cells that differ in rows of which a route makes use, and how many other rows differ. */
export function tableCauses(
  a: Catalog,
  b: Catalog,
  plans: readonly Plan[],
): { readonly causes: readonly ComparisonCause[]; readonly unusedRows: number } {
  const used = new Set(plans.flatMap(usedIds));
  const causes: ComparisonCause[] = [];
  let unusedRows = 0;
  for (const table of Object.keys(tableSchemas) as TableName[]) {
    // What the plan took from this table stands among its assumptions.
    if (table === 'planning-defaults') continue;
    const rows = (catalog: Catalog): ReadonlyMap<string, ReturnType<typeof tableRows>[number]> =>
      new Map(tableRows(catalog, table).map((row) => [rowKey(table, row), row]));
    const [before, after] = [rows(a), rows(b)];
    for (const key of [...new Set([...before.keys(), ...after.keys()])].sort()) {
      const [mine, other] = [before.get(key), after.get(key)];
      const changed =
        mine === undefined || other === undefined
          ? [
              {
                column: 'row',
                a: mine === undefined ? '' : 'present',
                b: other === undefined ? '' : 'present',
              },
            ]
          : Object.keys(tableSchemas[table].columns).flatMap((column) => {
              if (isRemark(column)) return [];
              const name = propertyName(column);
              const [from, to] = [cellText(mine[name]), cellText(other[name])];
              return from === to ? [] : [{ column, a: from, b: to }];
            });
      if (changed.length === 0) continue;
      const named = key.split(' / ').some((part) => used.has(part));
      if (!routeTables.includes(table) || !named) {
        unusedRows += 1;
        continue;
      }
      for (const cell of changed)
        causes.push({
          kind: 'table',
          what: `${table}: ${key}, ${cell.column}`,
          a: cell.a,
          b: cell.b,
        });
    }
  }
  return { causes, unusedRows };
}

function cellText(cell: unknown): string {
  return cell === undefined ? '' : Array.isArray(cell) ? cell.join('|') : String(cell);
}

function usedIds(plan: Plan): readonly string[] {
  return [
    plan.job.material.id,
    ...plan.operations.flatMap((operation) => [
      operation.process,
      operation.workCentre.id,
      ...operation.steps.map((step) => step.process),
    ]),
  ];
}

function differences<T>(
  a: ReadonlyMap<string, T>,
  b: ReadonlyMap<string, T>,
  textOf: (value: T) => string,
): readonly { readonly key: string; readonly mine?: T; readonly other?: T }[] {
  return [...new Set([...a.keys(), ...b.keys()])].sort().flatMap((key) => {
    const [mine, other] = [a.get(key), b.get(key)];
    const same =
      mine === undefined || other === undefined ? mine === other : textOf(mine) === textOf(other);
    if (same) return [];
    return [
      {
        key,
        ...(mine === undefined ? {} : { mine }),
        ...(other === undefined ? {} : { other }),
      },
    ];
  });
}
