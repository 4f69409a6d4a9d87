import { type Fault, fault } from './reading.js';

/** Longest text that a reader of sizes, quantities or tolerances looks at. */
export const maxTextLength = 200;

/** The fault of a text that is too long to be looked at. */
export function checkLength(text: string): Fault | undefined {
  return text.length <= maxTextLength
    ? undefined
    : fault(maxTextLength + 1, 'the text is too long', `at most ${maxTextLength} characters`);
}

// One character for one, so that a column in the plain text is a column in the user's text.
const plainForms: ReadonlyMap<string, string> = new Map([
  ['\u2212', '-'], // minus sign
  ['\u2010', '-'], // hyphen
  ['\u2011', '-'], // hard hyphen
  ['\u2013', '-'], // en dash
  ['\u2014', '-'], // em dash
  ['\u00d8', '⌀'], // O with stroke
  ['\u00f8', '⌀'], // o with stroke
  ['\u2205', '⌀'], // empty set
  ['\u03a6', '⌀'], // Greek capital phi
  ['\u03c6', '⌀'], // Greek phi
  ['\u03bc', 'µ'], // Greek mu
  ['\u00d7', 'x'], // multiplication sign
  ['\u2033', '"'], // double prime
  ['\u201d', '"'], // closing quotation mark
  ['\u00ba', '°'], // ordinal sign typed for a degree
]);

/**
 * The same text with the look-alikes of minus, diameter, micro, times, inch and degree in one
 * form each, and every kind of space as a space.
 */
export function plainText(text: string): string {
  return text.replace(/[^\x20-\x7e]/g, (character) =>
    /\s/.test(character) ? ' ' : (plainForms.get(character) ?? character),
  );
}

/** The next character that is no space, from `at` on; the length of the text when none is left. */
export function skipSpaces(text: string, at: number): number {
  let next = at;
  while (text[next] === ' ') next++;
  return next;
}
