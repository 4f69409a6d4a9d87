import {
  blockOnPlate,
  blockStressShare,
  curlCurvature,
  curlLiftMm,
  curlRootMm,
  curlSagMm,
  curlVerdict,
  cutOffCurl,
  defaultCatalog,
  layeredOnPlate,
  machiningCurvature,
  materialById,
  plateMismatch,
  plateObjection,
  remainingAfter,
  thinLayerCurvature,
  unboltedCurvature,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

// Curl at cut-off. Measured: the AMB2018-01 bridge in N06625 (11 ridges, neutron strain) and its end
// lift in S15500. Of S31603 the stress at the top of an arch was measured, not its curl; bridges and
// cantilevers of S31603, AlSi10Mg, R56400 and N07718 are described in papers whose numbers were not
// seen, so that of these alloys only the direction is known. Derived numbers say so.
const catalog = defaultCatalog();

/** x in mm against upward deflection in mm; benchmark AMB2018-01, N06625 part 3 (read). */
const bridge: readonly (readonly [number, number])[] = [
  [0.5, 1.276],
  [7.5, 0.997],
  [14.5, 0.754],
  [21.5, 0.551],
  [28.5, 0.387],
  [35.5, 0.25],
  [42.5, 0.146],
  [49.5, 0.065],
  [56.5, 0.012],
  [63.5, 0],
  [70.5, 0.003],
];
/** 75 mm long, 5 mm wide, connected 5 mm high, 19 mm stay on the plate; measured at x = 0.5. */
const bridgeBeam = { lengthMm: 74.5, widthMm: 5, heightMm: 5, heldMm: 19 };
/** Slope of the measured neutron stress through the height, MPa/mm (derived from the strain table). */
const stressSlope = 102.04;

describe('AMB2018-01 bridge, N06625 (measured, read)', () => {
  test('K1: curvature 6.470e-4 and root 63.08 (fitted, derived) meet every ridge within 0.010 mm', () => {
    for (const [x, measured] of bridge)
      expect(Math.abs(curlLiftMm(6.47e-4, 63.08, x) - measured)).toBeLessThan(0.01);
  });

  test('the same from six ridges only predicts the other five within 0.01 mm (derived)', () => {
    const others = bridge.filter((_, index) => index % 2 === 1);
    for (const [x, measured] of others)
      expect(Math.abs(curlLiftMm(6.506e-4, 62.99, x) - measured)).toBeLessThan(0.01);
  });

  test('the root lies 1.4 heights beyond the edge at 56 mm', () => {
    expect(Math.abs(curlRootMm(56, 5) - 63.08)).toBeLessThan(0.1);
  });

  test('K2: blind from the measured stress slope: 0.966 mm at x = 0.5 (24 % low), and the range of the report holds 1.276 mm', () => {
    const stress = (stressSlope * 5) / 2;
    const curvature = curlCurvature(stress, 207_000, 5);
    expect(curvature).toBeCloseTo(stressSlope / 207_000, 12);
    expect(Math.abs(curlLiftMm(curvature, 63.1, 0.5) - 0.966)).toBeLessThan(0.001);
    const report = cutOffCurl(
      materialById(catalog, 'n06625'),
      { ...bridgeBeam, measuredStressMPa: stress },
      undefined,
    );
    if (!report.known) throw new Error(report.reason);
    expect(report.modelError).toBe(0.25);
    expect(report.before.lowMm).toBeLessThan(1.276);
    expect(report.before.highMm).toBeGreaterThan(1.276);
  });

  test('from the as-built yield (recalled): the range holds 1.276 mm', () => {
    const report = cutOffCurl(materialById(catalog, 'n06625'), bridgeBeam, undefined);
    if (!report.known) throw new Error(report.reason);
    expect(report.stressMPa).toBe(325);
    expect(Math.abs(report.before.typicalMm / 1.276 - 1)).toBeLessThan(report.modelError);
    expect(report.before.lowMm).toBeLessThan(1.276);
    expect(report.before.highMm).toBeGreaterThan(1.276);
  });

  test('full yield would be 87 % too much (derived): half of it is taken', () => {
    expect(curlLiftMm(curlCurvature(630, 207_000, 5), 63.1, 0.5) / 1.276).toBeCloseTo(1.87, 2);
  });
});

describe('other alloys', () => {
  test('S15500: the same bridge lifted 1.168 mm at ridge 1 (measured, result page of the deflection challenge CHAL-AMB2018-01-PD, read): within the stated 50 % from the yield', () => {
    const report = cutOffCurl(materialById(catalog, 's15500'), bridgeBeam, undefined);
    if (!report.known) throw new Error(report.reason);
    expect(Math.abs(report.before.typicalMm / 1.168 - 1)).toBeLessThan(report.modelError);
    expect(report.before.lowMm).toBeLessThan(1.168);
    expect(report.before.highMm).toBeGreaterThan(1.168);
  });

  test('S31603: half of the yield (240 MPa) against about 380 MPa measured at the top of the benchmark arch (read): inside a factor of two, not inside 25 %', () => {
    const report = cutOffCurl(
      materialById(catalog, 's31603'),
      { lengthMm: 75, widthMm: 5, heightMm: 5 },
      undefined,
    );
    if (!report.known) throw new Error(report.reason);
    expect(report.stressMPa).toBe(240);
    expect(380).toBeLessThan(report.stressMPa / (1 - report.modelError));
  });

  test.each([
    [
      'n07718',
      1065,
      90,
      'heat treatment lowers the distortion of cantilevers (summary of a 2025 study, values not seen)',
    ],
    ['r56400', 800, 120, 'relief after heat treatment of bridges (values not seen)'],
    ['s31603', 700, 120, '200 to 270 of 380 MPa leave on the plate (measured stress, read)'],
  ])('%s, direction only: after %d C the curl is less; %s', (alloy, temperatureC, minutes) => {
    const left = remainingAfter(catalog, alloy, [{ temperatureC, minutes }]);
    const report = cutOffCurl(
      materialById(catalog, alloy),
      { lengthMm: 100, widthMm: 20, heightMm: 10 },
      left,
    );
    if (!report.known) throw new Error(report.reason);
    expect(report.after.typicalMm).toBeLessThan(report.before.typicalMm);
    expect(report.after.highMm).toBeLessThan(report.before.highMm);
  });

  test.each(['s31603', 'r56400', 'alsi10mg', 'n07718'])(
    '%s: no measured curl was found, and the report says that it is unproven',
    (alloy) => {
      const subject = { lengthMm: 75, widthMm: 5, heightMm: 5 };
      const report = cutOffCurl(materialById(catalog, alloy), subject, undefined);
      if (!report.known) throw new Error(report.reason);
      expect(report.note).toContain('no measured curl of this alloy was found');
      const proven = cutOffCurl(materialById(catalog, 's15500'), subject, undefined);
      expect(proven.known && proven.note).not.toContain('unproven');
    },
  );

  test('S31603 with the measured stress of 380 MPa (read): the range from the yield holds that curl', () => {
    const subject = { lengthMm: 75, widthMm: 5, heightMm: 5 };
    const material = materialById(catalog, 's31603');
    const fromYield = cutOffCurl(material, subject, undefined);
    const measured = cutOffCurl(material, { ...subject, measuredStressMPa: 380 }, undefined);
    if (!fromYield.known || !measured.known) throw new Error('no curl');
    expect(measured.before.typicalMm).toBeGreaterThan(fromYield.before.lowMm);
    expect(measured.before.typicalMm).toBeLessThan(fromYield.before.highMm);
    expect(measured.before.typicalMm / fromYield.before.typicalMm).toBeCloseTo(380 / 240, 9);
  });

  test('T20813: no as-built yield was found, so no curl is given', () => {
    expect(
      cutOffCurl(
        materialById(catalog, 't20813'),
        { lengthMm: 100, widthMm: 20, heightMm: 10 },
        undefined,
      ),
    ).toMatchObject({ known: false, reason: expect.stringContaining('no as-built yield') });
  });
});

describe('K3: block on an elastic plate (assumptions of Mercelis and Kruth 2006, from memory; values derived)', () => {
  const cases: readonly (readonly [number, number, number, number])[] = [
    [1, 1, 0.1137, 1.6355],
    [12.7, 5, 0.4662, 1.0334],
    [19.7, 5, 0.6104, 0.763],
    [25, 30, 0.0495, 1.7278],
  ];
  test.each(cases)('plate %d, part %d: S %d, curvature number %d', (plate, part, mean, number) => {
    const closed = blockOnPlate(plate, part);
    expect(Math.abs(closed.meanShare - mean)).toBeLessThan(1e-4);
    expect(Math.abs(closed.curvatureNumber - number)).toBeLessThan(1e-4);
    const layered = layeredOnPlate({
      plateMm: plate,
      partMm: part,
      plateModulusGPa: 200,
      partModulusGPa: 200,
      layers: 1000,
    });
    expect(Math.abs(layered.curvatureNumber / number - 1)).toBeLessThan(0.003);
    expect(Math.abs(layered.meanShare - mean)).toBeLessThan(0.003 * 0.15);
  });

  test('moduli 207 and 110, plate 25, part 30: S 0.1612, curvature number 1.4212', () => {
    const layered = layeredOnPlate({
      plateMm: 25,
      partMm: 30,
      plateModulusGPa: 207,
      partModulusGPa: 110,
      layers: 1000,
    });
    expect(Math.abs(layered.meanShare - 0.1612)).toBeLessThan(1e-4);
    expect(Math.abs(layered.curvatureNumber - 1.4212)).toBeLessThan(1e-4);
  });

  test('the top of the block carries the stress of a fresh layer, the foot less', () => {
    expect(blockStressShare(25, 30, 30)).toBeCloseTo(1, 12);
    expect(blockStressShare(25, 30, 0)).toBeLessThan(0);
  });

  test('bridge with the legs left out: 648 MPa would be needed for the measured curvature (derived)', () => {
    const { curvatureNumber } = blockOnPlate(12.7, 5);
    expect((6.47e-4 * 5 * 207_000) / curvatureNumber).toBeCloseTo(648, 0);
  });
});

test('K4: Stoney (1909, from memory) against the exact curl at part/plate = 0.04: 0.00960 and 0.00923, 4 % apart', () => {
  const stoney = thinLayerCurvature(1, 1, 1, 0, 25);
  const exact = unboltedCurvature(1, 25, 1, 1);
  expect(stoney).toBeCloseTo(0.0096, 6);
  expect(exact).toBeCloseTo(0.00923, 5);
  expect(stoney / exact - 1).toBeCloseTo(0.04, 4);
});

test('K5: 0.5 mm off one face of 5 mm with 100 MPa in the skins, E 110000, L 100: -1.0909e-4, sag 0.1364 mm (derived); equal cuts leave it straight', () => {
  const one = machiningCurvature(100, 110_000, 5, 0.5, 0);
  expect(one).toBeCloseTo((-6 * 100 * 0.5) / (110_000 * 25), 12);
  expect(one).toBeCloseTo(-1.0909e-4, 8);
  expect(curlSagMm(one, 100)).toBeCloseTo(0.1364, 4);
  expect(machiningCurvature(100, 110_000, 5, 0, 0.5)).toBeCloseTo(-one, 12);
  expect(Math.abs(machiningCurvature(100, 110_000, 5, 0.5, 0.5))).toBeLessThan(1e-15);
});

test('M6: (18.5 - 14.0)e-6 x 680 = 0.00306; 581 MPa at E 190 GPa, capped by the yield and notable', () => {
  const mismatch = plateMismatch({
    partExpansion: 18.5,
    plateExpansion: 14,
    holdC: 700,
    roomC: 20,
    modulusGPa: 190,
    yieldMPa: 300,
  });
  expect(mismatch.strain).toBeCloseTo(0.00306, 12);
  expect(mismatch.strain * 190_000).toBeCloseTo(581, 0);
  expect(mismatch).toMatchObject({ stressMPa: 300, notable: true });
});

describe('metals that may not be heated together (phase diagrams, from memory)', () => {
  const pair = (part: string, plate: string, holdC: number, pressed: boolean) => {
    const row = materialById(catalog, plate);
    return plateObjection({
      part: materialById(catalog, part).family,
      plate: row.family,
      plateSolidusC: row.solidusC,
      holdC,
      pressed,
    });
  };
  test('titanium on steel in HIP: no; on titanium: yes', () => {
    expect(pair('r56400', 's31603', 920, true)).toContain('bond under pressure at 920 °C');
    expect(pair('r56400', 'r56400', 920, true)).toBeUndefined();
  });
  test('titanium on steel in a furnace at 800 C: yes; on copper at 850 C: no', () => {
    expect(pair('r56400', 's31603', 800, false)).toBeUndefined();
    expect(pair('r56400', 'c10100', 850, false)).toContain('melt together from about 880 °C');
  });
  test('a copper plate at 1065 C: it melts', () => {
    expect(pair('n07718', 'c10100', 1065, false)).toContain('starts to melt');
  });
});

test('verdict on the stock by the high end of the curl', () => {
  const curl = { lowMm: 0.1, typicalMm: 0.2, highMm: 0.4 };
  expect(curlVerdict(curl, 2).verdict).toBe('harmless');
  expect(curlVerdict(curl, 0.6).verdict).toBe('eats into the stock');
  expect(curlVerdict(curl, 0.3).verdict).toBe('more than the stock');
  expect(curlVerdict(curl, 0).verdict).toBe('more than the stock');
});
