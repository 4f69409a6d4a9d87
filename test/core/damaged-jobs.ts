import { exampleJob } from './job-example.js';

/** An input that cannot be planned, as the files of a job folder. */
export interface DamagedJob {
  /** What was done to it; unique. */
  readonly name: string;
  /** Bytes of `job.json`. */
  readonly json: Uint8Array;
  /** Bytes of `features.csv`, when the job has its features there. */
  readonly csv?: Uint8Array;
  /** File in which at least one problem must stand. */
  readonly file: 'job.json' | 'features.csv';
}

/** Small random stream (mulberry32), so that a seed gives the same inputs everywhere. */
function randomStream(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

type Path = readonly (string | number)[];
type Branch = Record<string | number, unknown>;

const utf8 = (text: string): Uint8Array => new TextEncoder().encode(text);
const csvHeader =
  'id;kind;name;count;size;Ra;length;width;depth;area;facing;supported;access;datum;tolerances;note';
const csvRows = [
  'P1;plane;foot;1;28 ±0.1;3.2;62;40;;;down;no;-z;A;flatness 0.03;',
  'B1;bore;seat;1;12 H7;0.8;;;18;;up;no;+z;;position 0.05 A;ream',
  'T1;thread;;4;M4-6H;;;;10;;;;z;;;',
  'F1;freeform;;1;;12.5;;;;5200;;yes;;;;',
];
const csvText = `${[csvHeader, ...csvRows].join('\n')}\n`;

/** Wrong values by the last step of a path; each is wrong for every field of that name. */
const wrongValues: Readonly<Record<string, readonly unknown[]>> = {
  schemaVersion: ['job/0', 1],
  units: ['cm', 'MM'],
  name: [5, ''],
  number: [104, null],
  revision: [true, 'R'.repeat(30)],
  material: ['unobtainium', 17400],
  printer: ['laser', ''],
  endUse: ['fatige', []],
  condition: [1025, ' '],
  regulated: ['yes', 0],
  volume: ['a lot', -5, 0, '12 mm2', 1e300],
  surfaceArea: ['118 cm', {}],
  box: [[62, 40], '62x40x28', [62, 40, -28]],
  plateSection: [0, '1450 mm3', 62 * 41],
  thickestSection: ['12,5', 'thick', 1200],
  thinnestWall: [0, '3 furlong'],
  trappedPowder: ['some', false],
  powderProof: ['true', 1],
  supports: [[], 'none'],
  latticeArea: [-1, '320 mm'],
  latticeAccess: ['inside', 2],
  quantity: [0, -3, 2.5, '12'],
  currency: ['EURO', 'XXQ', 978],
  startOn: ['2027-02-30', '01.03.2027'],
  dueOn: ['2026-12-31', 'tomorrow', '2027-4-9'],
  partsPerPlate: [0, 1.5],
  quantityBreaks: [[0], [1, 'many'], 5],
  generalTolerance: ['ISO 2768-qZ', 'fine', 2768],
  id: ['', 'a b', 7, '-x'],
  kind: ['hole', 'planes', 3],
  count: [0, 2.5, '4'],
  size: ['12 H77', '±0.1', 'M8-9Z', '', -4, '12 ++0.1', '30-10'],
  ra: [0, -1, 'smooth', '1,6', '3 mm'],
  rz: ['Ra 3', -4],
  length: [0, 'long', '62 kg', 9e4],
  depth: [-1, '4 mm deep', null],
  facing: ['left', 'UP '],
  angle: [91, -1, '45'],
  supported: ['no', 1],
  access: [['+w'], '+z', ['above']],
  datum: ['AA', 'a', 1],
  tolerances: [
    ['position'],
    ['evenness 0.1 A'],
    'flatness 0.1',
    ['runout 0.1 Z'],
    ['flatness 0.1 A'],
  ],
  location: [-1, 'near'],
  finishes: [['gold'], 'bead-blasting'],
  terms: [[], ['+Q9'], ['P1', '+-B1'], 'P1 - B1'],
  expression: ['P1 - Nope', 4],
  lower: ['low', 99],
  upper: [-99, null],
  objective: ['cheap', 1],
  costPerDay: [-1, '120 EUR'],
  required: [['polishing by magic'], 'hip'],
  forbidden: [['stress-relief'], ['hipp']],
  minimumProbability: [0, 1, '99.73 %'],
  outsideWork: ['no', null],
  marginPercent: [-1, '10'],
  contingencyPercent: [-1, '5'],
  percent: [49, 101, '90 %'],
  processes: [['polishing by magic'], 'finish-milling'],
  transferBatch: [0, 1.5, '4'],
  enoughGoodProbability: [0.4, 1, '95 %'],
  closedOn: [['2027-02-29'], '2027-03-26', ['next Friday']],
};

/** Faults in the text of the JSON, each at a place that the random stream picks. */
const textFaults: readonly (readonly [string, (text: string, random: () => number) => string])[] = [
  ['text cut short', (text, random) => text.slice(0, 1 + Math.floor(random() * (text.length - 3)))],
  ['a comma taken out', (text, random) => without(text, ',', random)],
  ['a colon taken out', (text, random) => without(text, ':', random)],
  [
    'a comma doubled',
    (text, random) => at(text, ',', random, (i) => `${text.slice(0, i)},${text.slice(i)}`),
  ],
  [
    'an opening quote taken out',
    (text, random) => at(text, ': "', random, (i) => `${text.slice(0, i + 2)}${text.slice(i + 3)}`),
  ],
  [
    'a bracket put in',
    (text, random) => at(text, '\n', random, (i) => `${text.slice(0, i)}]${text.slice(i)}`),
  ],
  [
    'a remark',
    (text, random) =>
      at(text, '\n', random, (i) => `${text.slice(0, i)} // remark${text.slice(i)}`),
  ],
  [
    'a control character',
    (text, random) =>
      at(text, ': "', random, (i) => `${text.slice(0, i + 3)}\u0001${text.slice(i + 3)}`),
  ],
  [
    'a line end inside a text',
    (text, random) =>
      at(text, ': "', random, (i) => `${text.slice(0, i + 3)}\n${text.slice(i + 3)}`),
  ],
];

function placesOf(text: string, mark: string): number[] {
  const places: number[] = [];
  for (let i = text.indexOf(mark); i >= 0; i = text.indexOf(mark, i + 1)) places.push(i);
  return places;
}

function at(
  text: string,
  mark: string,
  random: () => number,
  change: (index: number) => string,
): string {
  const places = placesOf(text, mark);
  return change(places[Math.floor(random() * places.length)] ?? 0);
}

function without(text: string, mark: string, random: () => number): string {
  return at(text, mark, random, (i) => `${text.slice(0, i)}${text.slice(i + mark.length)}`);
}

/** Changes of one cell of the features table: row, column, text. */
const wrongCells: readonly (readonly [number, string, string])[] = [
  [0, 'id', ''],
  [0, 'id', 'B1'],
  [1, 'id', 'B 1'],
  [0, 'kind', ''],
  [1, 'kind', 'boer'],
  [2, 'kind', 'bore'],
  [2, 'count', '0'],
  [2, 'count', '4.5'],
  [2, 'count', 'four'],
  [1, 'size', '12 H'],
  [1, 'size', '12 g6'],
  [1, 'size', ''],
  [1, 'size', '12 ±'],
  [1, 'size', '=12+1'],
  [2, 'size', 'M4-6'],
  [2, 'size', '4 ±0.1'],
  [1, 'Ra', '0'],
  [1, 'Ra', '-0.8'],
  [1, 'Ra', '0.8.1'],
  [1, 'Ra', 'N13'],
  [0, 'length', '62 hl'],
  [0, 'length', ''],
  [0, 'width', '0'],
  [1, 'depth', '1.234.5'],
  [1, 'depth', '1800'],
  [3, 'area', '5200 mm'],
  [3, 'area', ''],
  [0, 'facing', 'sideways'],
  [3, 'supported', 'maybe'],
  [1, 'access', '+z +q'],
  [1, 'datum', 'A'],
  [0, 'datum', 'Æ'],
  [0, 'datum', ''],
  [1, 'tolerances', 'position 0.05 B'],
  [1, 'tolerances', 'position'],
  [1, 'tolerances', 'position 0.05 A|concentric'],
  [0, 'tolerances', 'perpendicularity 0.1 A'],
  [1, 'note', '"open'],
  [1, 'note', '"x"y'],
];

/** Changes of the text of the features table as a whole. */
const wrongTables: readonly (readonly [string, Uint8Array])[] = [
  ['an empty table', utf8('')],
  ['only a header', utf8(`${csvHeader}\n`)],
  ['no header', utf8(`${csvRows.join('\n')}\n`)],
  ['a column twice', utf8(csvText.replace('name;', 'size;'))],
  ['a column twice in another spelling', utf8(csvText.replace('name;', 'Length (mm);'))],
  ['a mistyped column', utf8(csvText.replace('tolerances', 'tolerence'))],
  ['no kind column', utf8(csvText.replace(';kind;', ';sort;'))],
  ['an unknown unit in the header', utf8(csvText.replace('depth', 'depth [ell]'))],
  ['a cell too many', utf8(csvText.replace('ream', 'ream;again'))],
  [
    'commas under a header of semicolons',
    utf8(
      csvText
        .split('\n')
        .map((line, i) => (i === 1 ? line.replaceAll(';', ',') : line))
        .join('\n'),
    ),
  ],
  [
    'decimal commas between commas',
    utf8(csvText.replaceAll(';', ',').replace('0.8', '0,8').replace('3.2', '3,2')),
  ],
  [
    'a decimal comma in quotes between commas',
    utf8(csvText.replaceAll(';', ',').replace('0.8', '"0,8"')),
  ],
  ['a point as thousands separator', utf8(csvText.replace('0.8', '0,8').replace('5200', '5.200'))],
  [
    'zero bytes',
    Uint8Array.from([...utf8(csvText.slice(0, 50)), 0, 0, 7, ...utf8(csvText.slice(50))]),
  ],
  ['half of a UTF-16 text', Uint8Array.from([0xff, 0xfe, 0x69])],
  ['a broken byte among UTF-8', Uint8Array.from([...utf8(csvText), 0xe9, 0x0a])],
  ['a control character', utf8(csvText.replace('foot', 'fo\u0002ot'))],
];

/**
 * Damaged inputs, all different, the same for the same seed: JSON that is none, values of the wrong
 * kind or range, unknown and missing and doubled fields, contradictions, and tables with damaged
 * headers, rows, cells and bytes.
 */
export function damagedJobs(seed: number): readonly DamagedJob[] {
  const random = randomStream(seed);
  const example = exampleJob();
  const text = JSON.stringify(example, null, 2);
  const jobs: DamagedJob[] = [];
  const known = new Set<string>();
  const add = (job: DamagedJob): void => {
    if (known.has(job.name)) return;
    known.add(job.name);
    jobs.push(job);
  };
  const inJson = (name: string, json: string): void =>
    add({ name, json: utf8(json), file: 'job.json' });

  for (const [name, change] of textFaults)
    for (let round = 1; round <= 3; round++) inJson(`${name} (${round})`, change(text, random));
  inJson('no text', '');
  inJson('a list', '[]');
  inJson('a number', '7');
  inJson('too deep', '['.repeat(1000));
  add({
    name: 'bytes of no text',
    json: Uint8Array.from([0x89, 0x50, 0x4e, 0x47, 0, 0]),
    file: 'job.json',
  });

  for (const path of pathsOf(example)) {
    const last = path.filter((step) => typeof step === 'string').at(-1) ?? '';
    if (path.at(-1) !== last) continue;
    for (const value of wrongValues[last] ?? [])
      inJson(
        `${path.join('.')} = ${JSON.stringify(value)}`,
        JSON.stringify(changed(example, path, value), null, 2),
      );
  }
  for (const path of [
    'schemaVersion',
    'part',
    'geometry',
    'order',
    'features',
    'part.name',
    'part.number',
    'part.material',
    'part.printer',
    'part.endUse',
    'order.quantity',
    'order.currency',
    'features.0.id',
    'features.1.kind',
    'features.1.size',
    'chains.0.lower',
    'chains.1.expression',
  ])
    inJson(`no ${path}`, JSON.stringify(changed(example, path.split('.'), undefined)));
  for (const path of [
    '',
    'part',
    'geometry',
    'geometry.supports',
    'order',
    'features.2',
    'chains.0',
    'policy',
  ])
    inJson(
      `an unknown field in ${path === '' ? 'the job' : path}`,
      JSON.stringify(changed(example, [...(path === '' ? [] : path.split('.')), 'colour'], 'red')),
    );
  for (const key of ['part', 'quantity', 'size', '__proto__', 'constructor'])
    inJson(
      `${key} doubled or smuggled in`,
      text.replace('"units"', `"${key}": 1, "${key}": 2, "units"`),
    );

  const withTable = utf8(
    JSON.stringify({ ...example, chains: [], features: 'features.csv' }, null, 2),
  );
  const columns = csvHeader.split(';');
  for (const [row, column, cell] of wrongCells) {
    const rows = csvRows.map((line, index) => {
      const cells = line.split(';');
      if (index === row) cells[columns.indexOf(column)] = cell;
      return cells.join(';');
    });
    add({
      name: `row ${row + 1}, ${column}: ${JSON.stringify(cell)}`,
      json: withTable,
      csv: utf8(`${[csvHeader, ...rows].join('\n')}\n`),
      file: 'features.csv',
    });
  }
  for (const [name, csv] of wrongTables)
    add({ name: `table: ${name}`, json: withTable, csv, file: 'features.csv' });
  for (const features of ['../features.csv', '/features.csv', 'absent.csv', 'features.xlsx', ''])
    add({
      name: `the table ${JSON.stringify(features)}`,
      json: utf8(JSON.stringify({ ...example, chains: [], features })),
      csv: utf8(csvText),
      file: 'job.json',
    });
  return jobs;
}

function pathsOf(value: unknown, path: Path = []): Path[] {
  if (typeof value !== 'object' || value === null) return [path];
  const steps = Array.isArray(value) ? value.map((_, index) => index) : Object.keys(value);
  return [path, ...steps.flatMap((step) => pathsOf((value as Branch)[step], [...path, step]))];
}

/** A copy with one value changed; `undefined` takes it out. */
function changed(document: unknown, path: Path, value: unknown): unknown {
  const root = structuredClone(document) as Branch;
  let holder = root;
  for (const step of path.slice(0, -1)) holder = holder[step] as Branch;
  const last = path.at(-1) ?? '';
  if (value === undefined) delete holder[last];
  else holder[last] = value;
  return root;
}
