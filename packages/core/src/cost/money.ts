/**
 * Money is counted in whole minor units (cents). A charge is rounded once, where its line is made, so
 * that printed lines add up to the printed total.
 *
 * @param ratePerHour major units per hour
 * @returns minor units, rounded half away from zero
 */
export function charge(minutes: number, ratePerHour: number, minorPerMajor: number): number {
  return toMinor((minutes / 60) * ratePerHour, minorPerMajor);
}

/** Major units to whole minor units, half away from zero. */
export function toMinor(major: number, minorPerMajor: number): number {
  // The nudge undoes binary noise such as 1.005 * 100 = 100.49999999999999.
  const scaled = major * minorPerMajor;
  return Math.sign(scaled) * Math.round(Math.abs(scaled) * (1 + 1e-12));
}

/** A share of whole minor units in per cent, whole again, half away from zero. */
export function percentOf(minor: number, percent: number): number {
  return toMinor((minor * percent) / 100, 1);
}

/** Splits a lot amount over parts for display: rounded to whole minor units. */
export function perPart(lotMinor: number, quantity: number): number {
  return Math.sign(lotMinor) * Math.round(Math.abs(lotMinor) / quantity);
}

/** `123456` -> `1234.56` by the currency's minor digits; no locale. */
export function formatMoney(minor: number, minorDigits: number): string {
  const sign = minor < 0 ? '-' : '';
  const digits = String(Math.abs(minor)).padStart(minorDigits + 1, '0');
  if (minorDigits === 0) return `${sign}${digits}`;
  return `${sign}${digits.slice(0, -minorDigits)}.${digits.slice(-minorDigits)}`;
}
