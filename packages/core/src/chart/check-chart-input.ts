import type { Problem, ProblemCode } from '../problems/problem.js';
import { formatMm } from '../quantity/format.js';
import { placeFinished } from './place-finished.js';
import type { ChartCut, ChartInput, WorkingLimits } from './types.js';

type Add = (
  code: ProblemCode,
  path: string,
  message: string,
  value?: unknown,
  accept?: string,
) => void;

/** Most cuts of a chart. */
export const maxCuts = 1000;
/** Longest length of a chart, and the smallest that is not taken for nothing. */
const longestMm = 1e6;
const smallest = 1e-9;

/**
 * Everything that is inconsistent in a chart, with its place: duplicate ids, surfaces that are never
 * formed, datums that do not exist yet, missing stock or tolerance, surfaces that no blueprint
 * dimension ties to the others, blueprint dimensions that contradict each other or the order of the
 * surfaces.
 *
 * @param given limits of the working dimensions, which then take the place of the tolerances
 * @example
 * checkChartInput({ surfaces: [{ id: 'A' }, { id: 'B' }], cuts: [{ id: '1', datum: 'A', surface: 'B' }], blueprint: [{ id: 'h', from: 'A', to: 'B', lowerMm: 1, upperMm: 2 }] })[0].place.path // -> "cuts[0].toleranceMm"
 */
export function checkChartInput(
  input: ChartInput,
  given?: readonly WorkingLimits[],
): readonly Problem[] {
  const problems: Problem[] = [];
  const add: Add = (code, path, message, value, accept) => {
    problems.push({
      code,
      place: { path },
      message,
      ...(value === undefined ? {} : { value: String(value) }),
      ...(accept === undefined ? {} : { accept }),
    });
  };
  if (input.cuts.length > maxCuts)
    add('too-large', 'cuts', 'too many cuts', input.cuts.length, `at most ${maxCuts}`);
  if (input.cuts.length === 0)
    add('missing-field', 'cuts', 'the chart has no cut', undefined, 'at least one');
  if (input.blueprint.length === 0)
    add('missing-field', 'blueprint', 'no blueprint dimension', undefined, 'at least one');
  if (input.coverage !== undefined && !(input.coverage > 0 && input.coverage < 1))
    add('out-of-range', 'coverage', 'not a share', input.coverage, 'a number between 0 and 1');
  positive(add, 'roundToMm', input.roundToMm);
  duplicates(add, 'surfaces', input.surfaces);
  duplicates(add, 'cuts', input.cuts);
  duplicates(add, 'blueprint', input.blueprint);
  checkCuts(add, input, given !== undefined);
  checkBlueprint(add, input);
  if (given !== undefined) checkGiven(add, input, given);
  if (problems.length === 0) checkPlaces(add, input);
  return problems;
}

/** The drawing by itself: loops that no part closes, surfaces out of the order of the list. */
function checkPlaces(add: Add, input: ChartInput): void {
  const exact = input.blueprint.map(() => 0);
  const { coordinatesMm, loops } = placeFinished(input, exact);
  for (const { blueprint, excessMm } of loops)
    add(
      'inconsistent',
      'blueprint',
      `dimensions ${blueprint.join(', ')} close a loop but their limits cannot all be met, by ${formatMm(excessMm)} mm`,
      blueprint.join(', '),
      'limits that one part can meet, or one dimension less',
    );
  if (loops.length > 0) return;
  input.surfaces.forEach(({ id }, index) => {
    const before = input.surfaces[index - 1];
    const at = coordinatesMm[index] ?? 0;
    const last = coordinatesMm[index - 1] ?? at;
    if (before !== undefined && at < last - 1e-9)
      add(
        'inconsistent',
        `surfaces[${index}]`,
        `the drawing puts the surface ${formatMm(last - at)} mm before ${before.id}, which is listed before it`,
        id,
        'surfaces along the axis, the smallest coordinate first',
      );
  });
}

function duplicates(add: Add, path: string, list: readonly { readonly id: string }[]): void {
  const seen = new Map<string, number>();
  list.forEach(({ id }, index) => {
    const first = seen.get(id);
    if (first !== undefined)
      add('duplicate-id', `${path}[${index}].id`, `same id as ${path}[${first}]`, id);
    else seen.set(id, index);
  });
}

function positive(add: Add, path: string, value: number | undefined): void {
  if (value !== undefined && !(value >= smallest && value <= longestMm))
    add('out-of-range', path, 'number out of range', value, `${smallest} to ${longestMm}`);
}

function checkCuts(add: Add, input: ChartInput, given: boolean): void {
  const faces = new Map(input.surfaces.map(({ id, faces: side }) => [id, side]));
  const formed = new Set<string>();
  const first = input.cuts[0]?.datum;
  if (first !== undefined) formed.add(first);
  input.cuts.forEach((cut, index) => {
    const path = `cuts[${index}]`;
    for (const field of ['datum', 'surface'] as const) {
      if (!faces.has(cut[field]))
        add('unknown-id', `${path}.${field}`, 'no such surface', cut[field], 'a listed surface');
    }
    if (!given && cut.toleranceMm === undefined && cut.sigmaMm === undefined)
      add(
        'missing-field',
        `${path}.toleranceMm`,
        'neither tolerance nor process sigma',
        undefined,
        'toleranceMm or sigmaMm',
      );
    positive(add, `${path}.toleranceMm`, cut.toleranceMm);
    positive(add, `${path}.sigmaMm`, cut.sigmaMm);
    positive(add, `${path}.cp`, cut.cp);
    positive(add, `${path}.roundToMm`, cut.roundToMm);
    if (faces.has(cut.datum) && !formed.has(cut.datum)) {
      const later = input.cuts.findIndex(({ surface }) => surface === cut.datum);
      add(
        'inconsistent',
        `${path}.datum`,
        later === index
          ? 'the datum is the surface itself, which is not there yet'
          : later === -1
            ? 'the datum is never formed'
            : `the datum is not there yet: it is formed by cut ${input.cuts[later]?.id}, later`,
        cut.datum,
        'a surface that an earlier cut forms, or the datum of the first cut',
      );
      // named once is enough
      formed.add(cut.datum);
    }
    checkStock(add, cut, path, formed.has(cut.surface), faces.get(cut.surface));
    formed.add(cut.surface);
  });
  input.surfaces.forEach(({ id }, index) => {
    if (!formed.has(id))
      add('inconsistent', `surfaces[${index}]`, 'the surface is never cut nor used as a datum', id);
  });
}

function checkStock(
  add: Add,
  cut: ChartCut,
  path: string,
  takesStock: boolean,
  faces: 'up' | 'down' | undefined,
): void {
  const { minStockMm, maxStockMm } = cut;
  if (!takesStock) {
    for (const field of ['minStockMm', 'maxStockMm'] as const) {
      if (cut[field] !== undefined)
        add(
          'inconsistent',
          `${path}.${field}`,
          'the first cut on a surface forms it and takes off no stock',
          cut[field],
          'no stock here, or an earlier cut that forms the surface',
        );
    }
    return;
  }
  if (minStockMm === undefined)
    add(
      'missing-field',
      `${path}.minStockMm`,
      'the surface exists already, so the cut takes off stock',
      undefined,
      'the least stock that the cut must find, mm',
    );
  else if (!(Math.abs(minStockMm) <= longestMm) || (minStockMm < 0 && cut.datum !== cut.surface))
    add('out-of-range', `${path}.minStockMm`, 'number out of range', minStockMm, '0 or more');
  if (maxStockMm !== undefined && !(maxStockMm > (minStockMm ?? 0) && maxStockMm <= longestMm))
    add('out-of-range', `${path}.maxStockMm`, 'not above the least stock', maxStockMm);
  if (faces === undefined)
    add(
      'missing-field',
      path,
      `stock is taken off surface ${cut.surface}, whose side is not known`,
      undefined,
      'faces: up or down, at the surface',
    );
}

function checkBlueprint(add: Add, input: ChartInput): void {
  const known = new Set(input.surfaces.map(({ id }) => id));
  const group = new Map(input.surfaces.map(({ id }) => [id, id]));
  const root = (id: string): string => {
    let at = id;
    for (let up = group.get(at); up !== undefined && up !== at; up = group.get(at)) at = up;
    return at;
  };
  const pairs = new Map<string, number>();
  input.blueprint.forEach(({ from, to, lowerMm, upperMm }, index) => {
    const path = `blueprint[${index}]`;
    for (const [field, id] of [
      ['from', from],
      ['to', to],
    ] as const) {
      if (!known.has(id))
        add('unknown-id', `${path}.${field}`, 'no such surface', id, 'a listed surface');
    }
    if (from === to)
      add('inconsistent', path, 'both ends are the same surface', from, 'two surfaces');
    if (!(lowerMm < upperMm))
      add(
        'inconsistent',
        path,
        'the lower limit is not below the upper limit',
        `${lowerMm} to ${upperMm}`,
      );
    if (!(lowerMm > 0 && upperMm <= longestMm))
      add(
        'out-of-range',
        path,
        'limits out of range',
        `${lowerMm} to ${upperMm}`,
        `above 0, to ${longestMm}`,
      );
    const pair = from < to ? `${from}\n${to}` : `${to}\n${from}`;
    const before = pairs.get(pair);
    if (before !== undefined && from !== to)
      add(
        'inconsistent',
        path,
        `the same two surfaces as blueprint[${before}]`,
        `${from} to ${to}`,
        'one dimension for a pair of surfaces',
      );
    else pairs.set(pair, index);
    if (known.has(from) && known.has(to)) group.set(root(from), root(to));
  });
  const base = input.surfaces[0];
  if (base === undefined || input.blueprint.length === 0) return;
  input.surfaces.forEach(({ id }, index) => {
    if (root(id) !== root(base.id))
      add(
        'inconsistent',
        `surfaces[${index}]`,
        `no blueprint dimension ties the surface to ${base.id}`,
        id,
        'a blueprint dimension (wide limits make it a reference)',
      );
  });
}

function checkGiven(add: Add, input: ChartInput, given: readonly WorkingLimits[]): void {
  const known = new Set(input.cuts.map(({ id }) => id));
  const seen = new Set<string>();
  given.forEach(({ cut, lowerMm, upperMm }, index) => {
    const path = `workingDimensions[${index}]`;
    if (!known.has(cut)) add('unknown-id', `${path}.cut`, 'no such cut', cut);
    if (seen.has(cut)) add('duplicate-id', `${path}.cut`, 'given twice', cut);
    seen.add(cut);
    if (!(lowerMm <= upperMm && lowerMm >= -longestMm && upperMm <= longestMm))
      add('inconsistent', path, 'not a pair of limits', `${lowerMm} to ${upperMm}`);
  });
  input.cuts.forEach(({ id }, index) => {
    if (!seen.has(id))
      add('missing-field', 'workingDimensions', `no limits for cuts[${index}]`, id);
  });
}
