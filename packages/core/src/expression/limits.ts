import type { TreeOperation } from '../stack/function-tree.js';

/** Longest text of an expression, characters. */
export const textLimit = 4096;
/** Deepest nesting: parentheses, chained powers and signs in front of one another. */
export const nestingLimit = 64;
/** Longest name, characters. */
export const nameLimit = 64;
/** More problems than this are not listed. */
export const problemLimit = 20;

/** Names that stand for a number and so cannot be variables. `60 * deg` is 60 degrees in radians. */
export const constantNames: ReadonlyMap<string, number> = new Map([
  ['pi', Math.PI],
  ['deg', Math.PI / 180],
]);

/** Functions and how many arguments they take. Angles go in and come out in radians. */
export const functionNames: ReadonlyMap<
  string,
  { readonly operation: TreeOperation | 'hypot'; readonly least: number; readonly most: number }
> = new Map([
  ['sqrt', { operation: 'sqrt', least: 1, most: 1 }],
  ['abs', { operation: 'abs', least: 1, most: 1 }],
  ['sin', { operation: 'sin', least: 1, most: 1 }],
  ['cos', { operation: 'cos', least: 1, most: 1 }],
  ['tan', { operation: 'tan', least: 1, most: 1 }],
  ['asin', { operation: 'asin', least: 1, most: 1 }],
  ['acos', { operation: 'acos', least: 1, most: 1 }],
  ['atan', { operation: 'atan', least: 1, most: 1 }],
  ['atan2', { operation: 'atan2', least: 2, most: 2 }],
  ['exp', { operation: 'exp', least: 1, most: 1 }],
  ['log', { operation: 'log', least: 1, most: 1 }],
  ['min', { operation: 'min', least: 2, most: 100 }],
  ['max', { operation: 'max', least: 2, most: 100 }],
  ['hypot', { operation: 'hypot', least: 2, most: 100 }],
]);

/** Words with a meaning of their own in the full grammar, and names that every object carries. */
export const refusedNames: ReadonlySet<string> = new Set([
  'and',
  'constructor',
  'end',
  'false',
  'hasOwnProperty',
  'in',
  'Infinity',
  'isPrototypeOf',
  'mod',
  'NaN',
  'not',
  'null',
  'or',
  'propertyIsEnumerable',
  'prototype',
  'to',
  'toLocaleString',
  'toString',
  'true',
  'undefined',
  'valueOf',
  'xor',
]);
