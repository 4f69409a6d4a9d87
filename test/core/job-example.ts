import type { JobInput, JobVocabulary } from '@offplate/core';

/** Ids of an invented catalogue, enough to read jobs against. */
export const vocabulary: JobVocabulary = {
  materials: ['alsi10mg', 'n07718', 's17400'],
  currencies: ['EUR', 'JPY', 'USD'],
  operations: ['bead-blasting', 'electropolishing', 'hip', 'passivation', 'stress-relief'],
};

type Mutable<T> = T extends object ? { -readonly [Key in keyof T]: Mutable<T[Key]> } : T;

/** A complete job with inline features; a new object at each call, so that tests may damage it. */
export function exampleJob(): Mutable<JobInput> & {
  features: Mutable<Exclude<JobInput['features'], string>>;
} {
  return {
    $schema: '../../schema/job.schema.json',
    schemaVersion: 'job/1',
    units: 'mm',
    part: {
      name: 'Sensor bracket',
      number: 'SB-104',
      revision: 'B',
      material: 's17400',
      printer: 'pbf-lb',
      endUse: 'static',
      condition: 'H1025',
      standards: ['ISO 2768-1'],
      hazards: ['none known'],
      regulated: false,
      revisions: [
        { revision: 'A', on: '2026-05-04', change: 'first issue', approvedBy: 'drawing office' },
        { revision: 'B', change: 'foot 2 mm thicker' },
      ],
      note: 'invented',
    },
    geometry: {
      volume: 21500,
      surfaceArea: '118 cm2',
      box: [62, 40, 28],
      plateSection: 1450,
      thickestSection: 12,
      thinnestWall: 3,
      trappedPowder: 'none',
      powderProof: false,
      supports: { latticeArea: 320, latticeAccess: 'open', solidArea: 0 },
    },
    order: {
      quantity: 12,
      currency: 'EUR',
      startOn: '2027-03-01',
      dueOn: '2027-04-09',
      closedOn: ['2027-03-29', '2027-03-26', '2027-03-29'],
      partsPerPlate: 6,
      quantityBreaks: [50, 1, 12],
      customer: 'Works 2',
      reference: 'RFQ 7',
    },
    generalTolerance: 'ISO 2768-mK',
    features: [
      {
        id: 'P1',
        kind: 'plane',
        name: 'foot',
        size: '28 ±0.1',
        ra: 3.2,
        length: 62,
        width: 40,
        facing: 'down',
        angle: 0,
        access: ['bottom'],
        datum: 'A',
        tolerances: ['flatness 0.03'],
      },
      {
        id: 'B1',
        kind: 'bore',
        size: '12 H7',
        ra: '32 uin',
        rz: 4,
        depth: 18,
        facing: 'up',
        supported: false,
        access: ['+z'],
        tolerances: ['position ⌀0.05 A', 'cylindricity 0.01'],
        location: 22,
        note: 'ream or bore',
      },
      { id: 'T1', kind: 'thread', count: 4, size: 'M4-6H', depth: 10, access: ['z'] },
      { id: 'W1', kind: 'slot', size: 6, length: 15, depth: '4 mm' },
      { id: 'F1', kind: 'freeform', area: 5200, ra: 12.5, finishes: ['bead-blasting'] },
    ],
    chains: [
      { id: 'wall', terms: ['+P1', '-B1'], lower: 15.85, upper: 16.15 },
      { id: 'half', expression: 'P1 - B1 / 2', lower: '21.85 mm', upper: 22.15 },
    ],
    policy: {
      objective: 'weighted',
      costPerDay: 120,
      required: ['stress-relief'],
      forbidden: ['electropolishing'],
      minimumProbability: 0.9973,
      outsideWork: true,
      cutOffBeforeRelief: false,
      contingencyPercent: 5,
      marginPercent: 10,
      learning: { percent: 90, processes: ['passivation', 'bead-blasting'] },
      transferBatch: 4,
      enoughGoodProbability: 0.98,
    },
  };
}
