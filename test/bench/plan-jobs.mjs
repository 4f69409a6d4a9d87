// Invented jobs of any number of features, the same for the same seed, for the benchmark of planning
// and for tests that need a large job.
import { randomStream } from './route-models.mjs';

const materials = [
  ['s17400', 'fatigue'],
  ['r56400', 'fatigue'],
  ['alsi10mg', 'static'],
  ['n07718', 'static'],
  ['s31603', 'pressure'],
];

/**
 * A block with holes, threads, slots, seats and faces on all six sides, located from three datums, as
 * a user writes it (`job/1`). Alike features come in groups of one to four with ids of their own, as a
 * drawing that gives each hole its own tolerance has them. A larger job of the same seed begins with the
 * features of the smaller one.
 */
export function makePlanJob({ features, seed = 1 }) {
  const random = randomStream(seed * 2654435761);
  const pick = (values) => values[Math.floor(random() * values.length)];
  const between = (low, high) => Math.round(low + (high - low) * random());
  const [material, endUse] = materials[seed % materials.length];
  const list = [
    {
      id: 'P001',
      kind: 'plane',
      size: '120 ±0.1',
      ra: 3.2,
      length: 200,
      width: 150,
      facing: 'down',
      access: ['-z'],
      datum: 'A',
      tolerances: ['flatness 0.05'],
    },
    {
      id: 'B002',
      kind: 'bore',
      size: '30 H7',
      ra: 1.6,
      depth: 40,
      facing: 'up',
      access: ['+z', '-z'],
      datum: 'B',
      tolerances: ['perpendicularity 0.05 A'],
    },
    {
      id: 'P003',
      kind: 'plane',
      size: '150 ±0.1',
      ra: 3.2,
      length: 120,
      width: 80,
      facing: 'side',
      angle: 90,
      access: ['+x'],
      datum: 'C',
      tolerances: ['perpendicularity 0.08 A'],
    },
  ];
  const sides = [
    ['+z', 'up'],
    ['-z', 'down'],
    ['+x', 'side'],
    ['-x', 'side'],
    ['+y', 'side'],
    ['-y', 'side'],
  ];
  const kinds = ['bore', 'bore', 'thread', 'plane', 'slot', 'shaft', 'freeform', 'radius'];
  let group;
  let left = 0;
  while (list.length < features) {
    if (left === 0) {
      const [side, facing] = pick(sides);
      group = makers[pick(kinds)]({ pick, between, side, facing });
      left = between(1, 4);
    }
    left -= 1;
    const id = `${group.kind.slice(0, 1).toUpperCase()}${String(list.length + 1).padStart(3, '0')}`;
    list.push({ id, ...group });
  }
  return {
    schemaVersion: 'job/1',
    part: {
      name: `Block of ${features} features`,
      number: `BF-${features}`,
      revision: 'A',
      material,
      printer: 'pbf-lb',
      endUse,
    },
    geometry: {
      volume: 900_000,
      surfaceArea: 160_000,
      box: [200, 150, 120],
      plateSection: 24_000,
      thickestSection: 30,
      thinnestWall: 4,
      trappedPowder: 'none',
      supports: { latticeArea: 2500, latticeAccess: 'open', solidArea: 400 },
    },
    order: { quantity: 20, currency: 'EUR', partsPerPlate: 1 },
    generalTolerance: 'ISO 2768-mK',
    features: list.slice(0, features),
    policy: { objective: 'cost' },
  };
}

const makers = {
  bore: ({ pick, between, side, facing }) => ({
    kind: 'bore',
    size: `${between(5, 28)} ${pick(['H7', 'H8', 'H9', '±0.1', 'H11'])}`,
    ra: pick([0.8, 1.6, 3.2, 6.3]),
    depth: between(8, 40),
    ...facingOf(side, facing),
    tolerances: [`position ⌀${pick([0.1, 0.15, 0.2, 0.4])} A ${pick(['B', 'C', 'B C'])}`],
  }),
  thread: ({ pick, between, side, facing }) => ({
    kind: 'thread',
    size: pick(['M4-6H', 'M5-6H', 'M6-6H', 'M8-6H', 'M10-6H']),
    depth: between(8, 20),
    ...facingOf(side, facing),
    tolerances: [`position ⌀${pick([0.2, 0.4])} A B`],
  }),
  plane: ({ pick, between, side, facing }) => ({
    kind: 'plane',
    size: `${between(30, 110)} ${pick(['±0.05', '±0.1', '±0.2', ''])}`.trim(),
    ra: pick([1.6, 3.2, 6.3]),
    length: between(20, 90),
    width: between(15, 60),
    ...facingOf(side, facing),
    tolerances: [
      `${side.endsWith('z') ? 'parallelism' : 'perpendicularity'} ${pick([0.1, 0.2])} A`,
    ],
  }),
  slot: ({ pick, between, side, facing }) => ({
    kind: 'slot',
    size: `${between(6, 20)} ${pick(['H8', 'H9', '±0.1'])}`,
    ra: pick([3.2, 6.3]),
    length: between(20, 60),
    depth: between(4, 12),
    ...facingOf(side, facing),
    tolerances: [`position ${pick([0.1, 0.2])} A B`],
  }),
  shaft: ({ pick, between, side, facing }) => ({
    kind: 'shaft',
    size: `${between(10, 40)} ${pick(['h8', 'h9', '±0.1'])}`,
    ra: pick([1.6, 3.2]),
    depth: between(10, 30),
    ...facingOf(side, facing),
    tolerances: [`position ⌀${pick([0.1, 0.2])} A B`],
  }),
  freeform: ({ between }) => ({
    kind: 'freeform',
    length: between(30, 90),
    width: between(20, 60),
    facing: 'angled',
    angle: between(35, 70),
    access: ['+z', '+x'],
    tolerances: ['profile 0.8'],
  }),
  radius: ({ between, side, facing }) => ({
    kind: 'radius',
    size: between(2, 8),
    length: between(20, 60),
    ...facingOf(side, facing),
  }),
};

function facingOf(side, facing) {
  return { facing, ...(facing === 'side' ? { angle: 90 } : {}), access: [side] };
}
