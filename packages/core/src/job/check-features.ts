import { datumLetters } from '../limits/parse-geometric.js';
import { nearMatch } from '../problems/near-match.js';
import type { WrittenFeature } from './read-feature.js';
import type { ReadingLog } from './reading-log.js';
import type { Feature, FeatureKind, Geometry } from './types.js';

/** A feature in mm with the places of what it was read from. */
export interface ReadFeature {
  readonly feature: Feature;
  readonly written: WrittenFeature;
}

type Dimension = 'size' | 'length' | 'width' | 'depth' | 'area';

/**
 * What each kind cannot do without: one of the alternatives of every line. Depths of round features
 * are left to the planner's stated rule.
 */
const needs: Readonly<Record<FeatureKind, readonly (readonly (readonly Dimension[])[])[]>> = {
  plane: [[['area'], ['length', 'width']]],
  freeform: [[['area'], ['length', 'width']]],
  bore: [[['size']]],
  shaft: [[['size']]],
  thread: [[['size']]],
  radius: [[['size']]],
  slot: [
    [['size'], ['width']],
    [['length'], ['area']],
    [['depth'], ['area']],
  ],
  channel: [
    [['size'], ['width'], ['area']],
    [['length'], ['area']],
  ],
};

/**
 * Checks between features: ids, dimensions, datums, and sizes against the box.
 *
 * @param lost features too faulty to be read; they still carry their datums
 */
export function checkFeatures(
  features: readonly ReadFeature[],
  lost: readonly WrittenFeature[],
  geometry: Geometry | undefined,
  operations: readonly string[],
  log: ReadingLog,
): void {
  checkIds(features, log);
  for (const each of features) {
    checkNeeds(each, log);
    checkExtent(each, geometry, log);
    checkFinishes(each, operations, log);
  }
  checkDatums(features, lost, log);
}

function checkIds(features: readonly ReadFeature[], log: ReadingLog): void {
  const first = new Map<string, ReadFeature>();
  for (const each of features) {
    const { id } = each.feature;
    const earlier = first.get(id);
    if (earlier === undefined) {
      first.set(id, each);
      continue;
    }
    const { line } = earlier.written.placeOf('id');
    const where = line === undefined ? '' : `, first on line ${line}`;
    log.problem(
      'duplicate-id',
      each.written.placeOf('id'),
      `the id stands twice${where}`,
      id,
      'each id once',
    );
  }
}

function checkNeeds({ feature, written }: ReadFeature, log: ReadingLog): void {
  const given = (dimension: Dimension): boolean =>
    written.input[dimension] !== undefined || written.faulty.has(dimension);
  for (const alternatives of needs[feature.kind]) {
    if (alternatives.some((dimensions) => dimensions.every(given))) continue;
    const accept = alternatives.map((dimensions) => dimensions.join(' and ')).join(', or ');
    const message = `a ${feature.kind} needs ${accept}`;
    log.problem('missing-field', written.placeOf(), message, feature.id, accept);
  }
}

/** Kinds whose length is counted along a path that may bend: grooves, channels, edges. */
const bent: readonly FeatureKind[] = ['slot', 'channel', 'radius'];

/** Longest path, in diagonals of the box, that is taken for a bend and not for a wrong unit. */
const longestPath = 20;

/** Nothing straight is longer than the diagonal of the box: such a value is in the wrong unit. */
function checkExtent(
  { feature, written }: ReadFeature,
  geometry: Geometry | undefined,
  log: ReadingLog,
): void {
  const box = geometry?.boxMm;
  if (box === undefined) return;
  const diagonalMm = Math.hypot(...box);
  const extents = [
    ['size', feature.size?.lowerMm, 1],
    ['length', feature.lengthMm, bent.includes(feature.kind) ? longestPath : 1],
    ['width', feature.widthMm, 1],
    ['depth', feature.depthMm, 1],
    ['location', feature.locationMm, 1],
  ] as const;
  for (const [field, value, times] of extents) {
    if (value === undefined || value <= times * diagonalMm * 1.001) continue;
    const accept = `at most ${times === 1 ? '' : `${times} times `}the diagonal of the box, ${(times * diagonalMm).toFixed(1)} mm`;
    const seen = written.input[field];
    log.problem('inconsistent', written.placeOf(field), 'larger than the part', seen, accept);
  }
}

function checkFinishes(
  { feature, written }: ReadFeature,
  operations: readonly string[],
  log: ReadingLog,
): void {
  (feature.allowedFinishes ?? []).forEach((finish, index) => {
    if (operations.includes(finish)) return;
    const near = nearMatch(finish, operations);
    const message = `no such finish${near === undefined ? '' : `; did you mean ${near}?`}`;
    const place = written.placeOf('finishes', index);
    log.problem('unknown-id', place, message, finish, 'a process id of the catalogue');
  });
}

function checkDatums(
  features: readonly ReadFeature[],
  lost: readonly WrittenFeature[],
  log: ReadingLog,
): void {
  const carrier = new Map<string, ReadFeature>();
  for (const each of features) {
    const { datum, id } = each.feature;
    if (datum === undefined) continue;
    const earlier = carrier.get(datum);
    if (earlier === undefined) carrier.set(datum, each);
    else {
      const message = `datum ${datum} is carried by ${earlier.feature.id} and by ${id}`;
      log.problem(
        'inconsistent',
        each.written.placeOf('datum'),
        message,
        datum,
        'each datum letter once',
      );
    }
  }
  const written = [...features.map((each) => each.written), ...lost];
  // a letter that could not be read may be the one that is missed
  const doubtful = written.some(({ faulty }) => faulty.has('datum'));
  const known = new Set(written.map(({ input }) => input.datum));
  const letters = [...carrier.keys()].sort();
  const lettersText = letters.length === 0 ? 'none is defined' : letters.join(', ');
  for (const { feature, written } of features) {
    for (const tolerance of feature.geometric) {
      const index = (written.input.tolerances ?? []).findIndex(
        (text) => text?.trim() === tolerance.text,
      );
      const place = written.placeOf('tolerances', Math.max(0, index));
      for (const letter of datumLetters(tolerance)) {
        if (letter === feature.datum)
          log.problem(
            'inconsistent',
            place,
            `${feature.id} is itself datum ${letter}`,
            tolerance.text,
            'a datum on another feature',
          );
        else if (!known.has(letter) && !doubtful)
          log.problem(
            'unknown-datum',
            place,
            `no feature carries datum ${letter}`,
            tolerance.text,
            `a datum of the job (${lettersText})`,
          );
      }
    }
  }
  checkDatumCircles(carrier, log);
}

/** A datum that is located from itself by way of others can never be made first. */
function checkDatumCircles(carrier: ReadonlyMap<string, ReadFeature>, log: ReadingLog): void {
  const referred = (letter: string): readonly string[] =>
    (carrier.get(letter)?.feature.geometric ?? [])
      .flatMap(datumLetters)
      .filter((other) => other !== letter && carrier.has(other));
  const reported = new Set<string>();
  for (const [start, each] of [...carrier].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const circle = wayBack(start, referred);
    if (circle === undefined) continue;
    const key = [...circle].sort().join('');
    if (reported.has(key)) continue;
    reported.add(key);
    const message = `the datums refer to each other in a circle: ${[...circle, start].join(' -> ')}`;
    log.problem(
      'inconsistent',
      each.written.placeOf('tolerances'),
      message,
      start,
      'each datum located from earlier ones',
    );
  }
}

/** Shortest way from a letter along its references back to itself. */
function wayBack(
  start: string,
  referred: (letter: string) => readonly string[],
): readonly string[] | undefined {
  const seen = new Set<string>();
  let ways: (readonly string[])[] = [[start]];
  while (ways.length > 0) {
    const longer: (readonly string[])[] = [];
    for (const way of ways) {
      for (const next of referred(way.at(-1) ?? start)) {
        if (next === start) return way;
        if (seen.has(next)) continue;
        seen.add(next);
        longer.push([...way, next]);
      }
    }
    ways = longer;
  }
  return undefined;
}
