import { defaultCatalog, type Job, jobVocabulary, planJob, workCentreById } from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { readJobFrom } from '../../packages/cli/src/read/read-job.js';
import { isFixed, totalOf, visitCost } from '../../packages/core/src/cost/charges.js';
import { formatMoney, percentOf, perPart, toMinor } from '../../packages/core/src/cost/money.js';
import { planningContext } from '../../packages/core/src/job/planning-context.js';

const catalog = defaultCatalog();
const { job } = await readJobFrom('data/demo/probe-bracket', jobVocabulary(catalog), () => {
  throw new Error('a demo job is read from its folder');
});
if (job === undefined) throw new Error('the demo job cannot be read');
const bracket: Job = job;

describe('soft jaws or a dedicated fixture', () => {
  const mill = workCentreById(catalog, 'mill-3');
  const visit = { programmed: true, probed: true };
  const at = (quantity: number) =>
    visitCost(mill, planningContext(bracket, catalog, quantity), visit);
  // Rates of the catalogue: 450 for the fixture; 3 + 1.5 min in jaws, 1.5 min in the fixture, 78 an hour.
  const saved = ((3 + 1.5 - 1.5) / 60) * 78;
  const even = Math.ceil(450 / saved);

  test('the fixture is taken from the quantity at which it pays', () => {
    expect(even).toBe(116);
    for (const quantity of [1, 24, even - 1]) expect(isFixed(at(quantity))).toBe(false);
    for (const quantity of [even, 500]) expect(isFixed(at(quantity))).toBe(true);
  });

  test('each way costs what its parts add up to', () => {
    const fixed = ((40 + 35) / 60) * 78;
    const perJaw = (4.5 / 60) * 78;
    expect(totalOf(at(24).charges)).toBe(toMinor(fixed + 24 * perJaw, 100));
    expect(totalOf(at(200).charges)).toBe(toMinor(fixed + 450 + 200 * (perJaw - saved), 100));
    expect(at(200).charges.map(({ id }) => id)).toEqual([
      'set-up',
      'programming',
      'fixture',
      'load',
    ]);
    expect(at(200).runMinutes).toBe(200 * 1.5);
    expect(at(24).runMinutes).toBe(24 * 4.5);
  });

  test('a centre without one, and a visit without a program, stay as they are', () => {
    const context = planningContext(bracket, catalog, 5000);
    const bench = workCentreById(catalog, 'bench');
    expect(isFixed(visitCost(bench, context, visit))).toBe(false);
    expect(isFixed(visitCost(mill, context, { programmed: false, probed: false }))).toBe(false);
  });

  test('the plan says how the parts are held, and the quote what the fixture costs', () => {
    const held = (quantity: number) => {
      const { operations, cost } = planJob(
        { ...bracket, order: { ...bracket.order, quantityBreaks: [] } },
        catalog,
        { quantity },
      );
      return {
        ways: operations.flatMap(({ parameters }) =>
          parameters.filter(({ name }) => name === 'Held in').map(({ value }) => value),
        ),
        fixtures: cost.lines.filter(({ id }) => id.endsWith('.fixture')).length,
      };
    };
    const few = held(24);
    expect(few.ways.length).toBeGreaterThan(0);
    expect(new Set(few.ways)).toEqual(new Set(['soft jaws']));
    expect(few.fixtures).toBe(0);
    const many = held(400);
    expect(many.ways).toContain('a dedicated fixture');
    expect(many.fixtures).toBe(many.ways.filter((way) => way === 'a dedicated fixture').length);
  });
});

describe('money in minor units', () => {
  test.each([
    [1.005, 100, 101],
    [0.5, 1, 1],
    [-0.5, 1, -1],
    [12.3455, 1000, 12346],
    [2.5, 1, 3],
  ])('%d at %d to the unit is %d', (major, per, minor) => {
    expect(toMinor(major, per)).toBe(minor);
  });

  test('per cent and shares of a lot round half away from zero', () => {
    expect(percentOf(12345, 10)).toBe(1235);
    expect(percentOf(-12345, 10)).toBe(-1235);
    expect(percentOf(999, 0)).toBe(0);
    expect(perPart(1000, 3)).toBe(333);
    expect(perPart(-5, 2)).toBe(-3);
  });

  // ISO 4217: no minor unit for the yen, hundredths of the euro, thousandths of the Bahraini dinar.
  test('is printed by the digits of its currency', () => {
    const digits = (code: string): number =>
      catalog.currencies.find((row) => row.code === code)?.minorDigits ?? -1;
    expect(formatMoney(123456, digits('JPY'))).toBe('123456');
    expect(formatMoney(123456, digits('EUR'))).toBe('1234.56');
    expect(formatMoney(123456, digits('BHD'))).toBe('123.456');
    expect(formatMoney(-7, digits('BHD'))).toBe('-0.007');
  });

  test('rates are numbers in the currency of the job: the same lines in its own minor units', () => {
    const lot = (currency: string): number => {
      const order = { ...bracket.order, currency, quantityBreaks: [] };
      const { cost, findings } = planJob({ ...bracket, order }, catalog);
      const said = findings.find(({ id }) => id === 'currency-of-rates')?.message;
      if (currency === 'EUR') expect(said).toBeUndefined();
      else expect(said).toContain(`taken as ${currency} as they stand`);
      return cost.perLot;
    };
    const [yen, euro, dinar] = [lot('JPY'), lot('EUR'), lot('BHD')];
    // Every line is rounded once, so lots differ by the rounding of their lines only.
    expect(Math.abs(yen - euro / 100)).toBeLessThan(60);
    expect(Math.abs(dinar / 10 - euro)).toBeLessThan(60);
  });
});
