import {
  defaultCatalog,
  type JobInput,
  jobVocabulary,
  type Plan,
  planJob,
  readJob,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

const catalog = defaultCatalog();

/** An invented valve block of 120 x 90 x 40 mm. */
function plan(changes: {
  readonly endUse: JobInput['part']['endUse'];
  readonly standards?: readonly string[];
  readonly trappedPowder?: 'none' | 'open-channels';
  readonly box?: readonly [number, number, number];
  readonly policy?: JobInput['policy'];
}): Plan {
  const { endUse, standards, trappedPowder = 'none', box = [120, 90, 40], policy } = changes;
  const input: JobInput = {
    schemaVersion: 'job/1',
    part: {
      name: 'Valve block',
      number: 'VB-1',
      revision: 'A',
      printer: 'pbf-lb',
      material: 's31603',
      endUse,
      ...(standards === undefined ? {} : { standards: [...standards] }),
    },
    geometry: {
      volume: 160_000,
      surfaceArea: 40_000,
      box: [...box],
      plateSection: 5000,
      thickestSection: 20,
      thinnestWall: 5,
      trappedPowder,
      supports: { latticeArea: 0, solidArea: 0 },
    },
    order: { quantity: 6, currency: 'EUR', partsPerPlate: 3 },
    features: [
      { id: 'B1', kind: 'bore', size: '30 H7', ra: 0.8, depth: 30, facing: 'up', access: ['+z'] },
    ],
    ...(policy === undefined ? {} : { policy }),
  };
  const { job, problems } = readJob({ json: JSON.stringify(input) }, jobVocabulary(catalog));
  if (job === undefined) throw new Error(JSON.stringify(problems));
  return planJob(job, catalog);
}

const tests = (made: Plan): readonly string[] =>
  made.operations.filter((each) => each.kind === 'testing').map((each) => each.process);
const at = (made: Plan, process: string): number =>
  made.operations.find((each) => each.process === process)?.seq ?? Number.NaN;
const lastCut = (made: Plan): number =>
  Math.max(...made.operations.filter((each) => each.kind === 'machining').map((each) => each.seq));

describe('tests of the part that its service calls for', () => {
  test('static service: none', () => {
    expect(tests(plan({ endUse: 'static' }))).toEqual([]);
  });

  test('pressure service with channels: tomography after heat and before cutting, penetrant and pressure test before a finish hides flaws, leak test last', () => {
    const made = plan({
      endUse: 'pressure',
      trappedPowder: 'open-channels',
      policy: { required: ['electropolishing', 'passivation'] },
    });
    expect(made.feasible).toBe(true);
    expect(tests(made)).toEqual([
      'ct-testing',
      'penetrant-testing',
      'pressure-testing',
      'leak-testing',
    ]);
    expect(at(made, 'ct-testing')).toBeGreaterThan(at(made, 'hip'));
    expect(at(made, 'ct-testing')).toBeLessThan(lastCut(made));
    expect(at(made, 'penetrant-testing')).toBeGreaterThan(lastCut(made));
    expect(at(made, 'pressure-testing')).toBeLessThan(at(made, 'electropolishing'));
    expect(at(made, 'leak-testing')).toBeGreaterThan(at(made, 'passivation'));
    expect(made.operations.at(-1)?.process).toBe('final-inspection');
  });

  test('each says why, by which standard, with its caution and a hold point; it costs money', () => {
    const made = plan({ endUse: 'pressure' });
    const pressure = made.operations.find((each) => each.process === 'pressure-testing');
    expect(pressure?.reasons.map((reason) => reason.text)).toEqual([
      'for pressure service',
      'proves the strength of walls and seals after the last cut, before a coating could close a leak',
    ]);
    expect(pressure?.cautions).toContain('pressure-test');
    expect(made.cautions.find((each) => each.id === 'pressure-test')?.text).toContain(
      'compressed gas stores hundreds of times the energy',
    );
    expect(pressure?.holdPoint).toBe(
      'Result of the pressure test accepted and recorded for every part before it goes on.',
    );
    expect(pressure?.parameters).toContainEqual({
      name: 'Standard',
      value: 'EN 13445-5',
      confidence: 'memory',
    });
    expect(pressure?.costPerLot).toBeGreaterThan(0);
    expect(tests(made)).not.toContain('ct-testing');
  });

  test('fatigue service: penetrant alone; a standard on the drawing or the policy brings the others', () => {
    expect(tests(plan({ endUse: 'fatigue' }))).toEqual(['penetrant-testing']);
    const named = plan({ endUse: 'static', standards: ['EN 1779:1999', 'ISO 3452-1'] });
    expect(tests(named)).toEqual(['penetrant-testing', 'leak-testing']);
    const leak = named.operations.find((each) => each.process === 'leak-testing');
    expect(leak?.reasons[0]?.text).toBe('the drawing names EN 1779:1999');
    const asked = plan({ endUse: 'static', policy: { required: ['ct-testing'] } });
    expect(tests(asked)).toEqual(['ct-testing']);
  });

  test('one that the policy forbids or no centre can take is said; one that is required stops the plan', () => {
    const forbidden = plan({ endUse: 'pressure', policy: { forbidden: ['pressure-testing'] } });
    expect(tests(forbidden)).toEqual(['penetrant-testing', 'leak-testing']);
    expect(forbidden.findings.find((each) => each.about === 'pressure-testing')).toMatchObject({
      id: 'test-left-out',
      severity: 'warning',
      message: 'pressure test is left out: the policy forbids it; agree how the part is proven',
    });
    const alone = plan({
      endUse: 'static',
      policy: { required: ['ct-testing'], outsideWork: false },
    });
    expect(alone.feasible).toBe(false);
    expect(alone.conflicts.map((each) => each.best).join()).toContain(
      'required ct-testing: no work centre for it takes this part',
    );
  });
});
