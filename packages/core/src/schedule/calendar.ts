/** Days since 1970-01-01 of a calendar date `YYYY-MM-DD` (proleptic Gregorian calendar). */
export function dayNumber(date: string): number {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(date);
  if (match === null) throw new RangeError(`not a date: ${date}`);
  const [, year, month, day] = match.map(Number) as [number, number, number, number];
  const shifted = month <= 2 ? year - 1 : year;
  const era = Math.floor(shifted / 400);
  const yearOfEra = shifted - era * 400;
  const dayOfYear = Math.floor((153 * (month + (month > 2 ? -3 : 9)) + 2) / 5) + day - 1;
  const dayOfEra =
    yearOfEra * 365 + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100) + dayOfYear;
  return era * 146_097 + dayOfEra - 719_468;
}

/** The date of a day number, `YYYY-MM-DD`. */
export function dateOf(day: number): string {
  const shifted = day + 719_468;
  const era = Math.floor(shifted / 146_097);
  const dayOfEra = shifted - era * 146_097;
  const yearOfEra = Math.floor(
    (dayOfEra -
      Math.floor(dayOfEra / 1460) +
      Math.floor(dayOfEra / 36_524) -
      Math.floor(dayOfEra / 146_096)) /
      365,
  );
  const dayOfYear =
    dayOfEra - (365 * yearOfEra + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100));
  const monthIndex = Math.floor((5 * dayOfYear + 2) / 153);
  const day0 = dayOfYear - Math.floor((153 * monthIndex + 2) / 5) + 1;
  const month = monthIndex < 10 ? monthIndex + 3 : monthIndex - 9;
  const year = yearOfEra + era * 400 + (month <= 2 ? 1 : 0);
  return `${String(year).padStart(4, '0')}-${String(month).padStart(2, '0')}-${String(day0).padStart(2, '0')}`;
}

/** 0 = Monday ... 6 = Sunday. */
export function weekday(day: number): number {
  return (((day + 3) % 7) + 7) % 7;
}

/**
 * Date on which work of some working days is done when it starts on `startOn`; the start itself
 * counts as the first day when it is a working day.
 *
 * @param workingDays whole or part days; part days count as a day
 * @param perWeek working days of a week, from Monday
 */
export function addWorkingDays(startOn: string, workingDays: number, perWeek: number): string {
  let day = dayNumber(startOn);
  let left = Math.max(1, Math.ceil(workingDays - 1e-9));
  for (;;) {
    if (weekday(day) < perWeek) left -= 1;
    if (left === 0) return dateOf(day);
    day += 1;
  }
}

/** Working days after `from` up to and including `to`; negative when `to` lies before. */
export function workingDaysBetween(from: string, to: string, perWeek: number): number {
  const start = dayNumber(from);
  const end = dayNumber(to);
  const [low, high] = start <= end ? [start, end] : [end, start];
  const weeks = Math.floor((high - low) / 7);
  let count = weeks * perWeek;
  for (let day = low + weeks * 7 + 1; day <= high; day++) if (weekday(day) < perWeek) count += 1;
  return start <= end ? count : -count;
}
