import { scaleDecimal, scanDecimal } from './decimal.js';
import { type Fault, fault, type NumberOptions, type Reading, read } from './reading.js';
import { checkLength, plainText, skipSpaces } from './text.js';
import {
  type AngleUnit,
  type AreaUnit,
  angleUnits,
  areaUnits,
  findUnit,
  type LengthUnit,
  lengthUnits,
  type MassUnit,
  massUnits,
  type PressureUnit,
  pressureUnits,
  type RoughnessUnit,
  roughnessUnits,
  type TemperatureUnit,
  type TimeUnit,
  temperatureDifferenceUnits,
  temperatureUnits,
  timeUnits,
  type UnitTable,
  type VolumeUnit,
  volumeUnits,
} from './units.js';

/** How a quantity is written. Without a default unit, a number alone is a fault. */
export interface QuantityOptions<Name extends string> extends NumberOptions {
  readonly defaultUnit?: Name;
}

interface SignedNumber {
  readonly value: number;
  readonly coefficient: number;
  readonly decimals: number;
  readonly end: number;
}

/** A number with optional sign and power of ten, from the first character that is no space. */
function scanSigned(text: string, options: NumberOptions): SignedNumber | Fault {
  const start = skipSpaces(text, 0);
  const sign = text[start] === '-' ? -1 : 1;
  const signed = text[start] === '-' || text[start] === '+';
  const decimal = scanDecimal(text, signed ? start + 1 : start, options);
  if ('ok' in decimal) return decimal;
  const power = /^[eE]([+-]?\d+)/.exec(text.slice(decimal.end));
  const exponent = power === null ? 0 : Number(power[1]);
  const decimals = Math.max(0, decimal.decimals - exponent);
  const shift = decimals - (decimal.decimals - exponent);
  // + 0 turns a written -0 into 0
  const value = sign * Number(`${decimal.digits}e${exponent - decimal.decimals}`) + 0;
  if (!Number.isFinite(value) || decimals > 300)
    return fault(start + 1, 'the number is too large or too small', 'an ordinary number');
  return {
    value,
    coefficient: sign * decimal.coefficient * Number(`1e${shift}`),
    decimals,
    end: decimal.end + (power?.[0].length ?? 0),
  };
}

/**
 * Reads a plain number without a unit.
 *
 * @example
 * parseNumber('12,5', { decimalComma: true }) // -> {"ok":true,"value":12.5,"findings":[]}
 */
export function parseNumber(text: string, options: NumberOptions = {}): Reading<number> {
  const tooLong = checkLength(text);
  if (tooLong !== undefined) return tooLong;
  const plain = plainText(text);
  const number = scanSigned(plain, options);
  if ('ok' in number) return number;
  const next = skipSpaces(plain, number.end);
  if (next < plain.length)
    return fault(next + 1, 'something stands after the number', 'a number alone');
  return read(number.value);
}

function parseQuantity<Name extends string>(
  text: string,
  table: UnitTable<Name>,
  options: QuantityOptions<Name>,
): Reading<number> {
  const tooLong = checkLength(text);
  if (tooLong !== undefined) return tooLong;
  const plain = plainText(text);
  const number = scanSigned(plain, options);
  if ('ok' in number) return number;
  const unitAt = skipSpaces(plain, number.end);
  const word = plain.slice(unitAt).trimEnd();
  const unit = word === '' ? options.defaultUnit : findUnit(table, word);
  if (unit === undefined)
    return word === ''
      ? fault(unitAt + 1, 'the unit is missing', `a unit of ${table.what}: ${table.accept}`)
      : fault(
          unitAt + 1,
          `this is not a unit of ${table.what}`,
          `a unit of ${table.what}: ${table.accept}`,
        );
  const value = scaleDecimal(number, table.factors[unit]);
  if (!Number.isFinite(value))
    return fault(1, 'the number is too large or too small', 'an ordinary number');
  return read(value + 0);
}

/**
 * Reads a length: a number with mm, cm, m, um, nm, in, thou or mil. The inch is 25.4 mm exactly.
 *
 * @returns mm
 * @example
 * parseLengthMm('0.8 in').value // -> 20.32
 */
export function parseLengthMm(
  text: string,
  options: QuantityOptions<LengthUnit> = {},
): Reading<number> {
  return parseQuantity(text, lengthUnits, options);
}

/**
 * Reads an angle: a number with deg, rad or arcmin.
 *
 * @returns degrees
 * @example
 * parseAngleDeg('30 arcmin').value // -> 0.5
 */
export function parseAngleDeg(
  text: string,
  options: QuantityOptions<AngleUnit> = {},
): Reading<number> {
  return parseQuantity(text, angleUnits, options);
}

/**
 * Reads a temperature: a number with C, F or K. Nothing below absolute zero is accepted.
 *
 * @returns degrees Celsius
 * @example
 * parseTemperatureC('1950 degF').value // -> ~1065.5556
 */
export function parseTemperatureC(
  text: string,
  options: QuantityOptions<TemperatureUnit> = {},
): Reading<number> {
  const reading = parseQuantity(text, temperatureUnits, options);
  return reading.ok && reading.value < -273.15
    ? fault(1, 'a temperature below absolute zero', 'at least -273.15 C')
    : reading;
}

/**
 * Reads a difference between two temperatures, which has no zero point.
 *
 * @returns kelvin
 * @example
 * parseTemperatureDifferenceK('18 degF').value // -> 10
 */
export function parseTemperatureDifferenceK(
  text: string,
  options: QuantityOptions<TemperatureUnit> = {},
): Reading<number> {
  return parseQuantity(text, temperatureDifferenceUnits, options);
}

/**
 * Reads a time: a number with s, min, h or d (24 hours).
 *
 * @returns minutes
 * @example
 * parseMinutes('1.5 h').value // -> 90
 */
export function parseMinutes(
  text: string,
  options: QuantityOptions<TimeUnit> = {},
): Reading<number> {
  return parseQuantity(text, timeUnits, options);
}

/**
 * Reads a mass: a number with kg, g or lb (0.45359237 kg).
 *
 * @returns kg
 * @example
 * parseMassKg('250 g').value // -> 0.25
 */
export function parseMassKg(
  text: string,
  options: QuantityOptions<MassUnit> = {},
): Reading<number> {
  return parseQuantity(text, massUnits, options);
}

/**
 * Reads a pressure or stress: a number with MPa, bar, psi or ksi.
 *
 * @returns MPa
 * @example
 * parsePressureMPa('15 ksi').value // -> ~103.4214
 */
export function parsePressureMPa(
  text: string,
  options: QuantityOptions<PressureUnit> = {},
): Reading<number> {
  return parseQuantity(text, pressureUnits, options);
}

/**
 * Reads an area: a number with mm2, cm2, m2 or in2 (`mm²` and `mm^2` too).
 *
 * @returns mm2
 * @example
 * parseAreaMm2('2 in²').value // -> 1290.32
 */
export function parseAreaMm2(
  text: string,
  options: QuantityOptions<AreaUnit> = {},
): Reading<number> {
  return parseQuantity(text, areaUnits, options);
}

/**
 * Reads a volume: a number with mm3, cm3, m3, ml, l or in3.
 *
 * @returns mm3
 * @example
 * parseVolumeMm3('12.5 cm3').value // -> 12500
 */
export function parseVolumeMm3(
  text: string,
  options: QuantityOptions<VolumeUnit> = {},
): Reading<number> {
  return parseQuantity(text, volumeUnits, options);
}

/**
 * Reads a roughness height: a number with um, nm or uin.
 *
 * @returns um
 * @example
 * parseRoughnessUm('63 µin').value // -> 1.6002
 */
export function parseRoughnessUm(
  text: string,
  options: QuantityOptions<RoughnessUnit> = {},
): Reading<number> {
  return parseQuantity(text, roughnessUnits, options);
}
