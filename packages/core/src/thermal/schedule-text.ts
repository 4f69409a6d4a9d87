/** How a load is cooled, as far as the words of a schedule say. */
export interface Cooling {
  /** Rate that the text gives, C/min, the slow end of a range. */
  readonly rateCPerMin?: number;
  readonly manner: 'furnace' | 'gas' | 'air' | 'fan' | 'quench';
  /** Temperature down to which inert gas or vacuum is kept, C. */
  readonly inertBelowC?: number;
  /** Temperature that the whole section must fall below, C. */
  readonly finishBelowC?: number;
}

/**
 * Reads the cooling of a schedule: a rate in C/h or C/min when it gives one, the manner, the
 * temperature down to which it stays inert, the temperature that it must fall below. Where several
 * manners are allowed the slower one counts.
 *
 * @example
 * readCooling('furnace or argon cool, inert to below 425 °C') // -> {"manner":"gas","inertBelowC":425}
 */
export function readCooling(text: string): Cooling {
  const rateCPerMin = rateIn(text);
  const below = /\bbelow (\d+) °?C/.exec(text)?.[1];
  const inert = /inert|protective|argon|vacuum/.test(text);
  return {
    ...(rateCPerMin === undefined ? {} : { rateCPerMin }),
    manner: mannerOf(text),
    ...(below !== undefined && inert ? { inertBelowC: Number(below) } : {}),
    ...(below !== undefined && !inert && Number(below) < 100
      ? { finishBelowC: Number(below) }
      : {}),
  };
}

function rateIn(text: string): number | undefined {
  const found = /(\d+(?:\.\d+)?)(?:-\d+(?:\.\d+)?)? °?C\/(h|min)/.exec(text);
  if (found === null) return undefined;
  return Number(found[1]) / (found[2] === 'h' ? 60 : 1);
}

function mannerOf(text: string): Cooling['manner'] {
  if (/furnace|slow/.test(text)) return /argon|gas|\bair\b/.test(text) ? 'gas' : 'furnace';
  if (/\bair\b/.test(text)) return 'air';
  if (/fan|rapid|fast/.test(text)) return 'fan';
  if (/quench|water|oil/.test(text)) return 'quench';
  return 'gas';
}

/**
 * Whether the load goes on to the second step inside the furnace, or cools to room temperature
 * between the steps.
 *
 * @example
 * coolsBetween('air cool to room temperature between') // -> true
 */
export function coolsBetween(text: string): boolean {
  return !/furnace cool/.test(text);
}
