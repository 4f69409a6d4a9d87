import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import {
  type Catalog,
  defaultCatalog,
  type Finding,
  formatProblem,
  type Job,
  jobVocabulary,
  type Plan,
  planJob,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { readJobFrom } from '../../packages/cli/src/read/read-job.js';
import { expectGolden } from '../golden.js';

const demo = fileURLToPath(new URL('../../data/demo', import.meta.url));
const catalog: Catalog = defaultCatalog();

interface Demo {
  readonly job: Job;
  readonly findings: readonly Finding[];
  readonly plan: Plan;
}

async function demoOf(name: string): Promise<Demo> {
  const reading = await readJobFrom(join(demo, name), jobVocabulary(catalog), () => {
    throw new Error('a demo job is read from its folder');
  });
  if (reading.job === undefined) throw new Error(reading.problems.map(formatProblem).join('\n'));
  const { job, findings } = reading;
  return { job, findings, plan: planJob(job, catalog) };
}

const demos = {
  'probe-bracket': await demoOf('probe-bracket'),
  'pressure-manifold': await demoOf('pressure-manifold'),
  'heat-sink': await demoOf('heat-sink'),
} as const;

const processes = (plan: Plan): readonly string[] =>
  plan.operations.map((operation) => operation.process);
const treatments = (plan: Plan): readonly string[] =>
  plan.thermal.cycles.map((cycle) => cycle.treatment);

describe.each(Object.entries(demos))('demo job %s', (name, { job, findings, plan }) => {
  test('keeps its plan', () => {
    expectGolden(`plans/${name}.json`, `${JSON.stringify(plan, null, 2)}\n`);
  });

  test('reads with nothing worse than notes, and plans to a proven optimum', () => {
    expect(findings.filter((finding) => finding.severity !== 'note')).toEqual([]);
    expect(plan.findings.filter((finding) => finding.severity === 'caution')).toEqual([]);
    expect(plan.proof).toMatchObject({ status: 'optimal', gap: 0 });
    expect(plan.proof.objective + plan.proof.constants).toBe(plan.cost.perLot);
  });

  test('every requirement is met with the policy`s probability', () => {
    expect(plan.stacks.length).toBeGreaterThan(8);
    for (const stack of plan.stacks)
      expect(stack.inLimits).toBeGreaterThanOrEqual(job.policy.minimumProbability - 1e-6);
  });

  test('every characteristic has a method that measures it', () => {
    expect(plan.findings.map((finding) => finding.id)).not.toContain('no-method');
    expect(plan.inspection.length).toBeGreaterThan(10);
  });

  test('is ready before it is due', () => {
    expect(plan.schedule.late).toBe(false);
    expect(plan.schedule.readyOn?.slice(0, 5)).toBe('2027-');
  });

  test('costs less a part in larger lots', () => {
    const perPart = plan.cost.breaks.map((entry) => entry.perPart);
    expect(perPart).toEqual([...perPart].sort((a, b) => b - a));
    expect(plan.cost.breaks.every((entry) => entry.feasible)).toBe(true);
  });
});

describe('what each demo job shows', () => {
  test('the bracket: stress relief only, 12 features and more, blasted and passivated', () => {
    const { job, plan } = demos['probe-bracket'];
    expect(job.features.length).toBeGreaterThanOrEqual(12);
    expect(plan.feasible).toBe(true);
    expect(treatments(plan)).toEqual(['stress-relief']);
    expect(processes(plan)).toEqual(expect.arrayContaining(['bead-blasting', 'passivation']));
    expect(processes(plan).at(-2)).toBe('passivation');
  });

  test('the manifold: HIP, several finishes, 30 features and more, datums A to E, a fine bore', () => {
    const { job, plan } = demos['pressure-manifold'];
    expect(job.features.length).toBeGreaterThanOrEqual(30);
    expect(plan.feasible).toBe(true);
    expect(treatments(plan)).toEqual(['stress-relief', 'hip']);
    const finishes = plan.operations.filter(
      ({ kind }) => kind === 'finishing' || kind === 'coating',
    );
    expect(finishes.map(({ process }) => process)).toEqual(
      expect.arrayContaining(['bead-blasting', 'pickling', 'anodising-titanium']),
    );
    expect(job.features.flatMap(({ datum }) => datum ?? []).sort()).toEqual([
      'A',
      'B',
      'C',
      'D',
      'E',
    ]);
    const fine = plan.features.find((feature) => feature.id === 'B1');
    expect(fine?.predicted.raUm).toBeLessThanOrEqual(0.4);
    expect(fine?.predicted.grade).toBeLessThanOrEqual(6.01);
    expect(plan.operations[0]?.holdPoint).toMatch(/proven empty/);
  });

  test('the heat sink: the roughness in its channels cannot be had, and the rest is planned', () => {
    const { plan } = demos['heat-sink'];
    expect(plan.feasible).toBe(false);
    expect(plan.conflicts).toEqual([
      { feature: 'C1', requirement: 'Ra 1.6', best: 'Ra 3.00', help: ['relax it to Ra 3.00'] },
    ]);
    expect(plan.operations.length).toBeGreaterThan(6);
    expect(treatments(plan)).toEqual(['stress-relief']);
  });

  test('plain and symbolic spellings stand side by side', () => {
    const texts = Object.values(demos).flatMap(({ job }) =>
      job.features.flatMap((feature) => [
        feature.size?.text ?? '',
        ...feature.geometric.map((tolerance) => tolerance.text),
      ]),
    );
    for (const spelling of ['±', '+-', '⌀', 'dia', '⌖', 'position', '⟂', 'perpendicularity'])
      expect(texts.some((text) => text.includes(spelling))).toBe(true);
  });
});
