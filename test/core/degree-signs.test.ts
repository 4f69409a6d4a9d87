import { defaultCatalog, type JobInput, jobVocabulary, planJob, readJob } from '@offplate/core';
import { expect, test } from 'vitest';
import { exampleJob } from './job-example.js';

const catalog = defaultCatalog();

/** A temperature without its degree sign, as in `650 C`. */
const bare = /[^"]{0,30}\d C(?=[\s,.;:)/"])[^"]{0,10}/g;

test.each([
  ['s17400', 'H1025', undefined],
  ['r56400', 'HIP', undefined],
  ['n07718', 'solution + aged', undefined],
  ['alsi10mg', 'T6', undefined],
  ['s31603', 'SR', 't20813'],
  ['n07718', 'SR', 'c10100'],
] as const)(
  'texts of a plan for %s in %s write temperatures with degree signs',
  (material, condition, plateMaterial) => {
    const base: JobInput = exampleJob();
    const { job, problems } = readJob(
      {
        json: JSON.stringify({
          ...base,
          part: { ...base.part, material, condition },
          geometry: {
            ...base.geometry,
            ...(plateMaterial === undefined ? {} : { plateMaterial }),
          },
        }),
      },
      jobVocabulary(catalog),
    );
    if (job === undefined) throw new Error(JSON.stringify(problems));
    const text = JSON.stringify(planJob(job, catalog));
    expect(text.match(bare) ?? []).toEqual([]);
    expect(text).toContain(' °C');
  },
);
