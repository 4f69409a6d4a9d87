/** A number with a fixed count of decimals and a true minus sign; zero never carries a sign. */
export function fixed(value: number, decimals: number): string {
  const digits = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(digits) !== 0 ? `−${digits}` : digits;
}

/** A number with at most so many decimals, trailing zeros dropped. */
export function shortest(value: number, mostDecimals: number): string {
  const digits = fixed(value, mostDecimals);
  return digits.includes('.') ? digits.replace(/\.?0+$/, '') : digits;
}

/**
 * Limits and target of a working dimension, as far as they can be measured: mm with three decimals,
 * four when the band between the limits is narrower than 0.01 mm; um with at most two.
 */
export function dimensionText(
  value: number,
  band: { readonly lower: number; readonly upper: number; readonly unit: 'mm' | 'um' },
): string {
  if (band.unit === 'um') return shortest(value, 2);
  // a band of exactly 0.01 comes out of a binary subtraction a hair short
  return fixed(value, band.upper - band.lower < 0.01 - 1e-9 ? 4 : 3);
}

/** `45 min`, `2 h 05 min`; tenths below ten minutes. */
export function duration(minutes: number): string {
  if (minutes < 10) return `${shortest(minutes, 1)} min`;
  const whole = Math.round(minutes);
  if (whole < 60) return `${whole} min`;
  const rest = whole % 60;
  const hours = `${Math.floor(whole / 60)} h`;
  return rest === 0 ? hours : `${hours} ${String(rest).padStart(2, '0')} min`;
}

/** `1 working day`, `2.5 working days`. */
export function workingDays(days: number): string {
  const text = shortest(days, 1);
  return `${text} working ${text === '1' ? 'day' : 'days'}`;
}
