import {
  type Block,
  defaultCatalog,
  heatRequest,
  type Job,
  type JobInput,
  jobVocabulary,
  planJob,
  readJob,
  type Sheet,
} from '@offplate/core';
import { describe, expect, test } from 'vitest';

const catalog = defaultCatalog();

function jobOf(change: {
  part: Partial<JobInput['part']>;
  geometry?: Partial<JobInput['geometry']>;
}): Job {
  const input: JobInput = {
    schemaVersion: 'job/1',
    part: {
      name: 'Nozzle block',
      number: 'TB-2',
      revision: 'C',
      material: 'r56400',
      printer: 'pbf-lb',
      endUse: 'fatigue',
      ...change.part,
    },
    geometry: {
      volume: 90_000,
      surfaceArea: 30_000,
      box: [90, 60, 40],
      plateSection: 4000,
      thickestSection: 20,
      thinnestWall: 4,
      trappedPowder: 'none',
      supports: { latticeArea: 0, solidArea: 0 },
      ...change.geometry,
    },
    order: { quantity: 6, currency: 'EUR', partsPerPlate: 3, reference: 'E 17' },
    features: [
      { id: 'B1', kind: 'bore', size: '20 H7', ra: 1.6, depth: 20, facing: 'up', access: ['+z'] },
    ],
  };
  const { job, problems } = readJob({ json: JSON.stringify(input) }, jobVocabulary(catalog));
  if (job === undefined) throw new Error(JSON.stringify(problems));
  return job;
}

const sheetOf = (job: Job, workCentre?: string): Sheet =>
  heatRequest(
    planJob(job, catalog),
    { format: 'A4', ...(workCentre === undefined ? {} : { workCentre }) },
    job,
  );

const texts = (block: Block): readonly string[] => {
  switch (block.type) {
    case 'heading':
    case 'paragraph':
      return [block.text];
    case 'list':
    case 'box':
      return [block.title, ...block.items];
    case 'fields':
      return block.fields.map((field) => `${field.label}: ${field.value}`);
    case 'table':
      return [block.title, ...block.rows.flat()];
    default:
      return [];
  }
};
const allText = (sheet: Sheet): string =>
  [
    ...sheet.header.map((field) => `${field.label}: ${field.value}`),
    ...sheet.blocks.flatMap(texts),
  ].join('\n');

describe('request to the heat treater', () => {
  const titanium = jobOf({ part: { condition: 'HIP' } });

  test('one work centre asked: HIP after the stress relief of another', () => {
    const plan = planJob(titanium, catalog);
    expect(plan.thermal.cycles.map((cycle) => cycle.treatment)).toEqual(['stress-relief', 'hip']);
    const text = allText(sheetOf(titanium, 'hip-out'));
    expect(text).toContain('Hot isostatic pressing');
    expect(text).not.toContain('Stress relief on the plate');
    expect(text).toContain('Condition received: SR');
    expect(text).toContain('Condition wanted: HIP (also meets Condition SR)');
    expect(text).toContain('Pressure: ≥ 100 MPa');
    expect(text).toContain('Keep inert to: 425 °C');
    const whole = allText(sheetOf(titanium));
    expect(whole).toContain('Hot isostatic pressing');
    expect(whole).toContain('Stress relief on the plate');
    expect(whole).toContain('Condition received: as built');
  });

  test('says who, what, how many, and leaves room for what only the shop knows', () => {
    const sheet = sheetOf(titanium, 'hip-out');
    expect(sheet.identity).toBe('TB-2-C');
    expect(sheet.kind).toBe('heat-request');
    const field = (label: string) => sheet.header.find((each) => each.label === label)?.value;
    expect(field('Purchase order')).toBe('E 17');
    expect(field('Quantity')).toBe('6');
    expect(field('Mass of a part')).toBe('0.399 kg');
    expect(field('Envelope of a part')).toBe('90 × 60 × 40 mm');
    expect(field('Delivered')).toBe('loose parts');
    expect(field('Serial numbers')).toBe('');
    expect(field('Powder lot')).toBe('');
  });

  test('marks what nobody has read in a source, and lets the governing documents override', () => {
    const text = allText(sheetOf(titanium));
    expect(text).toContain('To be confirmed against the governing specification');
    expect(text).toContain(
      'r56400-hip-1: set point 920 °C (recalled, not read), tolerance ±15 °C (recalled, not read), soak 120 min (recalled, not read)',
    );
    expect(text).toContain('ramp 7 °C/min (common practice)');
    expect(text).toContain('Governing documents; they override the figures below');
    expect(text).toContain('ASTM F2924-14 HIP clause');
  });

  test('furnace, sensors, witness pieces, checks, rework, certificate, safety', () => {
    const text = allText(sheetOf(titanium));
    for (const part of [
      'Furnace uniformity: class 5 (±14 °C)',
      'Load sensors: high in the vessel; low in the vessel',
      '1 density cube and 1 section a build',
      'alpha case in a section; O, N, H analysis',
      'Not more than one repeat of a step',
      'Chart of time and part temperature',
      'Residual metal powder can be inside',
      'No contact with nickel, iron or copper',
      'The parts have no channels or cavities that hold powder.',
    ])
      expect(text).toContain(part);
  });

  test('the curve is drawn with its band and its holds', () => {
    const curve = sheetOf(titanium, 'hip-out').blocks.find((block) => block.type === 'curve');
    if (curve?.type !== 'curve') throw new Error('no curve');
    expect(Math.max(...curve.points.map(([, celsius]) => celsius))).toBe(920);
    expect(curve.band?.some(([, low, high]) => low === 905 && high === 935)).toBe(true);
    expect(curve.marks.map((mark) => mark.text)).toEqual(['920 °C, 2 h']);
    expect(curve.y.to).toBeGreaterThanOrEqual(935);
    expect(curve.inWords).toContain('920 °C');
  });

  test('all heat in the house: every step is asked for, parts arrive on the plate', () => {
    const steel = jobOf({ part: { material: 's31603', endUse: 'static', condition: 'SR' } });
    const text = allText(sheetOf(steel));
    expect(text).toContain('Stress relief on the plate');
    expect(text).toContain('Delivered: on the build plate');
    expect(text).toContain('Condition received: as built');
  });

  test('channels: proven empty or still to be proven', () => {
    const channels = (powderProof: boolean): string =>
      allText(
        sheetOf(
          jobOf({
            part: { condition: 'HIP' },
            geometry: { trappedPowder: 'open-channels', powderProof },
          }),
        ),
      );
    expect(channels(true)).toContain('Channels and cavities are proven empty.');
    expect(channels(false)).toContain('have to be proven empty before the parts leave');
  });

  test('PH steel: size change and hardness window of the age', () => {
    const steel = jobOf({
      part: { material: 's17400', endUse: 'static', condition: 'H1025' },
    });
    const { workCentre } =
      planJob(steel, catalog).operations.find((each) => each.process === 'age') ?? {};
    const text = allText(sheetOf(steel, workCentre?.id));
    expect(text).toContain('hardness 35 to 42 HRC');
    expect(text).toMatch(/change of length of Nozzle block: −0\.7 \(−0\.8 to −0\.6\) mm per metre/);
  });

  test('a plan without heat says so', () => {
    const beam = jobOf({ part: { printer: 'pbf-eb', endUse: 'static' } });
    expect(allText(sheetOf(beam))).toContain('The plan has no heat treatment.');
  });
});
