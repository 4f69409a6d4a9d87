import * as v from 'valibot';
import { nearMatch } from '../problems/near-match.js';
import type { Problem } from '../problems/problem.js';
import { datePattern } from './schema-fields.js';
import type { PathStep } from './text-position.js';

/** The same data with everything optional: what is left when faulty values are taken out. */
export type Loose<T> = T extends readonly (infer Item)[]
  ? readonly (Loose<Item> | undefined)[]
  : T extends object
    ? { readonly [Key in keyof T]?: Loose<T[Key]> | undefined }
    : T;

/** What is wrong with the value at a path. */
export interface SchemaFault extends Pick<Problem, 'code' | 'message' | 'value' | 'accept'> {
  readonly path: readonly PathStep[];
}

export interface SchemaCheck<T> {
  readonly faults: readonly SchemaFault[];
  /** The value without its faulty parts, so that the rest can still be checked. */
  readonly sound: Loose<T> | undefined;
}

/** The parts of a valibot schema that the walk for unknown fields looks at. */
interface SchemaShape {
  readonly type: string;
  readonly entries?: Readonly<Record<string, SchemaShape>>;
  readonly item?: SchemaShape;
  readonly items?: readonly SchemaShape[];
  readonly wrapped?: SchemaShape;
  readonly options?: readonly (SchemaShape | string)[];
  readonly message?: unknown;
  readonly pipe?: readonly { readonly type: string; readonly requirement?: unknown }[];
}

/** Unknown fields of one object that are told one by one. */
const maxStrays = 50;

type Branch = unknown[] | Record<string, unknown>;

/** Compares data with a schema. Every fault is listed, with unknown fields and their near matches. */
export function checkSchema<T>(schema: v.GenericSchema<T>, value: unknown): SchemaCheck<T> {
  const shape = schema as unknown as SchemaShape;
  const faults: SchemaFault[] = [];
  const sound = { root: copy(value) };
  findStrays(shape, value, [], faults);
  // a list far too long is not looked into
  for (const { code, path } of faults)
    if (code === 'too-large') replace(sound, ['root', ...path], []);
  const strays = new Set(faults.map(({ path }) => JSON.stringify(path)));
  const result = v.safeParse(schema, sound.root, { abortPipeEarly: true });
  for (const issue of flatten(result.issues ?? [], [])) {
    // what lies inside a stray value, or is missing in a list that stands for an object
    if (issue.path.some((_, depth) => strays.has(JSON.stringify(issue.path.slice(0, depth + 1)))))
      continue;
    const unknownField = issue.type === 'strict_object' && issue.expected === 'never';
    if (strays.has('[]') || unknownField) continue;
    faults.push(faultOf(issue, shape));
  }
  for (const { path } of faults) replace(sound, ['root', ...path], undefined);
  return { faults, sound: sound.root as Loose<T> | undefined };
}

interface FlatIssue {
  readonly path: readonly PathStep[];
  readonly kind: string;
  readonly type: string;
  readonly expected: string | null;
  readonly input: unknown;
  readonly message: string;
  readonly requirement: unknown;
  readonly missing: boolean;
}

/** Issues inside a union count when they lie deeper than the union itself. */
function flatten(
  issues: readonly v.BaseIssue<unknown>[],
  before: readonly PathStep[],
): FlatIssue[] {
  return issues.flatMap((issue) => {
    const steps = issue.path ?? [];
    const path = [...before, ...steps.map(({ key }) => key as PathStep)];
    const deeper = (issue.issues ?? []).filter((inner) => (inner.path ?? []).length > 0);
    if (deeper.length > 0) return flatten(deeper, path);
    const { kind, type, expected, input, message, requirement } = issue;
    // JSON has no undefined, so an undefined value is one that is not there
    const missing = input === undefined;
    return [{ path, kind, type, expected, input, message, requirement, missing }];
  });
}

function faultOf(issue: FlatIssue, root: SchemaShape): SchemaFault {
  const { path, type, input, message: accept } = issue;
  if (issue.missing) {
    const name = path.at(-1);
    const wanted = schemaAt(root, path);
    const known = wanted === undefined ? {} : { accept: acceptedBy(wanted) };
    return {
      path,
      code: 'missing-field',
      message: `${typeof name === 'string' ? name : 'an item'} is missing`,
      ...known,
    };
  }
  const value = showValue(input);
  if (type === 'picklist' || type === 'literal') {
    const near = typeof input === 'string' ? nearMatch(input, accept.split(' | ')) : undefined;
    const hint = near === undefined ? '' : `; did you mean ${near}?`;
    return { path, code: 'not-one-of', message: `not an allowed word${hint}`, value, accept };
  }
  if (issue.kind === 'schema') {
    const message = `${kindOf(input)} is not accepted here`;
    return { path, code: 'wrong-type', message, value, accept: acceptOf(issue) };
  }
  if (typeof input === 'string' && input.trim() === '')
    return { path, code: 'missing-field', message: 'the text is empty', value, accept };
  if (Array.isArray(input))
    return { path, code: 'out-of-range', message: 'the list is empty', value: '[]', accept };
  if (issue.requirement === datePattern)
    return { path, code: 'bad-date', message: 'not a date', value, accept };
  if (type === 'integer')
    return { path, code: 'wrong-type', message: 'not a whole number', value, accept };
  if (typeof input === 'number')
    return { path, code: 'out-of-range', message: 'the number is out of range', value, accept };
  const message = type === 'max_length' ? 'the text is too long' : 'the text has the wrong form';
  return { path, code: type === 'max_length' ? 'too-large' : 'wrong-type', message, value, accept };
}

function acceptedBy(shape: SchemaShape): string {
  if (typeof shape.message === 'string') return shape.message;
  return `an object with ${Object.keys(shape.entries ?? {}).join(', ')}`;
}

function acceptOf(issue: FlatIssue): string {
  return issue.type === 'strict_object' ? 'an object { ... }' : issue.message;
}

/** Reports fields that the schema does not know and lists in the place of objects. */
function findStrays(
  shape: SchemaShape,
  value: unknown,
  path: readonly PathStep[],
  faults: SchemaFault[],
): void {
  if (typeof value !== 'object' || value === null) return;
  if (Array.isArray(value)) {
    if (shape.entries !== undefined)
      faults.push({
        path,
        code: 'wrong-type',
        message: 'a list is not accepted here',
        value: showValue(value),
        accept: 'an object { ... }',
      });
    const item = shape.item;
    const most = (shape.pipe ?? []).find(({ type }) => type === 'max_length')?.requirement;
    if (typeof most === 'number' && value.length > most)
      faults.push({
        path,
        code: 'too-large',
        message: 'too many items',
        value: `${value.length} items`,
        accept: `at most ${most} items`,
      });
    else if (item !== undefined)
      value.forEach((each, index) => {
        findStrays(item, each, [...path, index], faults);
      });
  } else if (shape.entries !== undefined) {
    const known = Object.keys(shape.entries);
    let strays = 0;
    for (const [key, each] of Object.entries(value)) {
      const entry = Object.hasOwn(shape.entries, key) ? shape.entries[key] : undefined;
      if (entry !== undefined) {
        findStrays(entry, each, [...path, key], faults);
        continue;
      }
      if (++strays > maxStrays) break;
      const near = nearMatch(key, known);
      faults.push({
        path: [...path, key],
        code: 'unknown-field',
        message: `unknown field${near === undefined ? '' : `; did you mean ${near}?`}`,
        value: key,
        accept: known.join(', '),
      });
    }
  }
  for (const inner of innerSchemas(shape)) findStrays(inner, value, path, faults);
}

/** Schemas that apply to the same value: what an optional one wraps, the options of a union. */
function innerSchemas(shape: SchemaShape): readonly SchemaShape[] {
  if (shape.wrapped !== undefined) return [shape.wrapped];
  return (shape.options ?? []).filter((option) => typeof option !== 'string');
}

function schemaAt(shape: SchemaShape, path: readonly PathStep[]): SchemaShape | undefined {
  const [step, ...rest] = path;
  if (step === undefined) return shape.wrapped === undefined ? shape : schemaAt(shape.wrapped, []);
  const next = memberOf(shape, step);
  if (next !== undefined) return schemaAt(next, rest);
  for (const inner of innerSchemas(shape)) {
    const found = schemaAt(inner, path);
    if (found !== undefined) return found;
  }
  return undefined;
}

function memberOf(shape: SchemaShape, step: PathStep): SchemaShape | undefined {
  if (typeof step === 'number') return shape.item ?? shape.items?.[step];
  return Object.hasOwn(shape.entries ?? {}, step) ? shape.entries?.[step] : undefined;
}

/** A value as the user would recognise it, not longer than a line. */
export function showValue(value: unknown): string {
  if (typeof value === 'string') return value;
  if (Array.isArray(value)) return value.length === 0 ? '[]' : `[ ${value.length} items ]`;
  if (typeof value === 'object' && value !== null) return '{ ... }';
  return String(value);
}

function kindOf(value: unknown): string {
  if (value === null) return 'null';
  if (Array.isArray(value)) return 'a list';
  if (typeof value === 'boolean') return 'true or false';
  return typeof value === 'object'
    ? 'an object'
    : typeof value === 'string'
      ? 'a text'
      : 'a number';
}

function copy(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(copy);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, copy(each)]));
}

/** Sets the value at a path or takes it out; a list keeps its places, so that indices still fit. */
function replace(branch: Branch, path: readonly PathStep[], value: unknown): void {
  const [step, ...rest] = path;
  const holder = branch as Record<PathStep, unknown>;
  if (step === undefined || !Object.hasOwn(holder, step)) return;
  const next = holder[step];
  if (rest.length > 0) {
    if (typeof next === 'object' && next !== null) replace(next as Branch, rest, value);
  } else if (value === undefined && !Array.isArray(branch)) delete holder[step];
  else holder[step] = value;
}
