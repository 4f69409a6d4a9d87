import { defaultCatalog, jobVocabulary, planJob, readJob } from '@offplate/core';
import { expect, test } from 'vitest';
import { exampleJob } from './job-example.js';

const catalog = defaultCatalog();

test('the table rows of the printed state that a plan rests on are its assumptions, with the features that use them', () => {
  const { job } = readJob({ json: JSON.stringify(exampleJob()) }, jobVocabulary(catalog));
  if (job === undefined) throw new Error('the example job cannot be read');
  const plan = planJob(job, catalog);
  const printErrors = plan.assumptions.filter((each) => each.what.startsWith('print error, '));
  expect(printErrors.length).toBeGreaterThan(0);
  for (const assumption of printErrors) {
    expect(assumption.value).toMatch(/^mean -?[\d.]+ mm/);
    const row = catalog.printErrors.find(
      (each) =>
        each.printer === job.part.printer &&
        (assumption.what.includes(each.featureClass.replaceAll('-', ' ')) ||
          each.featureClass === 'position') &&
        each.source === assumption.source,
    );
    expect(row?.confidence).toBe(assumption.confidence);
  }
  const worked = plan.features.filter(
    (feature) => feature.chain.length > 0 && !feature.printedSolid,
  );
  const skins = plan.assumptions.filter((each) => each.what.startsWith('skin that the first cut'));
  for (const feature of worked)
    expect(
      skins.some((each) => each.what.includes(feature.id)),
      feature.id,
    ).toBe(true);
  const printed = plan.features.filter((feature) => feature.chain.length === 0);
  const rough = plan.assumptions.filter((each) => each.what.startsWith('roughness as printed'));
  for (const feature of printed)
    expect(
      rough.some((each) => each.what.includes(feature.id)),
      feature.id,
    ).toBe(true);
  expect(skins.length + rough.length).toBeGreaterThan(0);
});
