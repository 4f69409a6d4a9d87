/**
 * Whether a text is a day of the Gregorian calendar written `YYYY-MM-DD` (ISO 8601-1), years 1900 to
 * 2199.
 *
 * @example
 * isCalendarDate('2027-02-29') // -> false
 */
export function isCalendarDate(text: string): boolean {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text);
  if (match === null) return false;
  const [year = 0, month = 0, day = 0] = match.slice(1).map(Number);
  const leap = (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0;
  const days = [31, leap ? 29 : 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][month - 1] ?? 0;
  return year >= 1900 && year <= 2199 && day >= 1 && day <= days;
}
