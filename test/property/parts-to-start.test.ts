import { readFileSync } from 'node:fs';
import { afterRework, enoughGood, partsToStart, planJob, planStart } from '@offplate/core';
import { Ajv2020 } from 'ajv/dist/2020.js';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { catalog, demoJob } from '../fixtures/demo-job.js';

/** A small generator of its own (mulberry32), so that the check shares nothing with the core. */
function uniform(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

describe('enough good parts', () => {
  test('is the binomial sum', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.01, max: 0.99, noNaN: true }),
        fc.integer({ min: 1, max: 60 }),
        fc.integer({ min: 0, max: 60 }),
        (good, started, wanted) => {
          let sum = 0;
          for (let k = wanted; k <= started; k++) {
            let term = good ** k * (1 - good) ** (started - k);
            for (let i = 1; i <= k; i++) term *= (started - k + i) / i;
            sum += term;
          }
          expect(enoughGood(good, started, wanted)).toBeCloseTo(sum, 10);
        },
      ),
      { seed: 20270503, numRuns: 200 },
    );
  });

  test('needs as many parts as are counted, and not one less', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.3, max: 0.999, noNaN: true }),
        fc.integer({ min: 1, max: 500 }),
        fc.double({ min: 0.5, max: 0.999, noNaN: true }),
        (good, wanted, target) => {
          const start = partsToStart(good, wanted, target);
          expect(enoughGood(good, start, wanted)).toBeGreaterThanOrEqual(target);
          if (start > wanted) expect(enoughGood(good, start - 1, wanted)).toBeLessThan(target);
        },
      ),
      { seed: 20270504, numRuns: 200 },
    );
  });

  test('agrees with parts that are sent through steps with scrap and rework loops', () => {
    const random = uniform(20270505);
    const steps = [
      { scrap: 0.02, rework: 0.1 },
      { scrap: 0.05, rework: 0 },
      { scrap: 0.01, rework: 0.3 },
    ];
    const good = steps.reduce((share, step) => share * (1 - afterRework(step).lost), 1);
    const [wanted, start, lots] = [20, partsToStart(good, 20, 0.9), 20_000];
    let enough = 0;
    let passes = 0;
    let entered = 0;
    for (let lot = 0; lot < lots; lot++) {
      let ended = 0;
      for (let part = 0; part < start; part++) {
        const lost = steps.some((step, index) => {
          if (index === 2) entered += 1;
          for (;;) {
            if (index === 2) passes += 1;
            const draw = random();
            if (draw < step.scrap) return true;
            if (draw >= step.scrap + step.rework) return false;
          }
        });
        if (!lost) ended += 1;
      }
      if (ended >= wanted) enough += 1;
    }
    const expected = enoughGood(good, start, wanted);
    const sigma = Math.sqrt((expected * (1 - expected)) / lots);
    expect(Math.abs(enough / lots - expected)).toBeLessThan(4 * sigma);
    const step = steps[2] ?? steps[0];
    if (step === undefined) throw new Error('no steps');
    expect(passes / entered).toBeCloseTo(afterRework(step).passes, 2);
  });

  test('refuses what is no share', () => {
    expect(() => afterRework({ scrap: 0.5, rework: 0.5 })).toThrow(/below 1/);
    expect(() => partsToStart(0, 5, 0.9)).toThrow(RangeError);
    expect(() => partsToStart(0.9, 5, 1)).toThrow(RangeError);
  });
});

test('a plan with spare parts: counted, priced exactly, and of its published schema', async () => {
  const job = await demoJob('probe-bracket');
  const report = planStart(job, catalog, { target: 0.99 });
  expect(report.start).toBeGreaterThan(report.ordered);
  expect(report.enough).toBeGreaterThanOrEqual(0.99);
  expect(report.enoughWithoutSpare).toBeLessThan(0.99);
  expect(report.cost.orderedLot).toBe(planJob(job, catalog).cost.perLot);
  expect(report.cost.startedLot).toBe(
    planJob(job, catalog, { quantity: report.start }).cost.perLot,
  );
  expect(report.cost.spare).toBe(report.cost.startedLot - report.cost.orderedLot);
  const through = report.operations.reduce((good, { lost }) => good * (1 - lost), 1);
  expect(through).toBeCloseTo(report.good, 5);
  const surer = { ...job, policy: { ...job.policy, enoughGoodProbability: 0.999 } };
  expect(planStart(job, catalog).target).toBe(0.95);
  expect(planStart(surer, catalog).target).toBe(0.999);
  expect(planStart(surer, catalog).start).toBeGreaterThanOrEqual(report.start);
  expect(report.operations.at(-1)?.expectedThrough).toBeCloseTo(report.start * report.good, 4);
  const path = new URL('../../schema/parts-to-start.schema.json', import.meta.url);
  const accepts = new Ajv2020({ strictTypes: false }).compile(
    JSON.parse(readFileSync(path, 'utf8')) as object,
  );
  expect(accepts(JSON.parse(JSON.stringify(report))), JSON.stringify(accepts.errors)).toBe(true);
}, 60_000);
