import { type Catalog, defaultCatalog, type JobInput, type Plan, planJob } from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { axisCharts } from '../../packages/core/src/plan/axis-charts.js';
import { operationsOf } from '../../packages/core/src/plan/operations.js';
import { solveJob } from '../../packages/core/src/plan/solve-job.js';
import { readInput } from '../property/arbitrary-job.js';

const catalog: Catalog = defaultCatalog();

/** A foot that carries datum A, a top face and a step below it, both measured from A. */
const job = readInput({
  schemaVersion: 'job/1',
  part: {
    name: 'Step block',
    number: 'S-1',
    revision: 'A',
    material: 's31603',
    printer: 'pbf-lb',
    endUse: 'static',
  },
  geometry: {
    volume: 90_000,
    surfaceArea: 20_000,
    box: [60, 40, 60],
    plateSection: 2400,
    thickestSection: 15,
    thinnestWall: 6,
    trappedPowder: 'none',
    supports: { latticeArea: 0, latticeAccess: 'open', solidArea: 0 },
  },
  order: { quantity: 10, currency: 'EUR', partsPerPlate: 4 },
  features: [
    {
      id: 'P1',
      kind: 'plane',
      size: '60 ±0.1',
      length: 60,
      width: 40,
      ra: 1.6,
      facing: 'down',
      access: ['-z'],
      datum: 'A',
      tolerances: ['flatness 0.03'],
    },
    {
      id: 'P2',
      kind: 'plane',
      size: '60 ±0.05',
      length: 30,
      width: 40,
      ra: 1.6,
      facing: 'up',
      access: ['+z'],
      tolerances: ['parallelism 0.05 A'],
    },
    {
      id: 'P6',
      kind: 'plane',
      size: '52 ±0.04',
      length: 30,
      width: 20,
      ra: 1.6,
      facing: 'up',
      access: ['+z'],
      tolerances: ['parallelism 0.05 A'],
    },
    {
      id: 'P9',
      kind: 'plane',
      size: '40 ±0.1',
      length: 30,
      width: 20,
      ra: 1.6,
      facing: 'side',
      access: ['+y'],
    },
  ],
} as unknown as JobInput);

describe('charts along the axes of a part', () => {
  const solved = solveJob(job, catalog, 10);
  const operations = operationsOf(solved);
  const [chart, ...others] = axisCharts(solved, operations);
  const chainOf = (id: string) => {
    const chain = solved.chosen.chains.find(({ feature }) => feature.id === id);
    if (chain === undefined) throw new Error(id);
    return chain;
  };

  test('hold the faces that are measured from a datum face, and no other', () => {
    expect(others).toEqual([]);
    expect(chart?.axis).toBe('z');
    expect(chart?.datum).toBe('A');
    expect([...(chart?.features ?? [])].sort()).toEqual(['P1', 'P2', 'P6']);
    expect(chart?.dimensions.map(({ requirement, holds }) => [requirement, holds])).toEqual([
      ['P6.size', true],
      ['P2.size', true],
    ]);
    for (const { requirement, meanMm } of chart?.dimensions ?? [])
      expect(meanMm).toBeCloseTo(requirement === 'P2.size' ? 60 : 52, 9);
  });

  test('the datum face is first cut from the printed face farthest from it, the others from the datum', () => {
    const from = (chart?.cuts ?? []).map(({ feature, from: base }) => `${feature} from ${base}`);
    expect(new Set(from)).toEqual(new Set(['P1 from P2', 'P2 from P1', 'P6 from P1']));
    for (const cut of chart?.cuts.filter(({ feature }) => feature !== 'P1') ?? []) {
      const dimension = operations
        .find(({ seq }) => seq === cut.operation)
        ?.workingDimensions.find(
          ({ feature, step }) => feature === cut.feature && step === cut.process,
        );
      expect(cut.meanMm).toBeCloseTo(dimension?.target ?? 0, 9);
      expect(dimension?.what).toBe('distance from datum A');
      expect(cut.lowerMm).toBeCloseTo(dimension?.lower ?? 0, 9);
    }
  });

  test('the stock of the top face varies with the setting of its datum`s cut, not with its print', () => {
    const [foot, top] = [chainOf('P1'), chainOf('P2')];
    const [first, second] = foot.steps;
    const stock = chart?.stocks.find(({ feature }) => feature === 'P2');
    if (first === undefined || stock === undefined) throw new Error();
    const setting = Math.hypot(first.setUp.centre.positionUm, first.setUp.centre.roughRelocationUm);
    const footFinish = second === undefined ? 0 : (first.toleranceMm + second.toleranceMm) / 6;
    const sigma = Math.hypot(setting / 1000, footFinish, (top.steps[0]?.toleranceMm ?? 0) / 6);
    // the policy's 99.73 % of parts
    expect((stock.mostMm - stock.leastMm) / 2).toBeCloseTo(3 * sigma, 4);
    expect(stock.neededMm).toBe(top.steps[0]?.stock.minimumMm);
    expect(stock.meanMm).toBeGreaterThan(stock.neededMm);
  });

  test('the stock of the step carries the print of both faces, the cut-off of neither', () => {
    const [foot, top, step] = [chainOf('P1'), chainOf('P2'), chainOf('P6')];
    const stock = chart?.stocks.find(({ feature }) => feature === 'P6');
    const [first, second] = foot.steps;
    if (first === undefined || stock === undefined) throw new Error();
    const { growth } = step.context;
    const grown = (chain: typeof step): number =>
      growth.sigmaPerMm *
      ((chain.printedSizeMm ?? 0) + chain.start.sizeMeanMm + foot.stockPerSideMm);
    const sigma = Math.hypot(
      Math.hypot(first.setUp.centre.positionUm, first.setUp.centre.roughRelocationUm) / 1000,
      second === undefined ? 0 : (first.toleranceMm + second.toleranceMm) / 6,
      (step.steps[0]?.toleranceMm ?? 0) / 6,
      top.start.sizeSigmaMm,
      step.start.sizeSigmaMm,
      grown(top),
      grown(step),
    );
    expect((stock.mostMm - stock.leastMm) / 2).toBeCloseTo(3 * sigma, 4);
  });

  test('stand in the plan', () => {
    const plan: Plan = planJob(job, catalog);
    expect(plan.charts).toHaveLength(1);
    expect(plan.charts[0]?.stocks.map(({ feature }) => feature)).toEqual(
      chart?.stocks.map(({ feature }) => feature),
    );
  });
});
