import { checkSchema, type Loose } from '../job/check-schema.js';
import { readJsonText } from '../job/json-text.js';
import { inReadingOrder, type ReadingLog, readingLog } from '../job/reading-log.js';
import { type PathStep, pathText } from '../job/text-position.js';
import type { Finding } from '../problems/finding.js';
import { InputError, type Place, type Problem } from '../problems/problem.js';
import { maxContributors, resolveStack } from './resolve-stack.js';
import type { SamplingOptions } from './sampling-plan.js';
import { maxStackTextLength, stackSchema } from './schema.js';
import type { StackFile, StackFormula } from './stack-file.js';
import { stackFileReader } from './stack-file-reader.js';
import { readStackTable, type StackTable } from './stack-table.js';
import type { RequirementLimits, StackInput } from './types.js';

/** What stands besides the file; each takes the place of the same in the file. */
export interface StackSettings {
  readonly units?: 'mm' | 'in';
  readonly requirement?: RequirementLimits;
  readonly function?: string;
  readonly samples?: number;
  readonly seed?: number;
}

export interface StackReading {
  /** Present when there are no problems. Its function is still to be compiled, see `formula`. */
  readonly stack?: StackInput;
  /** For `compileStackFunction`; absent for a linear chain. */
  readonly formula?: StackFormula;
  readonly sampling: SamplingOptions;
  readonly problems: readonly Problem[];
  readonly findings: readonly Finding[];
  /** Where in the source a field of the stack stands, e.g. `function`, `contributors[2].upper`. */
  placeOf(path: string): Place;
}

/** A stack file as JSON text, or its contributors as a table. */
export type StackSource = (
  | { readonly json: string; readonly file?: string }
  | { readonly table: StackTable }
) & { readonly settings?: StackSettings };

/**
 * Reads a stack file (schema `stack/1`, JSON) or a table with one contributor a row. Numbers stay in
 * the units of the file, sizes as on a drawing are turned into them. Every problem is found in one
 * go, with its place; nothing is thrown whatever the text is.
 *
 * @example
 * readStack({ json: '{ "schemaVersion": "stack/1", "contributors": [{ "id": "a", "size": "25 H7" }] }' }).stack.contributors[0].plus // -> 0.021
 */
export function readStack(source: StackSource): StackReading {
  const log = readingLog();
  const { settings = {} } = source;
  const { written, placeAt } =
    'table' in source ? fromTable(source.table, log) : fromJson(source, log);
  const placeOf = (path: string): Place => placeAt(pathSteps(path));
  const end = (rest: Pick<StackReading, 'stack' | 'formula' | 'sampling'>): StackReading => ({
    ...rest,
    problems: inReadingOrder(log.problems),
    findings: log.findings,
    placeOf,
  });
  if (written === undefined) return end({ sampling: {} });
  const { faults, sound } = checkSchema(stackSchema, written);
  for (const { path, code, message, value, accept } of faults)
    log.problem(code, placeAt(path), message, value, accept);
  const reader = stackFileReader(withSettings(sound ?? {}, settings), placeAt, log);
  const stack = reader.stack();
  const formula = reader.formula();
  if (stack.contributors.length > 0 || log.problems.length === 0)
    report(problemsOf(stack), placeAt, faults, log);
  const sampling = { ...sound?.sampling, ...given(settings) } as SamplingOptions;
  if (log.problems.length > 0) return end({ sampling });
  return end({ stack, ...(formula === undefined ? {} : { formula }), sampling });
}

interface Written {
  readonly written: unknown;
  placeAt(path: readonly PathStep[]): Place;
}

function fromTable(table: StackTable, log: ReadingLog): Written {
  const { contributors, placeAt } = readStackTable(table, log);
  const count = contributors.length;
  if (count > 0 && count <= maxContributors)
    return { written: { schemaVersion: 'stack/1', contributors }, placeAt };
  const accept = `1 to ${maxContributors} contributors, one a row`;
  if (count > 0) log.problem('too-large', { file: table.file }, 'too many rows', count, accept);
  else if (log.problems.length === 0)
    log.problem('missing-field', { file: table.file }, 'no contributor', undefined, accept);
  return { written: undefined, placeAt };
}

function fromJson(
  { json, file }: { readonly json: string; readonly file?: string },
  log: ReadingLog,
): Written {
  const inFile = file === undefined ? {} : { file };
  if (json.length > maxStackTextLength) {
    const accept = `at most ${maxStackTextLength} characters`;
    log.problem('too-large', inFile, 'the stack text is too long', json.length, accept);
    return { written: undefined, placeAt: () => inFile };
  }
  const parsed = readJsonText(json, file);
  log.problems.push(...parsed.problems);
  return {
    written: parsed.value,
    placeAt: (path) => ({
      ...inFile,
      ...parsed.positionOf(path),
      ...(path.length === 0 ? {} : { path: pathText(path) }),
    }),
  };
}

function withSettings(file: Loose<StackFile>, settings: StackSettings): Loose<StackFile> {
  const { units, requirement, function: text } = settings;
  const { loop, ...rest } = file;
  return {
    ...rest,
    // a function of its own takes the place of whatever the file has
    ...(loop === undefined || text !== undefined ? {} : { loop }),
    ...(units === undefined ? {} : { units }),
    ...(requirement === undefined ? {} : { requirement }),
    ...(text === undefined ? {} : { function: text }),
  };
}

function given({ samples, seed }: StackSettings): SamplingOptions {
  return {
    ...(samples === undefined ? {} : { samples }),
    ...(seed === undefined ? {} : { seed }),
  };
}

function problemsOf(stack: StackInput): readonly Problem[] {
  try {
    resolveStack(stack);
    return [];
  } catch (error) {
    if (error instanceof InputError) return error.problems;
    throw error;
  }
}

/** What could not be read would only be reported again as missing or contradictory. */
function report(
  found: readonly Problem[],
  placeAt: (path: readonly PathStep[]) => Place,
  faults: readonly { readonly path: readonly PathStep[] }[],
  log: ReadingLog,
): void {
  const topics = new Set([
    ...faults.map(({ path }) => topicOf(path)),
    ...log.problems.map(({ place }) => topicOf(pathSteps(place.path ?? ''))),
  ]);
  const lines = new Set(
    log.problems.flatMap(({ place }) => (place.path === undefined ? [place.line] : [])),
  );
  const before = log.problems.length;
  for (const problem of found) {
    const steps = pathSteps(problem.place.path ?? '');
    // the matrix is made of the pairs of the file
    const path = steps[0] === 'correlation' ? ['correlations'] : steps;
    const place = placeAt(path);
    if (topics.has(topicOf(path))) continue;
    if (place.path === undefined && lines.has(place.line)) continue;
    // correlations go by position, so a list with gaps has none
    if (before > 0 && path[0] === 'correlations') continue;
    log.problems.push({ ...problem, place });
  }
}

/** Problems of one contributor are one topic. */
function topicOf([first = '', second]: readonly PathStep[]): string {
  return typeof second === 'number' ? `${first} ${second}` : String(first);
}

function pathSteps(path: string): PathStep[] {
  return [...path.matchAll(/\[(\d+)\]|[A-Za-z$]+/g)].map(([step, index]) =>
    index === undefined ? step : Number(index),
  );
}
