import {
  capabilityFromFraction,
  conformanceProbability,
  fractionsFromCapability,
  globalRisk,
  guardBand,
  howeToleranceFactor,
  oneSidedToleranceFactor,
  processCapability,
  twoSidedToleranceFactor,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';
import { normalQuantile } from '../../packages/core/src/numeric/normal.js';

test('G1 two-sided conformance probability, JCGM 106:2012 clause 7.4 (inputs read, published 0.66 from memory)', () => {
  const result = conformanceProbability({
    value: 13.6,
    standardUncertainty: 1.8,
    lower: 12.5,
    upper: 16.3,
  });
  expect(result.conforms).toBeCloseTo(0.6626298, 7);
  expect(result.above).toBeCloseTo(0.0668072, 7);
  expect(result.below).toBeCloseTo(0.270563, 7);
});

test('G2 one-sided upper limit, JCGM 106:2012 clause 7.3.3 example 1 (memory)', () => {
  const { conforms } = conformanceProbability({
    value: -5.47,
    standardUncertainty: 0.05,
    upper: -5.4,
  });
  expect(conforms).toBeCloseTo(0.9192433, 7);
});

describe('G3 global risk, table of a recommended-practice draft in github.com/sandialabs/suncal test/test_risk.py (read)', () => {
  test.each([
    [0.6, 4.838603, 8.26008, 6.260453],
    [0.7, 3.922341, 5.72322, 5.38853],
    [0.8, 2.855831, 3.632272, 4.232016],
    [0.9, 1.599954, 1.798805, 2.654585],
    [0.95, 0.87101, 0.923898, 1.595394],
    [0.99, 0.199917, 0.202439, 0.445636],
  ])('in-tolerance share %d', (share, falseAccept, conditional, falseReject) => {
    const sigma = 1 / normalQuantile((1 + share) / 2);
    const risk = globalRisk({
      processMean: 0,
      processSigma: sigma,
      standardUncertainty: sigma / 4,
      lower: -1,
      upper: 1,
    });
    expect(risk.conforming).toBeCloseTo(share, 12);
    expect(Math.abs(100 * risk.falseAccept - falseAccept)).toBeLessThan(1e-6);
    expect(Math.abs(100 * risk.conditionalFalseAccept - conditional)).toBeLessThan(3e-6);
    expect(Math.abs(100 * risk.falseReject - falseReject)).toBeLessThan(1e-6);
    // what is accepted is either good or falsely accepted
    expect(risk.conforming - risk.falseReject + risk.falseAccept).toBeCloseTo(risk.accepted, 12);
  });
});

describe('G4 guard band, ISO 14253-1 (derived)', () => {
  const limits = { lower: 19.95, upper: 20.05, standardUncertainty: 0.004 };

  test('g = U, k = 2', () => {
    const band = guardBand({ ...limits, rule: { kind: 'expanded', coverageFactor: 2 } });
    expect(band.accept?.lower).toBeCloseTo(19.958, 12);
    expect(band.accept?.upper).toBeCloseTo(20.042, 12);
    expect(band.rejectBelow).toBeCloseTo(19.942, 12);
    expect(band.rejectAbove).toBeCloseTo(20.058, 12);
    const { conforms } = conformanceProbability({ ...limits, value: band.accept?.upper ?? 0 });
    expect(conforms).toBeCloseTo(0.97725, 5);
  });

  test('95 % conformance probability at the acceptance limit (2017 default from memory)', () => {
    const band = guardBand({ ...limits, rule: { kind: 'probability', conformance: 0.95 } });
    expect(band.guardBand).toBeCloseTo(0.0065794, 7);
    expect(band.accept?.lower).toBeCloseTo(19.956579, 6);
    expect(band.accept?.upper).toBeCloseTo(20.043421, 6);
    expect(conformanceProbability({ ...limits, value: 20.045 }).conforms).toBeCloseTo(0.89435, 6);
  });

  test('bands that meet leave nothing to accept', () => {
    const band = guardBand({
      lower: 0,
      upper: 0.01,
      standardUncertainty: 0.004,
      rule: { kind: 'expanded', coverageFactor: 2 },
    });
    expect(band.accept).toBeUndefined();
  });
});

describe('G5 capability to fraction outside', () => {
  test.each([
    [10, 0.833333, 0.01241933, 0.00620967, 0.00620967],
    [10.5, 0.416667, 0.10573819, 0.00008842, 0.10564977],
    [12, -0.833333, 0.99379033, 0, 0.99379033],
  ])(
    'limits 9 and 11, sd 0.4, mean %d (suncal test_risk.py, read)',
    (mean, cpk, total, low, high) => {
      const figures = processCapability({ mean, sigma: 0.4, lower: 9, upper: 11 });
      expect(figures.cpk).toBeCloseTo(cpk, 6);
      expect(figures.below + figures.above).toBeCloseTo(total, 8);
      expect(figures.below).toBeCloseTo(low, 8);
      expect(figures.above).toBeCloseTo(high, 8);
    },
  );

  test('NIST e-Handbook 6.1.6 (memory)', () => {
    const figures = processCapability({ mean: 16, sigma: 2, lower: 8, upper: 20 });
    expect(figures.cp).toBeCloseTo(1, 12);
    expect(figures.cpk).toBeCloseTo(0.6667, 4);
    expect(figures.below).toBeCloseTo(3.167e-5, 8);
    expect(figures.above).toBeCloseTo(0.02275013, 8);
  });

  test.each([
    [0.5, 133614.4, 2],
    [0.67, 44431.19, 2],
    [1, 2699.796, 3],
    [4 / 3, 63.342, 3],
    [5 / 3, 0.573303, 6],
    [2, 0.00197318, 8],
  ])('centred, Cp %d, two-sided ppm (recomputed)', (cp, ppm, decimals) => {
    const { total } = fractionsFromCapability({ cp, cpk: cp });
    expect(1e6 * total).toBeCloseTo(ppm, decimals);
    expect(capabilityFromFraction(total, 'two-sided')).toBeCloseTo(cp, 12);
  });

  test('six sigma with a shift of 1.5 sigma (recomputed)', () => {
    const { nearer, farther } = fractionsFromCapability({ cp: 2, cpk: 1.5 });
    expect(1e6 * nearer).toBeCloseTo(3.397673, 6);
    expect(1e6 * farther).toBeCloseTo(3.19e-8, 10);
  });
});

describe('I4 normal tolerance-interval factors (recomputed)', () => {
  test.each([
    [5, 0.95, 5.076875, 5.093526, 4.202681],
    [10, 0.95, 3.393429, 3.381913, 2.910963],
    [10, 0.99, 4.436909, 4.444588, 3.981118],
    [30, 0.99, 3.354576, 3.350789, 3.063901],
  ])('n %d, coverage %d, confidence 0.95', (count, coverage, exact, howe, oneSided) => {
    const options = { count, coverage, confidence: 0.95 };
    expect(twoSidedToleranceFactor(options)).toBeCloseTo(exact, 6);
    expect(howeToleranceFactor(options)).toBeCloseTo(howe, 6);
    expect(oneSidedToleranceFactor(options)).toBeCloseTo(oneSided, 6);
  });
});
