import { nearMatch } from '../problems/near-match.js';
import type { Place } from '../problems/problem.js';
import { isCalendarDate } from './calendar-date.js';
import type { Loose } from './check-schema.js';
import type { JobInput } from './input.js';
import { readAreaMm2, readLengthMm, readVolumeMm3, type Written } from './measures.js';
import type { ReadingLog } from './reading-log.js';
import type { PathStep } from './text-position.js';
import type { Geometry, Order, Part, PartRevision, Policy } from './types.js';

/** Ids that a job may name, as a catalogue gives them. */
export interface JobVocabulary {
  readonly materials: readonly string[];
  /** ISO 4217 codes. */
  readonly currencies: readonly string[];
  /** Ids of processes, treatments and work centres that a policy or a finish may name. */
  readonly operations: readonly string[];
}

const noDay = 'there is no such day';
const anyDay = 'a day of the calendar YYYY-MM-DD, 1900 to 2199';

export type PlaceAt = (path: readonly PathStep[]) => Place;

/** `list` without what stayed empty because it was faulty. */
function present<T>(items: readonly (T | undefined)[] | undefined): readonly T[] {
  return (items ?? []).filter((item) => item !== undefined);
}

/** The id of a material of the catalogue as the user wrote it. */
function materialId(
  text: string | undefined,
  materials: readonly string[],
  place: Place,
  log: ReadingLog,
): string | undefined {
  const written = text?.trim().toLowerCase();
  const known = materials.find((id) => id.toLowerCase() === written);
  if (written !== undefined && known === undefined) {
    const near = nearMatch(written, materials);
    const message = `no such material${near === undefined ? '' : `; did you mean ${near}?`}`;
    log.problem('unknown-id', place, message, text, materials.join(', '));
  }
  return known;
}

export function readPart(
  input: Loose<JobInput['part']>,
  { materials }: JobVocabulary,
  placeAt: PlaceAt,
  log: ReadingLog,
): Part | undefined {
  const { name, number, revision, printer, endUse, condition, note } = input;
  const material = materialId(input.material, materials, placeAt(['part', 'material']), log);
  if (
    name === undefined ||
    number === undefined ||
    revision === undefined ||
    material === undefined ||
    printer === undefined ||
    endUse === undefined
  )
    return undefined;
  return {
    name,
    number,
    revision,
    material,
    printer,
    endUse,
    ...(condition === undefined ? {} : { condition }),
    standards: present(input.standards),
    hazards: present(input.hazards),
    regulated: input.regulated ?? false,
    revisions: readRevisions(input.revisions, revision, placeAt, log),
    ...(note === undefined ? {} : { note }),
  };
}

function readRevisions(
  input: Loose<JobInput['part']>['revisions'],
  present: string,
  placeAt: PlaceAt,
  log: ReadingLog,
): readonly PartRevision[] {
  const revisions = (input ?? []).flatMap((entry, index): PartRevision[] => {
    const { revision, on, change, approvedBy } = entry ?? {};
    if (on !== undefined && !isCalendarDate(on))
      log.problem('bad-date', placeAt(['part', 'revisions', index, 'on']), noDay, on, anyDay);
    if (revision === undefined || change === undefined) return [];
    return [
      {
        revision,
        ...(on === undefined ? {} : { on }),
        change,
        ...(approvedBy === undefined ? {} : { approvedBy }),
      },
    ];
  });
  if (revisions.length > 0 && !revisions.some(({ revision }) => revision === present)) {
    const message = 'the present revision is not among the revisions so far';
    const place = placeAt(['part', 'revisions']);
    log.problem('inconsistent', place, message, undefined, `an entry for revision ${present}`);
  }
  return revisions;
}

export function readGeometry(
  input: Loose<JobInput['geometry']>,
  units: 'mm' | 'in',
  { materials }: JobVocabulary,
  placeAt: PlaceAt,
  log: ReadingLog,
): Geometry {
  const at = (...path: PathStep[]): Place => placeAt(['geometry', ...path]);
  const length = (value: Written, ...path: PathStep[]): number | undefined =>
    readLengthMm(value, { unit: units }, 'positive', at(...path), log);
  const area = (value: Written, bound: 'positive' | 'from-zero', ...path: PathStep[]) =>
    readAreaMm2(value, { unit: `${units}2` }, bound, at(...path), log);
  const volumeMm3 = readVolumeMm3(
    input.volume,
    { unit: `${units}3` },
    'positive',
    at('volume'),
    log,
  );
  const surfaceAreaMm2 = area(input.surfaceArea, 'positive', 'surfaceArea');
  const [x, y, z] = [0, 1, 2].map((axis) => length(input.box?.[axis], 'box', axis));
  const boxMm =
    x === undefined || y === undefined || z === undefined ? undefined : ([x, y, z] as const);
  const plateSectionMm2 = area(input.plateSection, 'positive', 'plateSection');
  const thickestSectionMm = length(input.thickestSection, 'thickestSection');
  const thinnestWallMm = length(input.thinnestWall, 'thinnestWall');
  const plateMaterial = materialId(input.plateMaterial, materials, at('plateMaterial'), log);
  const supports = input.supports;
  const geometry: Geometry = {
    ...(input.mesh === undefined
      ? {}
      : { mesh: { file: input.mesh, units: input.meshUnits ?? units } }),
    ...(volumeMm3 === undefined ? {} : { volumeMm3 }),
    ...(surfaceAreaMm2 === undefined ? {} : { surfaceAreaMm2 }),
    ...(boxMm === undefined ? {} : { boxMm }),
    ...(plateSectionMm2 === undefined ? {} : { plateSectionMm2 }),
    ...(thickestSectionMm === undefined ? {} : { thickestSectionMm }),
    ...(thinnestWallMm === undefined ? {} : { thinnestWallMm }),
    ...(plateMaterial === undefined ? {} : { plateMaterial }),
    supports: {
      latticeAreaMm2: area(supports?.latticeArea, 'from-zero', 'supports', 'latticeArea') ?? 0,
      latticeAccess: supports?.latticeAccess ?? 'open',
      solidAreaMm2: area(supports?.solidArea, 'from-zero', 'supports', 'solidArea') ?? 0,
      stated: supports !== undefined,
    },
    trappedPowder: input.trappedPowder ?? 'unknown',
    powderProof: input.powderProof ?? false,
  };
  checkBox(geometry, input, at, log);
  return geometry;
}

/** What cannot fit in the box is in the wrong unit or belongs to another part. */
function checkBox(
  geometry: Geometry,
  input: Loose<JobInput['geometry']>,
  at: (...path: PathStep[]) => Place,
  log: ReadingLog,
): void {
  const { boxMm, volumeMm3, plateSectionMm2, thickestSectionMm, thinnestWallMm } = geometry;
  const limit = (
    field: 'volume' | 'plateSection' | 'thickestSection' | 'thinnestWall',
    value: number | undefined,
    most: number | undefined,
    what: string,
    unit: string,
  ): void => {
    if (value === undefined || most === undefined || value <= most * (1 + 1e-6)) return;
    const accept = `at most ${most.toFixed(1)} ${unit}`;
    log.problem('inconsistent', at(field), `larger than ${what}`, input[field], accept);
  };
  if (boxMm !== undefined) {
    const [x, y, z] = boxMm;
    limit('volume', volumeMm3, x * y * z, 'the box', 'mm3');
    limit('plateSection', plateSectionMm2, x * y, 'the foot of the box', 'mm2');
    limit('thickestSection', thickestSectionMm, Math.max(x, y, z), 'the box', 'mm');
  }
  limit('thinnestWall', thinnestWallMm, thickestSectionMm, 'the thickest section', 'mm');
}

export function readOrder(
  input: Loose<JobInput['order']>,
  { currencies }: JobVocabulary,
  placeAt: PlaceAt,
  log: ReadingLog,
): Order | undefined {
  const { quantity, partsPerPlate, customer, reference } = input;
  const currency = currencies.find((code) => code === input.currency?.trim().toUpperCase());
  if (input.currency !== undefined && currency === undefined) {
    const place = placeAt(['order', 'currency']);
    const accept = `an ISO 4217 code of the catalogue: ${currencies.join(', ')}`;
    log.problem('unknown-id', place, 'no such currency', input.currency, accept);
  }
  const date = (text: string | undefined, ...path: PathStep[]): string | undefined => {
    if (text === undefined || isCalendarDate(text)) return text;
    log.problem('bad-date', placeAt(['order', ...path]), noDay, text, anyDay);
    return undefined;
  };
  const startOn = date(input.startOn, 'startOn');
  const dueOn = date(input.dueOn, 'dueOn');
  const closedOn = present(input.closedOn?.map((text, index) => date(text, 'closedOn', index)));
  if (startOn !== undefined && dueOn !== undefined && dueOn < startOn) {
    const place = placeAt(['order', 'dueOn']);
    log.problem('inconsistent', place, 'due before the start', dueOn, `${startOn} or later`);
  }
  if (quantity === undefined || currency === undefined) return undefined;
  return {
    quantity,
    currency,
    ...(startOn === undefined ? {} : { startOn }),
    ...(dueOn === undefined ? {} : { dueOn }),
    ...(closedOn.length === 0 ? {} : { closedOn: [...new Set(closedOn)].sort() }),
    ...(partsPerPlate === undefined ? {} : { partsPerPlate }),
    quantityBreaks: [...new Set(present(input.quantityBreaks))].sort((a, b) => a - b),
    ...(customer === undefined ? {} : { customer }),
    ...(reference === undefined ? {} : { reference }),
  };
}

export function readPolicy(
  input: Loose<NonNullable<JobInput['policy']>>,
  { operations }: JobVocabulary,
  placeAt: PlaceAt,
  log: ReadingLog,
): Policy {
  const known = (
    texts: readonly (string | undefined)[] | undefined,
    ...field: PathStep[]
  ): readonly string[] =>
    (texts ?? []).flatMap((text, index) => {
      if (text === undefined) return [];
      const id = text.trim().toLowerCase();
      if (operations.includes(id)) return [id];
      const near = nearMatch(id, operations);
      const message = `no such operation${near === undefined ? '' : `; did you mean ${near}?`}`;
      const place = placeAt(['policy', ...field, index]);
      log.problem('unknown-id', place, message, text, 'a process or treatment id of the catalogue');
      return [];
    });
  const required = known(input.required, 'required');
  const forbidden = known(input.forbidden, 'forbidden');
  for (const id of required.filter((each) => forbidden.includes(each))) {
    const place = placeAt(['policy', 'forbidden']);
    log.problem('inconsistent', place, 'both required and forbidden', id, 'one of the two');
  }
  const objective = input.objective ?? 'cost';
  if (objective === 'weighted' && input.costPerDay === undefined) {
    const place = placeAt(['policy', 'costPerDay']);
    const accept = 'money per working day, e.g. 120';
    log.problem(
      'missing-field',
      place,
      'the weighted objective needs costPerDay',
      undefined,
      accept,
    );
  }
  return {
    objective,
    ...(input.costPerDay === undefined ? {} : { costPerDay: input.costPerDay }),
    required: [...new Set(required)].sort(),
    forbidden: [...new Set(forbidden)].sort(),
    minimumProbability: input.minimumProbability ?? 0.9973,
    ...(input.enoughGoodProbability === undefined
      ? {}
      : { enoughGoodProbability: input.enoughGoodProbability }),
    outsideWork: input.outsideWork ?? true,
    cutOffBeforeRelief: input.cutOffBeforeRelief ?? false,
    ...(input.furnaceAlone === undefined ? {} : { furnaceAlone: input.furnaceAlone }),
    contingencyPercent: input.contingencyPercent ?? 0,
    marginPercent: input.marginPercent ?? 0,
    ...learningOf(input.learning, (texts) => known(texts, 'learning', 'processes')),
    ...(input.transferBatch === undefined ? {} : { transferBatch: input.transferBatch }),
    ...(input.stockBy === undefined ? {} : { stockBy: input.stockBy }),
  };
}

function learningOf(
  input: Loose<NonNullable<NonNullable<JobInput['policy']>['learning']>> | undefined,
  known: (texts: readonly (string | undefined)[]) => readonly string[],
): Pick<Policy, 'learning'> {
  if (input?.percent === undefined) return {};
  const { percent, processes } = input;
  if (processes === undefined) return { learning: { percent } };
  return { learning: { percent, processes: [...new Set(known(processes))].sort() } };
}
