import { type Fault, fault, type Reading, read } from '../quantity/reading.js';
import { checkLength, plainText } from '../quantity/text.js';
import type { GeneralTolerance } from './types.js';

const accept =
  'ISO 2768 with a linear class f, m, c, v and a geometric class H, K, L, such as ISO 2768-mK';

const isLinear = (letter: string): letter is 'f' | 'm' | 'c' | 'v' => /^[fmcv]$/.test(letter);
const isGeometric = (letter: string): letter is 'H' | 'K' | 'L' => /^[HKL]$/.test(letter);

function badClass(column: number, letter: string): Fault {
  const other = letter === letter.toLowerCase() ? letter.toUpperCase() : letter.toLowerCase();
  const hint = isLinear(other) || isGeometric(other) ? ` (${other} is one)` : '';
  return fault(column, `${letter} is not a class of ISO 2768${hint}`, accept);
}

/**
 * Reads a general tolerance note: `ISO 2768-mK`, `ISO 2768-1 m`, `ISO 2768-2-K` or the classes
 * alone. Letter case counts: m is a linear class, H, K, L are geometric ones. An `-E` (envelope
 * requirement for all sizes) is reported and otherwise ignored.
 *
 * @example
 * parseGeneralTolerance('ISO 2768-mK').value // -> {"linear":"m","geometric":"K","text":"ISO 2768-mK"}
 */
export function parseGeneralTolerance(text: string): Reading<GeneralTolerance> {
  const tooLong = checkLength(text);
  if (tooLong !== undefined) return tooLong;
  const plain = plainText(text);
  if (/ISO\s*22081/i.test(plain))
    return fault(1, 'ISO 22081 has no classes', `the tolerances in figures, or ${accept}`);
  const head =
    /^\s*(?:(?:EN|DIN)\s*)*(?:ISO\s*)?2768(?:\s*-\s*[12](?![0-9]))?(?:\s*:\s*\d{4})?[\s-]*/i.exec(
      plain,
    );
  const start = head?.[0].length ?? /^\s*/.exec(plain)?.[0].length ?? 0;
  const [, letters = '', envelope] =
    /^([A-Za-z]{0,2})(\s*-\s*E)?\s*$/.exec(plain.slice(start)) ?? [];
  if (letters === '') return fault(start + 1, 'the class is missing or not understood', accept);
  let linear: GeneralTolerance['linear'];
  let geometric: GeneralTolerance['geometric'];
  for (const [index, letter] of [...letters].entries()) {
    if (isLinear(letter) && linear === undefined && geometric === undefined) linear = letter;
    else if (isGeometric(letter) && geometric === undefined) geometric = letter;
    else return badClass(start + index + 1, letter);
  }
  return read(
    {
      ...(linear === undefined ? {} : { linear }),
      ...(geometric === undefined ? {} : { geometric }),
      text: text.trim(),
    },
    envelope === undefined
      ? []
      : [
          {
            id: 'envelope-not-used',
            severity: 'note',
            message: 'the envelope requirement of the general tolerance does not enter the plan',
            source: 'ISO 8015, ISO 14405-1',
          },
        ],
  );
}
