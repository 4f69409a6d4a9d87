/** The digits of a number that is not negative, without a power of ten. */
function plainDigits(value: number): { readonly whole: string; readonly fraction: string } {
  const [mantissa = '', power = '0'] = String(value).split('e');
  const [whole = '0', fraction = ''] = mantissa.split('.');
  const shift = Number(power);
  if (shift === 0) return { whole, fraction };
  if (shift < 0) return { whole: '0', fraction: `${'0'.repeat(-shift - 1)}${whole}${fraction}` };
  const padded = fraction.padEnd(shift, '0');
  return { whole: `${whole}${padded.slice(0, shift)}`, fraction: padded.slice(shift) };
}

/**
 * Prints a number with a fixed count of decimals. Rounds half away from zero on the shortest decimal
 * form of the number, so 1.005 becomes 1.01 as it does by hand. Never a power of ten, a group
 * separator or a negative zero.
 *
 * @throws RangeError when the number is not finite or the decimals are not 0 to 20
 * @example
 * formatFixed(1.005, 2) // -> "1.01"
 */
export function formatFixed(value: number, decimals: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`cannot print ${value}: not a finite number`);
  if (!Number.isInteger(decimals) || decimals < 0 || decimals > 20)
    throw new RangeError(`cannot print ${decimals} decimals: accepted are 0 to 20`);
  const { whole, fraction } = plainDigits(Math.abs(value));
  const kept = BigInt(`${whole}${fraction.slice(0, decimals).padEnd(decimals, '0')}`);
  const rounded = (fraction[decimals] ?? '0') >= '5' ? kept + 1n : kept;
  const digits = String(rounded).padStart(decimals + 1, '0');
  const point = digits.length - decimals;
  const text = decimals === 0 ? digits : `${digits.slice(0, point)}.${digits.slice(point)}`;
  return value < 0 && rounded !== 0n ? `-${text}` : text;
}

/**
 * Prints a number with at most so many decimals and no trailing zeros; rounds as `formatFixed`.
 *
 * @example
 * formatShort(25.0200001, 3) // -> "25.02"
 */
export function formatShort(value: number, maxDecimals: number): string {
  const text = formatFixed(value, maxDecimals);
  return text.includes('.') ? text.replace(/\.?0+$/, '') : text;
}

/**
 * Prints a length in mm, three decimals unless told otherwise; rounds as `formatFixed`.
 *
 * @example
 * formatMm(20.0205) // -> "20.021"
 */
export function formatMm(valueMm: number, decimals = 3): string {
  return formatFixed(valueMm, decimals);
}

/**
 * Prints a length in um, one decimal unless told otherwise; rounds as `formatFixed`.
 *
 * @example
 * formatUm(-0.04) // -> "0.0"
 */
export function formatUm(valueUm: number, decimals = 1): string {
  return formatFixed(valueUm, decimals);
}
