import { InputError, type ProblemCode } from '../problems/problem.js';
import type { Reading } from '../quantity/reading.js';

/** The value of a reading, or an InputError that says what would have been accepted. */
export function valueOrThrow<T>(reading: Reading<T>, code: ProblemCode, seen: string): T {
  if (reading.ok) return reading.value;
  const { message, accept } = reading;
  throw new InputError([{ code, place: {}, message, value: seen, accept }]);
}
