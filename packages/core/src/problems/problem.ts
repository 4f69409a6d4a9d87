/** Where in the user's input something stands. Lines and columns count from 1. */
export interface Place {
  readonly file?: string;
  readonly line?: number;
  /** Column header of a CSV cell, or character position in a text. */
  readonly column?: string | number;
  /** JSON path, e.g. `features[3].size`. */
  readonly path?: string;
}

/**
 * One thing that is wrong in the user's input: what, where, the value seen, and what would be
 * accepted. Readers collect all problems of an input before they report.
 */
export interface Problem {
  readonly code: ProblemCode;
  readonly place: Place;
  readonly message: string;
  /** The offending value as the user wrote it. */
  readonly value?: string;
  /** What would be accepted here. */
  readonly accept?: string;
}

/**
 * The closed set of problem codes. The table is the single source: the type, the documentation page
 * and the tests derive from it.
 */
export const problemCodes = {
  'json-syntax': 'the text is not valid JSON',
  'json-duplicate-key': 'a JSON object names the same key twice',
  'unknown-field': 'a field that the schema does not know',
  'missing-field': 'a required field is absent',
  'wrong-type': 'the value has the wrong type',
  'out-of-range': 'a number lies outside its allowed range',
  'not-one-of': 'the value is not one of the allowed words',
  'bad-number': 'the text is not a number',
  'bad-quantity': 'the text is not a number with a known unit',
  'bad-size': 'the size text is not understood',
  'bad-tolerance': 'a geometric tolerance text is not understood',
  'bad-expression': 'the text of a function is not in the expression grammar',
  'bad-date': 'the text is not a calendar date YYYY-MM-DD',
  'duplicate-id': 'an id is used twice',
  'unknown-id': 'an id that nothing defines',
  'unknown-datum': 'a datum letter that no feature carries',
  inconsistent: 'two values contradict each other',
  'csv-syntax': 'the CSV text cannot be split into cells',
  'csv-header': 'a header row is absent, empty or names a column twice',
  'csv-width': 'a row has more or fewer cells than the header',
  encoding: 'the bytes are not text in a supported encoding',
  'too-large': 'the input exceeds a stated limit',
  'mesh-format': 'the bytes are not a mesh in a supported format, or break its rules',
  'file-missing': 'a file that the job names cannot be read',
} as const;

export type ProblemCode = keyof typeof problemCodes;

/** Thrown by readers that cannot return a value; carries every problem found. */
export class InputError extends Error {
  override readonly name: string = 'InputError';
  readonly problems: readonly Problem[];
  constructor(problems: readonly Problem[]) {
    super(problems.map(formatProblem).join('\n'));
    this.problems = problems;
  }
}

/** One line for a person: place, what, value seen, what would be accepted. */
export function formatProblem(problem: Problem): string {
  const { file, line, column, path } = problem.place;
  const spot = [file, line, column].filter((part) => part !== undefined).join(':');
  const place = [spot, path].filter((part) => part !== undefined && part !== '').join(' ');
  const seen = problem.value === undefined ? '' : ` (found ${quoteValue(problem.value)})`;
  const accept = problem.accept === undefined ? '' : `; accepted: ${problem.accept}`;
  return `${place === '' ? '' : `${place}: `}${problem.message}${seen}${accept}`;
}

/** A user's value, shortened and with control characters made visible. */
export function quoteValue(value: string): string {
  const shown = value.length > 60 ? `${value.slice(0, 57)}...` : value;
  return JSON.stringify(shown);
}
