import type { Confidence } from '../problems/finding.js';
import { InputError } from '../problems/problem.js';
import { type SamplePlan, wholeFrom } from './sample-plans.js';

export type InspectionLevel = 'S-1' | 'S-2' | 'S-3' | 'S-4' | 'I' | 'II' | 'III';

/** Acceptance quality limits up to 10, in per cent bad (ISO 2859-1:1999, table 2-A). */
export type QualityLimit = (typeof qualityLimits)[number];

/** A plan for normal inspection of a lot with one sample. */
export interface NormalSamplePlan extends SamplePlan {
  /** Code letter of the lot, from which an arrow of the master table may lead to another. */
  readonly lotLetter: string;
  /** Code letter of the plan that is used. */
  readonly planLetter: string;
  /** How far the row of the table may be trusted. */
  readonly confidence: Confidence;
}

/** Code letters; I and O are left out. */
const letters = 'ABCDEFGHJKLMNPQR';

// Sample sizes of the letters, ISO 2859-1:1999 (read in a copy of the tables).
const sampleSizes: readonly number[] = [
  2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000,
];

const levels: readonly InspectionLevel[] = ['S-1', 'S-2', 'S-3', 'S-4', 'I', 'II', 'III'];

// Largest lot of each row and its letters for the levels above: ISO 2859-1:1999, table 1; general
// levels read in a copy of the tables, special levels from memory.
const letterRows: readonly (readonly [largestLot: number, letters: string])[] = [
  [8, 'AAAAAAB'],
  [15, 'AAAAABC'],
  [25, 'AABBBCD'],
  [50, 'ABBCCDE'],
  [90, 'BBCCCEF'],
  [150, 'BBCDDFG'],
  [280, 'BCDEEGH'],
  [500, 'BCDEFHJ'],
  [1200, 'CCEFGJK'],
  [3200, 'CDEGHKL'],
  [10_000, 'CDFGJLM'],
  [35_000, 'CDFHKMN'],
  [150_000, 'DEGJLNP'],
  [500_000, 'DEGJMPQ'],
  [Number.POSITIVE_INFINITY, 'DEHKNQR'],
];

/** From the strictest on; each moves the column of the master table up by one letter. */
export const qualityLimits = [
  0.01, 0.015, 0.025, 0.04, 0.065, 0.1, 0.15, 0.25, 0.4, 0.65, 1, 1.5, 2.5, 4, 6.5, 10,
] as const;

// Master table for normal inspection, ISO 2859-1:1999, table 2-A, from memory: a column begins with
// the letter that accepts no bad part (Q for 0.01, A for 6.5); three letters on it accepts 1 and goes
// on as below. Letters before the first follow the arrow down to it; the letter after it follows the
// arrow up, the one after that the arrow down.
const acceptFromThird: readonly number[] = [1, 2, 3, 5, 7, 10, 14, 21];
const firstLetterOfStrictest = letters.indexOf('Q');

/** Plans of the master table that were seen in print: Birolini, Reliability Engineering, 2007, figure 7.4. */
const seen: ReadonlySet<string> = new Set(['0.65F', '0.65J', '0.65N']);

/**
 * Single sampling plan for normal inspection by attributes: code letter by lot and level, sample size
 * and acceptance number by code letter and acceptance quality limit in per cent bad (ISO 2859-1:1999,
 * tables 1 and 2-A). A sample as large as the lot is the lot, accepted with no bad part. Throws
 * `InputError` when the lot is not a whole number from 2, or level or limit is not of the standard.
 *
 * @example
 * normalSamplePlan(150, 1) // -> {"lotLetter":"F","planLetter":"E","sampleSize":13,"accept":0,"reject":1,"confidence":"memory"}
 */
export function normalSamplePlan(
  lotSize: number,
  limitPercent: QualityLimit,
  level: InspectionLevel = 'II',
): NormalSamplePlan {
  const column = qualityLimits.indexOf(limitPercent);
  const problems = [
    ...wholeFrom('lotSize', lotSize, 2, 1e9),
    ...oneOf('limitPercent', limitPercent, qualityLimits),
    ...oneOf('level', level, levels),
  ];
  if (problems.length > 0) throw new InputError(problems);
  const row = letterRows.find(([largest]) => lotSize <= largest)?.[1] ?? '';
  const lotLetter = row[levels.indexOf(level)] ?? '';
  const { letter, accept } = planOf(letters.indexOf(lotLetter), firstLetterOfStrictest - column);
  const planLetter = letters[letter] ?? '';
  const sampleSize = sampleSizes[letter] ?? 0;
  const confidence = seen.has(`${limitPercent}${planLetter}`) ? 'read' : 'memory';
  const all = sampleSize >= lotSize;
  return {
    lotLetter,
    planLetter,
    sampleSize: all ? lotSize : sampleSize,
    accept: all ? 0 : accept,
    reject: all ? 1 : accept + 1,
    confidence,
  };
}

/** Follows the arrows of a column to a plan; `first` is the letter that accepts none, below 0 off the table. */
function planOf(
  letter: number,
  first: number,
): { readonly letter: number; readonly accept: number } {
  const last = first + 3 + acceptFromThird.length - 1;
  const at = Math.min(letter, last);
  const third = first + 3;
  if (at >= third) return { letter: at, accept: acceptFromThird[at - third] ?? 0 };
  const arrowDown = at === first + 2 && third < letters.length;
  if (first < 0 || arrowDown) return { letter: third, accept: 1 };
  return { letter: first, accept: 0 };
}

function oneOf<T extends string | number>(
  path: string,
  value: T,
  accepted: readonly T[],
): ConstructorParameters<typeof InputError>[0] {
  if (accepted.includes(value)) return [];
  return [
    {
      code: 'not-one-of',
      place: { path },
      message: 'not a value of the standard',
      value: String(value),
      accept: accepted.join(', '),
    },
  ];
}
