import type { Place } from '../problems/problem.js';
import {
  parseAreaMm2,
  parseLengthMm,
  parseRoughnessUm,
  parseVolumeMm3,
  type QuantityOptions,
} from '../quantity/parse-quantity.js';
import type { Reading } from '../quantity/reading.js';
import type { AreaUnit, LengthUnit, RoughnessUnit, VolumeUnit } from '../quantity/units.js';
import type { ReadingLog } from './reading-log.js';

/** Unit of bare numbers and decimal mark at one place of the input. */
export interface Notation<Unit extends string> {
  readonly unit: Unit;
  readonly decimalComma?: boolean;
}

/** A number in the default unit or a text with a unit, as the schema allows it. */
export type Written = number | string | undefined;

type Parser<Unit extends string> = (
  text: string,
  options: QuantityOptions<Unit>,
) => Reading<number>;

/** What the value must be: `positive`, `from-zero` or any sign. */
export type Bound = 'positive' | 'from-zero' | 'any';

/** Gives the value in the base unit; undefined when absent or, with a problem in the log, wrong. */
export type MeasureReader<Unit extends string> = (
  written: Written,
  notation: Notation<Unit>,
  bound: Bound,
  place: Place,
  log: ReadingLog,
) => number | undefined;

function measureReader<Unit extends string>(parse: Parser<Unit>): MeasureReader<Unit> {
  return (written, { unit, decimalComma = false }, bound, place, log) => {
    if (written === undefined) return undefined;
    const reading =
      typeof written === 'number'
        ? parse(String(written), { defaultUnit: unit })
        : parse(written, { defaultUnit: unit, decimalComma });
    if (!reading.ok) {
      const message = `${reading.message} (character ${reading.column})`;
      log.problem('bad-quantity', place, message, written, reading.accept);
      return undefined;
    }
    const { value } = reading;
    if (bound !== 'any' && (value < 0 || (bound === 'positive' && value === 0))) {
      const accept = bound === 'positive' ? 'a value above 0' : 'a value of 0 or more';
      log.problem('out-of-range', place, 'the value is out of range', written, accept);
      return undefined;
    }
    return value;
  };
}

/** Reads a length, mm. */
export const readLengthMm: MeasureReader<LengthUnit> = measureReader(parseLengthMm);
/** Reads an area, mm2. */
export const readAreaMm2: MeasureReader<AreaUnit> = measureReader(parseAreaMm2);
/** Reads a volume, mm3. */
export const readVolumeMm3: MeasureReader<VolumeUnit> = measureReader(parseVolumeMm3);
/** Reads a roughness, um. */
export const readRoughnessUm: MeasureReader<RoughnessUnit> = measureReader(parseRoughnessUm);
