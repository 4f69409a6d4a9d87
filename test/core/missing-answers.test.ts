import { readFileSync } from 'node:fs';
import { type Job, missingAnswers, planJob } from '@offplate/core';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { expect, test } from 'vitest';
import { catalog, demoJob } from '../fixtures/demo-job.js';

const bracket = await demoJob('probe-bracket');

/** The probe bracket of someone who says less. */
const silent: Job = {
  ...bracket,
  geometry: {
    ...bracket.geometry,
    trappedPowder: 'unknown',
    supports: {
      ...bracket.geometry.supports,
      latticeAreaMm2: 0,
      solidAreaMm2: 0,
      stated: false,
    },
  },
  features: bracket.features.map((feature) =>
    feature.id === 'B2' ? { ...feature, access: [] } : feature,
  ),
};

test('open points are ranked, and each answer is a plan of its own', () => {
  const report = missingAnswers(silent, catalog);
  expect(report.base.perLot).toBe(planJob(silent, catalog).cost.perLot);
  const ids = report.questions.map(({ id }) => id);
  expect(ids.slice(0, 2)).toEqual(['geometry.trappedPowder', 'geometry.supports']);
  expect(ids).toContain('B2.access');
  for (const [index, entry] of report.questions.entries()) {
    const next = report.questions[index + 1];
    if (next !== undefined && entry.couldStop === next.couldStop)
      expect(entry.spreadPerLot).toBeGreaterThanOrEqual(next.spreadPerLot);
  }
  const [powder] = report.questions;
  const clear = powder?.answers.find(({ answer }) => answer === 'no');
  const cleared = planJob(
    { ...silent, geometry: { ...silent.geometry, trappedPowder: 'none' } },
    catalog,
  );
  expect(clear?.savesPerLot).toBe(report.base.perLot - cleared.cost.perLot);
  expect(clear?.savesPerLot).toBeGreaterThan(0);
  const access = report.questions.find(({ id }) => id === 'B2.access');
  const below = planJob(
    {
      ...silent,
      features: silent.features.map((feature) =>
        feature.id === 'B2' ? { ...feature, access: ['+z'] } : feature,
      ),
    },
    catalog,
  );
  expect(access?.answers.find(({ answer }) => answer === '+z only')?.savesPerLot).toBe(
    report.base.perLot - below.cost.perLot,
  );
  expect(access?.question).toMatch(
    /^From which sides can a tool reach the dowel hole B2\? We assumed: -z\. "any side" would /,
  );
  const path = new URL('../../schema/missing-answers.schema.json', import.meta.url);
  const accepts = new Ajv2020({ strictTypes: false }).compile(
    JSON.parse(readFileSync(path, 'utf8')) as object,
  );
  expect(accepts(JSON.parse(JSON.stringify(report))), JSON.stringify(accepts.errors)).toBe(true);
}, 120_000);

test('what the job says is not asked', () => {
  const ids = [...missingAnswers(bracket, catalog).questions].map(({ id }) => id);
  expect(ids).not.toContain('geometry.trappedPowder');
  expect(ids).not.toContain('geometry.supports');
  expect(ids).not.toContain('part.condition');
  expect(ids).not.toContain('B1.access');
}, 60_000);
