import {
  addWorkingDays,
  defaultCatalog,
  type Job,
  jobVocabulary,
  latestStart,
  lotFlow,
  planJob,
  type ScheduledWork,
  shortenings,
  type WorkingCalendar,
  workingDaysBetween,
} from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { readJobFrom } from '../../packages/cli/src/read/read-job.js';

const fiveDays: WorkingCalendar = { daysPerWeek: 5, closedOn: [] };
const settings = { seed: 20281224, numRuns: 200 };

describe('working days on known dates', () => {
  // Weekdays from printed calendars: 2028-02-29 is a Tuesday, 2027-12-31 a Friday, 2100 is no leap year.
  test.each([
    ['2028-02-28', 1, '2028-02-28'],
    ['2028-02-28', 2, '2028-02-29'],
    ['2028-02-28', 3, '2028-03-01'],
    ['2027-02-26', 2, '2027-03-01'],
    ['2100-02-26', 2, '2100-03-01'],
    ['2000-02-28', 2, '2000-02-29'],
    ['2027-12-31', 2, '2028-01-03'],
    ['2027-12-30', 10, '2028-01-12'],
    ['2027-01-02', 1, '2027-01-04'],
    ['2027-01-04', 0, '2027-01-04'],
    ['2027-01-04', 0.2, '2027-01-04'],
    ['2027-01-04', 5.01, '2027-01-11'],
  ])('%s and %d working days end on %s', (start, days, end) => {
    expect(addWorkingDays(start, days, fiveDays)).toBe(end);
  });

  test('holidays push the end on, and only those on working days', () => {
    const closedOn = ['2027-12-24', '2027-12-25', '2027-12-31'];
    // Thursday 23, then Monday 27 to Thursday 30, then Monday 3 January.
    expect(addWorkingDays('2027-12-23', 6, { daysPerWeek: 5, closedOn })).toBe('2028-01-03');
    expect(addWorkingDays('2027-12-23', 5, { daysPerWeek: 5, closedOn })).toBe('2027-12-30');
    expect(addWorkingDays('2027-12-24', 1, { daysPerWeek: 5, closedOn })).toBe('2027-12-27');
    expect(addWorkingDays('2027-12-24', 1, { daysPerWeek: 7, closedOn })).toBe('2027-12-26');
    expect(workingDaysBetween('2027-12-23', '2028-01-03', { daysPerWeek: 5, closedOn })).toBe(5);
    expect(workingDaysBetween('2028-01-03', '2027-12-23', { daysPerWeek: 5, closedOn })).toBe(-5);
    expect(latestStart('2028-01-03', 6, { daysPerWeek: 5, closedOn })).toBe('2027-12-23');
  });

  test('a week of six days, a week without any, a text that is no date', () => {
    expect(addWorkingDays('2027-01-08', 2, { daysPerWeek: 6, closedOn: [] })).toBe('2027-01-09');
    expect(() => addWorkingDays('2027-01-08', 2, { daysPerWeek: 0, closedOn: [] })).toThrow(
      'no working day in a week: 0',
    );
    expect(() => addWorkingDays('8 Jan', 2, fiveDays)).toThrow('not a date: 8 Jan');
  });
});

describe('working days against the calendar of the run time', () => {
  const day = fc.integer({ min: -25_000, max: 84_000 });
  const iso = (value: number): string => new Date(value * 86_400_000).toISOString().slice(0, 10);
  const calendar = (
    start: number,
    perWeek: number,
    offsets: readonly number[],
  ): WorkingCalendar => ({
    daysPerWeek: perWeek,
    closedOn: offsets.map((offset) => iso(start + offset)),
  });
  const works = (value: number, { daysPerWeek, closedOn }: WorkingCalendar): boolean =>
    (new Date(value * 86_400_000).getUTCDay() + 6) % 7 < daysPerWeek &&
    !closedOn.includes(iso(value));
  const offsets = fc.array(fc.integer({ min: 0, max: 80 }), { maxLength: 6 });
  const perWeek = fc.integer({ min: 1, max: 7 });

  test('counts day by day, to and fro', () => {
    fc.assert(
      fc.property(
        day,
        fc.integer({ min: 0, max: 60 }),
        perWeek,
        offsets,
        (start, span, week, holidays) => {
          const shop = calendar(start, week, holidays);
          let count = 0;
          for (let at = start + 1; at <= start + span; at++) if (works(at, shop)) count += 1;
          expect(workingDaysBetween(iso(start), iso(start + span), shop)).toBe(count);
          if (count > 0)
            expect(workingDaysBetween(iso(start + span), iso(start), shop)).toBe(-count);
        },
      ),
      settings,
    );
  });

  test('an end has just the days before it, and the latest start is the latest', () => {
    fc.assert(
      fc.property(
        day,
        fc.integer({ min: 1, max: 30 }),
        perWeek,
        offsets,
        (start, days, week, holidays) => {
          const shop = calendar(start, week, holidays);
          const end = addWorkingDays(iso(start), days, shop);
          expect(workingDaysBetween(iso(start - 1), end, shop)).toBe(days);
          const late = latestStart(end, days, shop);
          expect(late >= iso(start)).toBe(true);
          expect(addWorkingDays(late, days, shop)).toBe(end);
          const next = iso(Date.parse(late) / 86_400_000 + 1);
          expect(addWorkingDays(next, days, shop) > end).toBe(true);
        },
      ),
      settings,
    );
  });
});

const work = (operation: number, more: Partial<ScheduledWork> = {}): ScheduledWork => ({
  operation,
  workCentre: `centre-${operation}`,
  sourcing: 'in-house',
  queueDays: 0,
  turnaroundDays: 0,
  setupDays: 0,
  runDays: 0,
  partByPart: true,
  byTheClock: false,
  ...more,
});

describe('a lot on its way', () => {
  const three = [
    work(10, { setupDays: 1, runDays: 4 }),
    work(20, { queueDays: 1, setupDays: 1, runDays: 2 }),
    work(30, { runDays: 8 }),
  ];

  test('as a whole adds up what each operation takes', () => {
    const { days, steps, critical } = lotFlow(three, 8, 8);
    expect(days).toBe(17);
    expect(steps).toEqual([
      { operation: 10, startsAfterDays: 0, endsAfterDays: 5 },
      { operation: 20, startsAfterDays: 6, endsAfterDays: 9 },
      { operation: 30, startsAfterDays: 9, endsAfterDays: 17 },
    ]);
    expect(critical).toEqual([
      { operation: 10, what: 'set-up', days: 1 },
      { operation: 10, what: 'work', days: 4 },
      { operation: 20, what: 'queue', days: 1 },
      { operation: 20, what: 'set-up', days: 1 },
      { operation: 20, what: 'work', days: 2 },
      { operation: 30, what: 'work', days: 8 },
    ]);
  });

  test('in batches overlaps; by hand', () => {
    // Batches of 2 leave 10 after 2, 3, 4, 5; 20 waits a day from 2, sets up to 4, and passes them on
    // at 4.5, 5, 5.5, 6; 30 takes 2 days for each from 4.5 on.
    const { days, steps, critical } = lotFlow(three, 8, 2);
    expect(steps).toEqual([
      { operation: 10, startsAfterDays: 0, endsAfterDays: 5 },
      { operation: 20, startsAfterDays: 3, endsAfterDays: 6 },
      { operation: 30, startsAfterDays: 4.5, endsAfterDays: 12.5 },
    ]);
    expect(days).toBe(12.5);
    expect(critical).toEqual([
      { operation: 10, what: 'set-up', days: 1 },
      { operation: 10, what: 'work', days: 1 },
      { operation: 20, what: 'queue', days: 1 },
      { operation: 20, what: 'set-up', days: 1 },
      { operation: 20, what: 'work', days: 0.5 },
      { operation: 30, what: 'work', days: 8 },
    ]);
  });

  test('a furnace and a supplier wait for the last part and give back all', () => {
    const works = [
      work(10, { runDays: 4 }),
      work(20, { partByPart: false, byTheClock: true, runDays: 1 }),
      work(30, { runDays: 2 }),
      work(40, { sourcing: 'outside', partByPart: false, turnaroundDays: 5 }),
    ];
    const { days, steps } = lotFlow(works, 4, 1);
    expect(steps.map((step) => step.startsAfterDays)).toEqual([0, 4, 5, 7]);
    expect(days).toBe(12);
  });

  test('a work centre that the lot comes back to is free when the lot has left it', () => {
    const works = [
      work(10, { workCentre: 'mill', runDays: 4 }),
      work(20, { runDays: 0.4 }),
      work(30, { workCentre: 'mill', setupDays: 0.5, runDays: 2 }),
    ];
    const { days, steps, critical } = lotFlow(works, 4, 1);
    expect(steps[2]?.startsAfterDays).toBe(4);
    expect(days).toBeCloseTo(6.5, 12);
    expect(critical.map(({ operation, what }) => `${operation} ${what}`)).toEqual([
      '10 work',
      '30 set-up',
      '30 work',
    ]);
  });

  const arbitraryWork = fc.record({
    queueDays: fc.constantFrom(0, 0.5, 1, 2.5),
    setupDays: fc.constantFrom(0, 0.1, 0.75),
    runDays: fc.double({ min: 0, max: 6, noNaN: true }),
    turnaroundDays: fc.constantFrom(0, 5),
    centre: fc.integer({ min: 0, max: 3 }),
    whole: fc.integer({ min: 0, max: 3 }),
  });
  const works = fc.array(arbitraryWork, { minLength: 1, maxLength: 8 }).map((list) =>
    list.map(({ centre, whole, turnaroundDays, ...times }, index) =>
      work((index + 1) * 10, {
        ...times,
        workCentre: `centre-${centre}`,
        ...(turnaroundDays > 0
          ? { sourcing: 'outside', turnaroundDays, partByPart: false }
          : { partByPart: whole > 0 }),
      }),
    ),
  );
  const quantity = fc.integer({ min: 1, max: 40 });
  const batch = fc.integer({ min: 1, max: 45 });

  test('agrees with following every part by the clock', () => {
    fc.assert(
      fc.property(works, quantity, batch, (list, parts, size) => {
        expect(lotFlow(list, parts, size).days).toBeCloseTo(followed(list, parts, size), 9);
      }),
      settings,
    );
  });

  test('the critical path adds up to the days; smaller batches never take longer', () => {
    fc.assert(
      fc.property(works, quantity, batch, (list, parts, size) => {
        const { days, critical } = lotFlow(list, parts, size);
        const sum = critical.reduce((total, span) => total + span.days, 0);
        expect(sum).toBeCloseTo(days, 9);
        expect(lotFlow(list, parts, parts).days).toBeGreaterThanOrEqual(days - 1e-9);
        if (size % 2 === 0)
          expect(lotFlow(list, parts, size / 2).days).toBeLessThanOrEqual(days + 1e-9);
      }),
      settings,
    );
  });

  /** Part by part: each part knows when it may be worked on next. */
  function followed(list: readonly ScheduledWork[], parts: number, size: number): number {
    const last = new Map<string, number>();
    let free = Array.from({ length: parts }, () => 0);
    for (const step of list) {
      const whole = Math.max(...free);
      const first = step.partByPart ? (free[0] ?? 0) : whole;
      const held = step.sourcing === 'in-house' ? (last.get(step.workCentre) ?? 0) : 0;
      let clock = Math.max(first + step.queueDays, held) + step.turnaroundDays + step.setupDays;
      const done = free.map((at) => {
        if (step.partByPart) clock = Math.max(clock, at) + step.runDays / parts;
        return clock;
      });
      if (!step.partByPart) clock += step.runDays;
      // A part moves on with the last of its batch.
      free = done.map((_, at) =>
        step.partByPart
          ? (done[Math.min(parts, (Math.floor(at / size) + 1) * size) - 1] ?? 0)
          : clock,
      );
      last.set(step.workCentre, Math.max(...free));
    }
    return Math.max(...free);
  }
});

describe('what would bring the date in', () => {
  const works = [
    work(10, { queueDays: 1, setupDays: 0.5, runDays: 4 }),
    work(20, { sourcing: 'outside', partByPart: false, turnaroundDays: 8 }),
    work(30, { queueDays: 0.5, setupDays: 0.5, runDays: 2 }),
    work(40, { runDays: 4 }),
  ];
  const basis = { works, quantity: 8, transferBatch: 8, shiftsPerDay: 1 };

  test('each way computed anew, by hand', () => {
    const ways = shortenings({ ...basis, express: [{ operation: 20, turnaroundDays: 4 }] });
    // 20.5 days as planned. Overlap: 30 passes on after half a day of its two, 40 ends 1.5 days sooner.
    // Shift: half of 11 days of own work. Queues: 1.5. Express: 4.
    expect(ways.map(({ id, days, savesDays }) => [id, days, savesDays])).toEqual([
      ['all', 8.75, 11.75],
      ['extra-shift', 15, 5.5],
      ['express-20', 16.5, 4],
      ['overlap', 19, 1.5],
      ['own-queues', 19, 1.5],
    ]);
  });

  test('a way that saves nothing is not told', () => {
    expect(shortenings({ ...basis, quantity: 1, transferBatch: 1, express: [] })).toEqual(
      expect.not.arrayContaining([expect.objectContaining({ id: 'overlap' })]),
    );
    expect(shortenings({ ...basis, works: [], express: [] })).toEqual([]);
  });
});

const catalog = defaultCatalog();
async function demoJob(name: string): Promise<Job> {
  const { job } = await readJobFrom(`data/demo/${name}`, jobVocabulary(catalog), () => {
    throw new Error('a demo job is read from its folder');
  });
  if (job === undefined) throw new Error('the demo job cannot be read');
  return job;
}

const bracket = await demoJob('probe-bracket');
const manifold = await demoJob('pressure-manifold');

describe('the schedule of a plan', () => {
  const ordered = (
    order: Partial<Job['order']>,
    policy: Partial<Job['policy']> = {},
    job = bracket,
  ): Job => ({
    ...job,
    order: { ...job.order, quantityBreaks: [], ...order },
    policy: { ...job.policy, ...policy },
  });

  test('steps follow each other on the calendar and end when the lot is ready', () => {
    const { schedule, operations } = planJob(
      ordered({
        startOn: '2027-03-01',
        dueOn: '2027-12-01',
        closedOn: ['2027-03-08', '2027-08-02'],
      }),
      catalog,
    );
    expect(schedule.steps.map(({ operation }) => operation)).toEqual(
      operations.map(({ seq }) => seq),
    );
    expect(schedule.steps.at(-1)?.endsOn).toBe(schedule.readyOn);
    expect(schedule.steps[0]?.startsOn).toBe('2027-03-01');
    expect(schedule.readyOn).toBe(
      addWorkingDays('2027-03-01', schedule.days, { daysPerWeek: 5, closedOn: ['2027-03-08'] }),
    );
    for (const step of schedule.steps) {
      expect(step.startsOn).not.toBe('2027-03-08');
      expect(step.endsOn).not.toBe('2027-03-08');
      expect(step.endsAfterDays - step.startsAfterDays).toBeCloseTo(
        step.workDays + step.turnaroundDays,
        5,
      );
    }
    const critical = schedule.critical.reduce((sum, { days }) => sum + days, 0);
    expect(critical).toBeCloseTo(schedule.days, 4);
    expect(schedule.late).toBe(false);
    expect(schedule.spareDays).toBeGreaterThan(100);
    expect(
      addWorkingDays(schedule.startBy ?? '', schedule.days, {
        daysPerWeek: 5,
        closedOn: ['2027-08-02'],
      }),
    ).toBe('2027-12-01');
  });

  test('a transfer batch brings the date in, and every shortening says by how much', () => {
    const whole = planJob(ordered({ startOn: '2027-03-01' }), catalog).schedule;
    const overlap = planJob(ordered({ startOn: '2027-03-01' }, { transferBatch: 6 }), catalog);
    expect(overlap.schedule.transferBatch).toBe(6);
    expect(overlap.schedule.days).toBeLessThan(whole.days);
    const way = whole.shortenings.find(({ id }) => id === 'overlap');
    expect(way?.what).toBe('pass the lot on in batches of 6');
    expect(way?.days).toBeCloseTo(overlap.schedule.days, 5);
    expect(overlap.cost.perLot).toBe(planJob(ordered({}), catalog).cost.perLot);
    expect(whole.shortenings.length).toBeGreaterThan(2);
    for (const { days, savesDays } of whole.shortenings) {
      expect(savesDays).toBeGreaterThan(0);
      expect(days + savesDays).toBeCloseTo(whole.days, 4);
    }
  });

  test('a late lot is told how late, by when it had to start, and what the fastest route costs', () => {
    const order = { startOn: '2027-03-01', dueOn: '2027-03-05' };
    const { schedule, cost } = planJob(ordered(order, {}, manifold), catalog);
    expect(schedule.late).toBe(true);
    expect(schedule.startBy !== undefined && schedule.startBy < '2027-03-01').toBe(true);
    const other = schedule.shortenings.find(({ id }) => id === 'other-route');
    const fastest = planJob(ordered(order, { objective: 'days' }, manifold), catalog);
    expect(fastest.schedule.days).toBeLessThan(schedule.days - 0.5);
    expect(other?.days).toBeCloseTo(fastest.schedule.days, 5);
    expect(other?.costsPerLot).toBe(fastest.cost.perLot - cost.perLot);
    expect(other?.what).toContain('the fastest route');
    for (const way of schedule.shortenings) expect(way.late).toBeDefined();
  });
});
