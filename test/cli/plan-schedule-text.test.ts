import type { Plan } from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { operationsCsv } from '../../packages/cli/src/write/csv/plan-csv.js';
import { dateLines } from '../../packages/cli/src/write/text/plan-schedule.js';
import { plainStyle } from '../../packages/cli/src/write/text/style.js';
import { pricedPlan } from '../fixtures/priced-plan.js';

const plan: Plan = {
  ...pricedPlan,
  schedule: {
    days: 12.4,
    startOn: '2027-01-11',
    readyOn: '2027-01-28',
    dueOn: '2027-02-01',
    late: false,
    lateDays: 0,
    spareDays: 2,
    startBy: '2027-01-13',
    calendar: { hoursPerDay: 8, daysPerWeek: 5, closedOn: ['2027-01-20'] },
    transferBatch: 2,
    steps: [
      {
        operation: 10,
        queueDays: 1,
        turnaroundDays: 0,
        workDays: 2,
        startsAfterDays: 1,
        endsAfterDays: 3,
        startsOn: '2027-01-12',
        endsOn: '2027-01-13',
      },
    ],
    critical: [
      { operation: 10, what: 'queue', days: 1 },
      { operation: 10, what: 'work', days: 2 },
      { operation: 20, what: 'turnaround', days: 8 },
      { operation: 30, what: 'set-up', days: 0.4 },
      { operation: 30, what: 'work', days: 1 },
    ],
    shortenings: [
      {
        id: 'express-20',
        what: 'faster service for operation 20',
        days: 8.4,
        savesDays: 4,
        readyOn: '2027-01-22',
        late: false,
        costsPerLot: 12_345,
      },
      {
        id: 'extra-shift',
        what: 'one more shift',
        days: 10.7,
        savesDays: 1.7,
        readyOn: '2027-01-26',
      },
    ],
  },
};

describe('what decides the date, as text', () => {
  test('shares of the days, the longest stretches, the spare days, the ways to shorten', () => {
    const text = dateLines(plan, plainStyle);
    expect(text[0]).toBe(
      '12.4 working days of 8 h, 5 a week: 8 at suppliers, 1 in queues, 0.4 of set-up, 3 of work',
    );
    const all = text.join('\n');
    expect(all).toContain('the date hangs most on, in days: queue of 10 ');
    expect(all).toContain('turnaround of 20 ');
    expect(all).not.toContain('set-up of 30');
    expect(text).toContain(
      'due 2027-02-01: 2 working days to spare; start by 2027-01-13 at the latest',
    );
    expect(text).toContain('the lot moves on in batches of 2 parts');
    expect(text).toContain('nobody works on 2027-01-20');
    expect(all).toMatch(/faster service for operation 20 +4 +2027-01-22 +123\.45$/m);
    expect(all).toMatch(/one more shift +1\.7 +2027-01-26$/m);
  });

  test('says of a way that it is still late, and nothing of dates where there is no start', () => {
    const { startOn: _, readyOn: __, ...undated } = plan.schedule;
    const late = { ...plan.schedule.shortenings[1], late: true } as const;
    const [first] = plan.schedule.shortenings;
    if (first === undefined) throw new Error('no shortening');
    const still = { ...plan.schedule, shortenings: [{ ...first, ...late }] };
    expect(dateLines({ ...plan, schedule: still }, plainStyle).join('\n')).toContain(
      '2027-01-26, late',
    );
    const text = dateLines({ ...plan, schedule: undated }, plainStyle).join('\n');
    expect(text).not.toContain('2027-01-26');
  });

  test('operations as CSV name the days on which they start and end', () => {
    const [head = '', first = ''] = operationsCsv(plan).split(/\r?\n/);
    expect(head).toContain(',lead_days,starts_on,ends_on,');
    expect(first).toContain(',2027-01-12,2027-01-13,');
  });
});
