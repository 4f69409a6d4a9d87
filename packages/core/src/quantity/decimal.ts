import { type Fault, fault, type NumberOptions } from './reading.js';

/** A decimal number as written: value = coefficient / 10^decimals. */
export interface Decimal {
  readonly value: number;
  /** All digits, the mark left out. */
  readonly digits: string;
  readonly coefficient: number;
  readonly decimals: number;
  /** Index of the first character after the number. */
  readonly end: number;
}

const numberAccept = (comma: boolean): string =>
  comma ? 'a number such as 12,5 (decimal comma)' : 'a number such as 12.5 (decimal point)';

/**
 * Reads the unsigned decimal number that starts at `at`. Thousands separators are faults: "1,500"
 * must become neither 1.5 nor 1500 by guess. With a decimal comma a point is still understood,
 * except before exactly three digits, where it may be a thousands separator.
 */
export function scanDecimal(text: string, at: number, options: NumberOptions): Decimal | Fault {
  const comma = options.decimalComma === true;
  const found = /^(\d*)(?:([.,])(\d*))?/.exec(text.slice(at));
  const whole = found?.[1] ?? '';
  const mark = found?.[2];
  const fraction = found?.[3] ?? '';
  if (whole === '' && fraction === '')
    return fault(at + 1, 'a number is expected here', numberAccept(comma));
  const markColumn = at + whole.length + 1;
  // A mark without digits behind it ends the number: "5..6" are limits, "10, x" a list.
  const decimal = fraction !== '' || (mark === '.' && text[markColumn] !== '.');
  if (mark === ',' && decimal && !comma)
    return fault(markColumn, 'a comma in a number', numberAccept(false));
  if (mark === '.' && comma && fraction.length === 3 && whole !== '' && whole !== '0')
    return fault(
      markColumn,
      'a point before three digits where numbers have a decimal comma',
      numberAccept(true),
    );
  const used = decimal ? whole.length + 1 + fraction.length : whole.length;
  const end = at + used;
  if (/^[.,]\d/.test(text.slice(end)))
    return fault(end + 1, 'a second decimal mark or a thousands separator', numberAccept(comma));
  const digits = `${whole}${fraction}`;
  const value = Number(`${whole === '' ? '0' : whole}.${fraction === '' ? '0' : fraction}`);
  return { value, digits, coefficient: Number(digits), decimals: fraction.length, end };
}

/**
 * (number + offset) x numerator / denominator with a single rounding wherever the integers stay
 * exact, so that 0.8 in is 20.32 mm and not 20.320000000000004.
 */
export function scaleDecimal(
  decimal: Pick<Decimal, 'value' | 'coefficient' | 'decimals'>,
  factor: Factor,
): number {
  const { numerator, denominator, offsetNumerator = 0, offsetDenominator = 1 } = factor;
  const ten = Number(`1e${decimal.decimals}`);
  const top = (decimal.coefficient * offsetDenominator + offsetNumerator * ten) * numerator;
  const bottom = ten * offsetDenominator * denominator;
  if (Number.isSafeInteger(top) && Number.isSafeInteger(bottom)) return top / bottom;
  return ((decimal.value + offsetNumerator / offsetDenominator) * numerator) / denominator;
}

/** Exact factor of a unit to the base unit: (number + offset) x numerator / denominator. */
export interface Factor {
  readonly numerator: number;
  readonly denominator: number;
  readonly offsetNumerator?: number;
  readonly offsetDenominator?: number;
}
