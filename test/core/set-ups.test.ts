import {
  defaultCatalog,
  type Feature,
  jobVocabulary,
  planJob,
  workCentreById,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { readJobFrom } from '../../packages/cli/src/read/read-job.js';
import { planningContext } from '../../packages/core/src/job/planning-context.js';
import { setUpsFor } from '../../packages/core/src/route/set-ups.js';

const catalog = defaultCatalog();
const { job } = await readJobFrom('data/demo/heat-sink', jobVocabulary(catalog), () => {
  throw new Error('a demo job is read from its folder');
});
if (job === undefined) throw new Error('the demo job cannot be read');

// A shop's own 4-axis centre, at a rate between those of three and five axes.
const three = workCentreById(catalog, 'mill-3');
const four = { ...three, id: 'mill-4', reach: 'four-sides', ratePerH: 90 } as const;

describe('directions that a set-up offers', () => {
  const milling = planningContext(job, catalog, 1).processes.get('finish-milling');
  const [feature] = job.features as readonly [Feature, ...Feature[]];
  if (milling === undefined) throw new Error('no milling');
  const offered = (centre: typeof three, access: Feature['access']): Record<string, string> =>
    Object.fromEntries(
      setUpsFor(milling, centre, { ...feature, kind: 'plane' }, 'hard', access).map((setUp) => [
        setUp.id,
        setUp.directions.join(' '),
      ]),
    );

  test('three axes: one side a set-up', () => {
    expect(offered(three, ['+x', '-z'])).toEqual({
      'mill-3/+x/hard': '+x',
      'mill-3/-z/hard': '-z',
    });
  });

  test('four axes: the sides about an axis, for features that one of them reaches', () => {
    expect(offered(four, ['+x'])).toEqual({
      'mill-4/about-y/hard': '+x -x +z -z',
      'mill-4/about-z/hard': '+x -x +y -y',
    });
    expect(Object.keys(offered(four, ['+x', '+y']))).toHaveLength(3);
  });

  test('five axes: all sides but the clamped one', () => {
    expect(offered(workCentreById(catalog, 'mill-5'), ['-z'])).toEqual({
      'mill-5/held+z/hard': '+x -x +y -y -z',
    });
  });
});

test('another centre never makes the lot dearer; a fourth axis saves set-ups of this part', () => {
  const plain = { ...job, order: { ...job.order, quantityBreaks: [] } };
  const without = planJob(plain, catalog);
  const withFour = planJob(plain, { ...catalog, workCentres: [...catalog.workCentres, four] });
  expect(withFour.cost.perLot).toBeLessThan(without.cost.perLot);
  const visited = withFour.operations.filter(({ workCentre }) => workCentre.id === 'mill-4');
  expect(visited).toHaveLength(1);
  expect(visited[0]?.access).toHaveLength(4);
});
