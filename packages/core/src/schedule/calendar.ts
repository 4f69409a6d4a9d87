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

/** When a shop works. */
export interface WorkingCalendar {
  /** Working days of a week, counted from Monday, 1 to 7. */
  readonly daysPerWeek: number;
  /** Days on which nobody works, `YYYY-MM-DD`. */
  readonly closedOn: readonly string[];
}

/** Days of one calendar, ready to ask for many days. */
function workingDayTest({ daysPerWeek, closedOn }: WorkingCalendar): (day: number) => boolean {
  if (!(daysPerWeek >= 1)) throw new RangeError(`no working day in a week: ${daysPerWeek}`);
  const closed = new Set(closedOn.map(dayNumber));
  return (day) => weekday(day) < daysPerWeek && !closed.has(day);
}

/**
 * Day on which work of some working days is done when it starts on a day; the start itself counts as
 * the first day when it is a working day. Dates as `YYYY-MM-DD` (ISO 8601-1, Gregorian calendar).
 *
 * @param workingDays whole or part days, from 0; part days count as a day, none as the first
 * @throws RangeError for a text that is no date, and for a week without a working day
 *
 * @example
 * addWorkingDays('2028-02-28', 3, { daysPerWeek: 5, closedOn: ['2028-02-29'] }) // -> "2028-03-02"
 */
export function addWorkingDays(
  startOn: string,
  workingDays: number,
  calendar: WorkingCalendar,
): string {
  const works = workingDayTest(calendar);
  let day = dayNumber(startOn);
  let left = Math.max(1, Math.ceil(workingDays - 1e-9));
  for (;;) {
    if (works(day)) left -= 1;
    if (left === 0) return dateOf(day);
    day += 1;
  }
}

/**
 * Last day on which work of some working days can start so that it is done on a day or before; the
 * counterpart of `addWorkingDays`. Dates as `YYYY-MM-DD`.
 *
 * @param workingDays whole or part days, from 0; part days count as a day, none as one
 * @throws RangeError for a text that is no date, and for a week without a working day
 *
 * @example
 * latestStart('2028-03-03', 3, { daysPerWeek: 5, closedOn: ['2028-02-29'] }) // -> "2028-03-01"
 */
export function latestStart(dueOn: string, workingDays: number, calendar: WorkingCalendar): string {
  const works = workingDayTest(calendar);
  let day = dayNumber(dueOn);
  let left = Math.max(1, Math.ceil(workingDays - 1e-9));
  for (;;) {
    if (works(day)) left -= 1;
    if (left === 0) return dateOf(day);
    day -= 1;
  }
}

/**
 * Working days after a day up to and including another; negative when that lies before. Dates as
 * `YYYY-MM-DD`.
 *
 * @throws RangeError for a text that is no date, and for a week without a working day
 *
 * @example
 * workingDaysBetween('2027-12-23', '2028-01-03', { daysPerWeek: 5, closedOn: ['2027-12-24', '2027-12-31'] }) // -> 5
 */
export function workingDaysBetween(from: string, to: string, calendar: WorkingCalendar): number {
  const works = workingDayTest(calendar);
  const start = dayNumber(from);
  const end = dayNumber(to);
  const [low, high] = start <= end ? [start, end] : [end, start];
  const weeks = Math.floor((high - low) / 7);
  const last = low + weeks * 7;
  let count = weeks * Math.min(7, Math.floor(calendar.daysPerWeek));
  for (let day = last + 1; day <= high; day++) if (works(day)) count += 1;
  for (const closed of new Set(calendar.closedOn.map(dayNumber)))
    if (closed > low && closed <= last && weekday(closed) < calendar.daysPerWeek) count -= 1;
  return start <= end ? count : -count;
}
