import {
  defaultCatalog,
  type FeatureInput,
  type Job,
  type JobInput,
  jobVocabulary,
  readJob,
} from '@offplate/core';
import fc from 'fast-check';

/**
 * A random job as whole numbers of tenths of a thou (0.0001 in = 0.00254 mm), so that its mm and its
 * inch form can both be written exactly. `jobInput` turns it into a job as a user writes it.
 */
export interface JobRecipe {
  readonly material: string;
  readonly printer: 'pbf-lb' | 'pbf-eb';
  readonly endUse: JobInput['part']['endUse'];
  readonly box: readonly [number, number, number];
  readonly lattice: boolean;
  readonly solidSupports: boolean;
  readonly quantity: number;
  readonly partsPerPlate: number;
  readonly breaks: readonly number[];
  readonly start: boolean;
  readonly general: boolean;
  readonly policy: NonNullable<JobInput['policy']>;
  readonly features: readonly FeatureRecipe[];
}

type Kind = FeatureInput['kind'];
type Side = '+x' | '-x' | '+y' | '-y' | '+z' | '-z';

interface FeatureRecipe {
  readonly id: string;
  readonly kind: Kind;
  /** Nominal size in tenths of a thou, with what stands behind it. */
  readonly size?: { readonly nominal: number; readonly limits: Limits };
  readonly thread?: string;
  readonly length?: number;
  readonly width?: number;
  readonly depth?: number;
  readonly ra?: number;
  readonly rz?: number;
  readonly facing?: NonNullable<FeatureInput['facing']>;
  readonly angle?: number;
  readonly supported: boolean;
  readonly onAxis: boolean;
  readonly access: readonly Side[];
  readonly count: number;
  readonly datum?: string;
  readonly location?: number;
  readonly finishes?: readonly string[];
  readonly zones: readonly Zone[];
}

type Limits =
  | { readonly form: 'bare' }
  | { readonly form: 'plus-minus'; readonly half: number }
  | { readonly form: 'one-sided'; readonly width: number }
  | { readonly form: 'fit'; readonly code: string };

interface Zone {
  readonly kind: string;
  readonly diametral: boolean;
  readonly value: number;
  readonly datums: string;
}

/** What chance decides about one feature; the recipe makes it agree with the rest of the part. */
const gene = fc.record({
  kind: fc.constantFrom<Kind>(
    'plane',
    'bore',
    'shaft',
    'slot',
    'thread',
    'freeform',
    'channel',
    'radius',
  ),
  size: fc.integer({ min: 0, max: 1000 }),
  limits: fc.constantFrom('bare', 'wide', 'middle', 'close', 'one-sided', 'fit', 'fine-fit'),
  ra: fc.constantFrom(undefined, undefined, 12.5, 6.3, 3.2, 1.6, 0.8, 0.4),
  asRz: fc.boolean(),
  length: fc.integer({ min: 200, max: 700 }),
  width: fc.integer({ min: 200, max: 700 }),
  facing: fc.constantFrom<NonNullable<FeatureInput['facing']>>('up', 'down', 'side', 'angled'),
  side: fc.constantFrom<Side>('+x', '-x', '+y', '-y'),
  bothSides: fc.boolean(),
  silent: fc.integer({ min: 0, max: 9 }),
  supported: fc.integer({ min: 0, max: 3 }),
  onAxis: fc.boolean(),
  count: fc.constantFrom(1, 1, 1, 2, 4),
  carriesDatum: fc.boolean(),
  form: fc.constantFrom(undefined, undefined, 10, 20, 40),
  place: fc.constantFrom(undefined, 15, 25, 40, 80, 160),
  placeKind: fc.integer({ min: 0, max: 5 }),
  datums: fc.integer({ min: 1, max: 3 }),
  finishes: fc.constantFrom(undefined, undefined, undefined, undefined, [], ['bead-blasting']),
});
type Gene = typeof gene extends fc.Arbitrary<infer T> ? T : never;

/** Alloys with the end uses and printers that the shipped routes serve. */
const alloys: readonly (readonly [string, 'pbf-lb' | 'pbf-eb', readonly string[]])[] = [
  ['r56400', 'pbf-lb', ['static', 'fatigue', 'corrosion', 'pressure', 'prototype']],
  ['r56407', 'pbf-eb', ['static', 'fatigue', 'corrosion']],
  ['n07718', 'pbf-lb', ['static', 'fatigue', 'high-temperature', 'prototype']],
  ['n07718', 'pbf-eb', ['static', 'fatigue']],
  ['n06625', 'pbf-lb', ['static', 'corrosion', 'pressure']],
  ['n06002', 'pbf-lb', ['high-temperature', 'pressure']],
  ['s31603', 'pbf-lb', ['static', 'corrosion', 'pressure', 'prototype']],
  ['s17400', 'pbf-lb', ['static', 'wear', 'fatigue', 'prototype']],
  ['s15500', 'pbf-lb', ['static', 'corrosion', 'pressure']],
  ['k93120', 'pbf-lb', ['static', 'wear', 'fatigue']],
  ['alsi10mg', 'pbf-lb', ['static', 'prototype', 'pressure', 'fatigue']],
  ['alsi7mg06', 'pbf-lb', ['static', 'corrosion']],
  ['r31537', 'pbf-lb', ['static', 'fatigue']],
  ['c18150', 'pbf-lb', ['static', 'high-temperature']],
  ['t20813', 'pbf-lb', ['static', 'wear']],
];

const catalog = defaultCatalog();
export const vocabulary: ReturnType<typeof jobVocabulary> = jobVocabulary(catalog);

/** Processes that work on single features: the ones a job may forbid without changing its heat. */
export const featureProcesses: readonly string[] = catalog.processNeeds
  .filter((row) => row.level === 'feature')
  .map((row) => row.process);

/** Part-wide finishes that suit a family of alloys and that a job may require. */
function finishesFor(material: string): readonly string[] {
  const family = catalog.materials.find((row) => row.id === material)?.family ?? '';
  return catalog.processNeeds
    .filter((row) => row.level === 'part')
    .filter((row) => row.families.includes('any') || row.families.some((name) => name === family))
    .map((row) => row.process);
}

export interface RecipeOptions {
  readonly objectives?: readonly ('cost' | 'days' | 'weighted')[];
  readonly minFeatures?: number;
  readonly maxFeatures?: number;
}

/** Random jobs that pass the reader: 2 to 12 features of all kinds unless told otherwise. */
export function arbitraryRecipe({
  objectives = ['cost'],
  minFeatures = 2,
  maxFeatures = 12,
}: RecipeOptions = {}): fc.Arbitrary<JobRecipe> {
  const length = fc.integer({ min: 22_000, max: 70_000 });
  return fc
    .record({
      genes: fc.array(gene, { minLength: minFeatures, maxLength: maxFeatures }),
      alloy: fc.constantFrom(...alloys),
      use: fc.integer({ min: 0, max: 4 }),
      box: fc.tuple(length, length, length),
      lattice: fc.boolean(),
      solidSupports: fc.integer({ min: 0, max: 3 }),
      quantity: fc.constantFrom(1, 2, 5, 12, 40, 150),
      partsPerPlate: fc.integer({ min: 1, max: 8 }),
      breaks: fc.uniqueArray(fc.constantFrom(1, 3, 10, 30, 100, 300), { maxLength: 3 }),
      start: fc.boolean(),
      general: fc.integer({ min: 0, max: 3 }),
      objective: fc.constantFrom(...objectives),
      forbidden: fc.uniqueArray(fc.constantFrom(...featureProcesses), { maxLength: 4 }),
      required: fc.integer({ min: 0, max: 40 }),
      outside: fc.integer({ min: 0, max: 7 }),
      cutFirst: fc.integer({ min: 0, max: 9 }),
      margin: fc.constantFrom(0, 0, 12.5),
      probability: fc.constantFrom(undefined, undefined, 0.95, 0.9999),
    })
    .map((chance): JobRecipe => {
      const [material, printer, uses] = chance.alloy;
      const finishes = finishesFor(material);
      const required = finishes[chance.required - 1];
      return {
        material,
        printer,
        endUse: (uses[chance.use % uses.length] ?? 'static') as JobRecipe['endUse'],
        box: chance.box,
        lattice: chance.lattice,
        solidSupports: chance.solidSupports === 3,
        quantity: chance.quantity,
        partsPerPlate: chance.partsPerPlate,
        breaks: chance.breaks,
        start: chance.start,
        general: chance.general < 3,
        features: featureRecipes(chance.genes, chance.box),
        policy: {
          objective: chance.objective,
          ...(chance.objective === 'weighted' ? { costPerDay: 150 } : {}),
          forbidden: chance.forbidden,
          ...(required === undefined ? {} : { required: [required] }),
          outsideWork: chance.outside < 7,
          cutOffBeforeRelief: chance.cutFirst === 9,
          marginPercent: chance.margin,
          ...(chance.probability === undefined ? {} : { minimumProbability: chance.probability }),
        },
      };
    });
}

function featureRecipes(genes: readonly Gene[], box: readonly number[]): readonly FeatureRecipe[] {
  const room = Math.min(...box);
  const letters: string[] = [];
  return genes.map((chance, index) => {
    const earlier = [...letters];
    const carries =
      chance.carriesDatum && letters.length < 3 && ['plane', 'bore', 'shaft'].includes(chance.kind);
    const letter = 'ABC'[letters.length];
    if (carries && letter !== undefined) letters.push(letter);
    return {
      id: `${chance.kind.slice(0, 1).toUpperCase()}${index + 1}`,
      kind: chance.kind,
      ...extentsOf(chance, room),
      ...roughnessOf(chance),
      ...facingOf(chance),
      supported: chance.supported === 3 && chance.kind !== 'channel',
      onAxis: chance.onAxis && ['plane', 'bore', 'shaft', 'thread'].includes(chance.kind),
      access: accessOf(chance),
      count: carries ? 1 : chance.count,
      ...(carries && letter !== undefined ? { datum: letter } : {}),
      ...(chance.place === undefined ? {} : { location: Math.round((room * chance.width) / 1000) }),
      ...(chance.finishes === undefined ? {} : { finishes: chance.finishes }),
      zones: zonesOf(chance, earlier),
    };
  });
}

/** Metric threads of the shipped table, by what a random number points at. */
const threads = ['M3', 'M4-6H', 'M5', 'M6-6H', 'M8-6H', 'M10', 'M8-6g', 'M12-6g'];
const holeFits = ['H7', 'H8', 'H9', 'F8', 'G7'];
const shaftFits = ['h6', 'g6', 'h7', 'f7', 'k6'];

function extentsOf(
  chance: Gene,
  room: number,
): Pick<FeatureRecipe, 'size' | 'thread' | 'length' | 'width' | 'depth'> {
  const part = (thousandth: number): number => Math.round((room * thousandth) / 1000);
  // Diameters and widths from 0.1 in (2.5 mm) to under half of the room, in whole thou.
  const across = 1000 + 10 * Math.round((chance.size * (part(450) - 1000)) / 10_000);
  const limits = limitsOf(chance);
  switch (chance.kind) {
    case 'plane':
      return {
        size: { nominal: part(300 + (chance.size % 600)), limits },
        length: part(chance.length),
        width: part(chance.width),
      };
    case 'bore':
    case 'shaft':
      return { size: { nominal: across, limits }, depth: part(chance.length) };
    case 'slot':
      return {
        size: { nominal: across, limits },
        length: part(chance.length),
        depth: part(chance.width / 2),
      };
    case 'thread':
      return {
        thread: threads[chance.size % threads.length] ?? 'M6',
        depth: part(Math.min(chance.length, 300)),
      };
    case 'freeform':
      return { length: part(chance.length), width: part(chance.width) };
    case 'channel':
      return {
        size: { nominal: across, limits: { form: 'plus-minus', half: 320 } },
        length: part(chance.length),
      };
    case 'radius':
      return { size: { nominal: Math.round(across / 4), limits: { form: 'bare' } } };
  }
}

function limitsOf(chance: Gene): Limits {
  const hole = chance.kind === 'bore' || chance.kind === 'slot';
  const fits = hole ? holeFits : shaftFits;
  const round = chance.kind !== 'plane';
  switch (chance.limits) {
    case 'wide':
      return { form: 'plus-minus', half: 100 };
    case 'middle':
      return { form: 'plus-minus', half: 30 };
    case 'close':
      return { form: 'plus-minus', half: 8 };
    case 'one-sided':
      return { form: 'one-sided', width: 20 + chance.width };
    case 'fit':
      return round
        ? { form: 'fit', code: fits[chance.length % fits.length] ?? 'H7' }
        : { form: 'plus-minus', half: 15 };
    case 'fine-fit':
      return round ? { form: 'fit', code: hole ? 'H6' : 'h5' } : { form: 'plus-minus', half: 4 };
    default:
      return { form: 'bare' };
  }
}

/** Inside a channel hardly anything smooths, so little is asked there. */
function roughnessOf({ kind, ra, asRz }: Gene): Pick<FeatureRecipe, 'ra' | 'rz'> {
  if (ra === undefined || kind === 'thread') return {};
  const limit = kind === 'channel' ? 16 + ra : ra;
  return asRz ? { rz: Math.round(limit * 80) / 10 } : { ra: limit };
}

function facingOf(chance: Gene): Pick<FeatureRecipe, 'facing' | 'angle'> {
  if (chance.kind === 'channel' || chance.silent === 9) return {};
  const { facing } = chance;
  if (facing === 'angled') return { facing, angle: 30 + (chance.size % 40) };
  if (facing === 'side') return { facing, angle: 90 };
  return { facing };
}

function accessOf(chance: Gene): readonly Side[] {
  if (chance.kind === 'channel' || chance.silent === 8) return [];
  const sideways = chance.facing === 'side' || chance.facing === 'angled';
  const main: Side = sideways ? chance.side : chance.facing === 'down' ? '-z' : '+z';
  const through = chance.kind === 'bore' || chance.kind === 'slot' || chance.kind === 'thread';
  if (!chance.bothSides) return [main];
  if (through) return [main, opposite(main)];
  return sideways ? [main, '+z'] : [main, chance.side];
}

function opposite(side: Side): Side {
  return `${side.startsWith('+') ? '-' : '+'}${side.slice(1)}` as Side;
}

function zonesOf(chance: Gene, datums: readonly string[]): readonly Zone[] {
  const zones: Zone[] = [];
  const { kind, form } = chance;
  if (form !== undefined && ['plane', 'bore', 'shaft'].includes(kind))
    zones.push({
      kind: kind === 'plane' ? 'flatness' : chance.asRz ? 'roundness' : 'cylindricity',
      diametral: false,
      value: form,
      datums: '',
    });
  if (form !== undefined && (kind === 'freeform' || kind === 'radius'))
    zones.push({ kind: 'profile', diametral: false, value: form * 4, datums: '' });
  if (chance.place === undefined || datums.length === 0) return zones;
  const kinds: Readonly<Record<Kind, readonly string[]>> = {
    plane: ['perpendicularity', 'parallelism', 'angularity', 'position'],
    bore: ['position', 'position', 'coaxiality', 'perpendicularity'],
    shaft: ['runout', 'coaxiality', 'position', 'total-runout', 'perpendicularity'],
    slot: ['symmetry', 'position'],
    thread: ['position'],
    freeform: ['profile'],
    radius: ['profile'],
    channel: [],
  };
  const chosen = kinds[kind][chance.placeKind % Math.max(1, kinds[kind].length)];
  if (chosen === undefined) return zones;
  const many = ['position', 'profile'].includes(chosen) ? chance.datums : 1;
  zones.push({
    kind: chosen,
    diametral: chosen === 'position' && ['bore', 'thread', 'shaft'].includes(kind),
    value: chance.place,
    datums: datums.slice(0, many).join(' '),
  });
  return zones;
}

/** The job as a user writes it; bare lengths in the units given, fits with their own unit. */
export function jobInput(recipe: JobRecipe, units: 'mm' | 'in' = 'mm'): JobInput {
  const factor = units === 'in' ? 1 : 25.4;
  const length = (tenths: number): number => Number(((tenths * factor) / 10_000).toFixed(5));
  const area = (tenths2: number): number =>
    Number((tenths2 * (factor / 10_000) ** 2).toPrecision(12));
  const [x, y, z] = recipe.box;
  const volume = 0.3 * x * y * z * (factor / 10_000) ** 3;
  return {
    schemaVersion: 'job/1',
    units,
    part: {
      name: 'Random part',
      number: 'RP-1',
      revision: 'A',
      material: recipe.material,
      printer: recipe.printer,
      endUse: recipe.endUse,
    },
    geometry: {
      volume: Number(volume.toPrecision(12)),
      surfaceArea: area(3 * (x * y + y * z + z * x)),
      box: [length(x), length(y), length(z)],
      plateSection: area(0.6 * x * y),
      thickestSection: length(Math.round(Math.min(x, y, z) / 4)),
      thinnestWall: length(1200),
      trappedPowder: recipe.features.some((feature) => feature.kind === 'channel')
        ? 'open-channels'
        : 'none',
      supports: {
        latticeArea: recipe.lattice ? area(0.05 * x * y) : 0,
        latticeAccess: 'open',
        solidArea: recipe.solidSupports ? area(0.01 * x * y) : 0,
      },
    },
    order: {
      quantity: recipe.quantity,
      currency: 'EUR',
      partsPerPlate: recipe.partsPerPlate,
      quantityBreaks: [...recipe.breaks],
      ...(recipe.start ? { startOn: '2027-03-01', dueOn: '2027-04-09' } : {}),
    },
    ...(recipe.general ? { generalTolerance: 'ISO 2768-mK' } : {}),
    features: recipe.features.map((feature) => featureInput(feature, units, length)),
    policy: recipe.policy,
  };
}

function featureInput(
  feature: FeatureRecipe,
  units: 'mm' | 'in',
  length: (tenths: number) => number,
): FeatureInput {
  const size = feature.thread ?? sizeText(feature, units, length);
  const optional = {
    size,
    length: feature.length === undefined ? undefined : length(feature.length),
    width: feature.width === undefined ? undefined : length(feature.width),
    depth: feature.depth === undefined ? undefined : length(feature.depth),
    location: feature.location === undefined ? undefined : length(feature.location),
    ra: feature.ra,
    rz: feature.rz,
    facing: feature.facing,
    angle: feature.angle,
    datum: feature.datum,
    finishes: feature.finishes,
  };
  return {
    id: feature.id,
    kind: feature.kind,
    count: feature.count,
    supported: feature.supported,
    onAxis: feature.onAxis,
    access: feature.access,
    tolerances: feature.zones.map((zone) =>
      `${zone.kind} ${zone.diametral ? '⌀' : ''}${length(zone.value)} ${zone.datums}`.trim(),
    ),
    ...(Object.fromEntries(
      Object.entries(optional).filter(([, value]) => value !== undefined),
    ) as Partial<FeatureInput>),
  };
}

function sizeText(
  { size }: FeatureRecipe,
  units: 'mm' | 'in',
  length: (tenths: number) => number,
): string | undefined {
  if (size === undefined) return undefined;
  const nominal = length(size.nominal);
  const { limits } = size;
  switch (limits.form) {
    case 'bare':
      return String(nominal);
    case 'plus-minus':
      return `${nominal} ±${length(limits.half)}`;
    case 'one-sided':
      return `${nominal} +${length(limits.width)}/0`;
    case 'fit':
      return units === 'in' ? `${nominal} in ${limits.code}` : `${nominal} ${limits.code}`;
  }
}

/** Reads the recipe as the command would; a recipe that the reader refuses is a fault of this file. */
export function jobOf(recipe: JobRecipe, units: 'mm' | 'in' = 'mm'): Job {
  return readInput(jobInput(recipe, units));
}

export function readInput(input: JobInput): Job {
  const { job, problems } = readJob({ json: JSON.stringify(input) }, vocabulary);
  if (job === undefined) throw new Error(`not a job: ${JSON.stringify(problems, null, 1)}`);
  return job;
}

/** The same jobs for a test that needs a fixed number of them. */
export function sampleRecipes(
  count: number,
  seed: number,
  options: RecipeOptions = {},
): readonly JobRecipe[] {
  return fc.sample(arbitraryRecipe(options), { seed, numRuns: count });
}
