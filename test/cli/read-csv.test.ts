import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { defaultCatalog, type Job, type JobReading, mergeShop, readJob } from '@offplate/core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { maxCsvLines, readCsvCells } from '../../packages/cli/src/read/csv-cells.js';
import { detectDialect } from '../../packages/cli/src/read/csv-dialect.js';
import { decodeText } from '../../packages/cli/src/read/decode-text.js';
import { featureTable } from '../../packages/cli/src/read/feature-file.js';
import { maxFileBytes, textOf } from '../../packages/cli/src/read/read-file.js';
import { readJobFrom } from '../../packages/cli/src/read/read-job.js';
import { readShopFolder } from '../../packages/cli/src/read/shop-folder.js';
import { exampleJob, vocabulary } from '../core/job-example.js';

const header = [
  'id',
  'kind',
  'name',
  'count',
  'size',
  'Ra',
  'length',
  'width',
  'depth',
  'area',
  'angle',
  'supported',
  'access',
  'datum',
  'tolerances',
  'note',
];
/** Numbers with a point; the comma forms are made from these. `|` as in a cell of several lines. */
const rows = [
  [
    'P1',
    'plane',
    'Führung',
    '1',
    '28.5 ±0.1',
    '3.2',
    '62',
    '40.25',
    '',
    '',
    '0',
    'no',
    '-z',
    'A',
    'flatness 0.03',
    'säubern; dann messen',
  ],
  [
    'B1',
    'bore',
    'seat',
    '2',
    '⌀12.5 H7',
    '0.8',
    '',
    '',
    '18.75',
    '',
    '',
    'no',
    '+z',
    '',
    'position ⌀0.05 A;cylindricity 0.01',
    'ream "or" bore',
  ],
  [
    'F1',
    'freeform',
    'outside',
    '',
    '',
    '12.5',
    '',
    '',
    '',
    '5200.5',
    '60.5',
    'yes',
    'x y z',
    '',
    '',
    'two\nlines',
  ],
];
/** The same without characters that Windows-1252 lacks. */
const latinRows = rows.map((row) => row.map((cell) => cell.replaceAll('⌀', 'Ø')));
const numeric = new Set(['size', 'Ra', 'length', 'width', 'depth', 'area', 'angle', 'tolerances']);

interface Form {
  readonly delimiter: ';' | ',' | '\t';
  readonly decimal: '.' | ',';
  readonly lineEnd: '\n' | '\r\n' | '\r';
}

function csv(table: readonly (readonly string[])[], { delimiter, decimal, lineEnd }: Form): string {
  const cell = (text: string, column: number): string => {
    const marked =
      numeric.has(header[column] ?? '') && decimal === ','
        ? text.replace(/(\d)\.(\d)/g, '$1,$2')
        : text;
    const ended = marked.replaceAll('\n', lineEnd);
    return /["\r\n;,\t]/.test(ended) ? `"${ended.replaceAll('"', '""')}"` : ended;
  };
  const lines = [header, ...table].map((row) => row.map(cell).join(delimiter));
  // a blank line in the middle, a line of empty cells at the end, as spreadsheets leave them
  lines.splice(2, 0, '');
  lines.push(delimiter.repeat(header.length - 1));
  return `${lines.join(lineEnd)}${lineEnd}`;
}

function utf16(text: string, bigEndian: boolean): Buffer {
  const bytes = Buffer.from(text, 'utf16le');
  return bigEndian ? bytes.swap16() : bytes;
}

const encoders: Readonly<Record<string, (text: string) => Buffer>> = {
  'UTF-8': (text) => Buffer.from(text, 'utf8'),
  'UTF-8 with mark': (text) => Buffer.from(`\ufeff${text}`, 'utf8'),
  'UTF-16 LE': (text) => utf16(text, false),
  'UTF-16 LE with mark': (text) => utf16(`\ufeff${text}`, false),
  'UTF-16 BE': (text) => utf16(text, true),
  'UTF-16 BE with mark': (text) => utf16(`\ufeff${text}`, true),
  'Windows-1252': (text) => Buffer.from(text, 'latin1'),
};

function read(bytes: Uint8Array): JobReading {
  const { text, problems, findings } = textOf(bytes, 'features.csv');
  expect(problems).toEqual([]);
  const job = { ...exampleJob(), features: 'features.csv', chains: [] };
  return readJob(
    {
      json: JSON.stringify(job),
      file: 'job.json',
      featureTable: featureTable(text ?? '', 'features.csv', findings),
    },
    vocabulary,
  );
}

/** The job without what rightly differs: how a number was written, and the diameter sign. */
function comparable(job: Job | undefined): unknown {
  const text = JSON.stringify(job, (key, value) => (key === 'text' ? undefined : value));
  return JSON.parse(text ?? 'null');
}

describe('one file in every form gives one job', () => {
  const forms = ([';', ',', '\t'] as const).flatMap((delimiter) =>
    (['.', ','] as const).flatMap((decimal) =>
      (['\n', '\r\n', '\r'] as const).flatMap((lineEnd): Form[] =>
        delimiter === ',' && decimal === ',' ? [] : [{ delimiter, decimal, lineEnd }],
      ),
    ),
  );
  const plain: Form = { delimiter: ',', decimal: '.', lineEnd: '\n' };
  const expected = read(Buffer.from(csv(rows, plain)));

  test('the plain form is read as written', () => {
    expect(expected.problems).toEqual([]);
    expect(expected.job?.features.map(({ id }) => id)).toEqual(['B1', 'F1', 'P1']);
    expect(expected.job?.features[0]).toMatchObject({
      count: 2,
      raMaxUm: 0.8,
      depthMm: 18.75,
      size: { nominalMm: 12.5, upperMm: 12.518, diametral: true },
      geometric: [{ valueMm: 0.05 }, { valueMm: 0.01 }],
      note: 'ream "or" bore',
      place: { line: 4 },
    });
    expect(expected.job?.features[1]).toMatchObject({ areaMm2: 5200.5, note: 'two\nlines' });
    expect(expected.job?.features[2]).toMatchObject({
      name: 'Führung',
      widthMm: 40.25,
      note: 'säubern; dann messen',
    });
  });

  for (const [encoding, encode] of Object.entries(encoders))
    for (const form of forms)
      test(`${encoding}, ${JSON.stringify(form)}`, () => {
        const table = encoding === 'Windows-1252' ? latinRows : rows;
        const { job, problems, findings } = read(encode(csv(table, form)));
        expect(problems).toEqual([]);
        expect(comparable(job)).toEqual(comparable(expected.job));
        expect(findings.map(({ id }) => id)).toEqual(
          encoding === 'Windows-1252' ? ['encoding-fallback'] : [],
        );
      });
});

describe('text decoding', () => {
  const problemOf = (bytes: Uint8Array) => {
    const decoded = decodeText(bytes, 'a.csv');
    return 'problem' in decoded ? decoded.problem : undefined;
  };

  test.each([
    ['zero bytes', [0x61, 0x00, 0x00, 0x62, 0x63], 'zero bytes'],
    ['a picture', [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0x00, 0x00], 'zero bytes'],
    ['half a UTF-16 character', [0xff, 0xfe, 0x61, 0x00, 0x62], 'not valid UTF-16LE'],
    ['a lone surrogate', [0xfe, 0xff, 0xd8, 0x00, 0x00, 0x61], 'not valid UTF-16BE'],
    ['broken UTF-8 behind its mark', [0xef, 0xbb, 0xbf, 0xe9, 0x61], 'not valid UTF-8'],
    ['one broken byte among UTF-8', [0xc3, 0xa4, 0x0a, 0x61, 0xe9, 0x62], 'not UTF-8 although'],
    ['a byte that stands for nothing', [0x61, 0x81], 'in no encoding'],
    ['a bell', [0x61, 0x0a, 0x62, 0x07], 'control character'],
  ])('%s is a problem', (_name, bytes, words) => {
    const problem = problemOf(Uint8Array.from(bytes));
    expect(problem).toMatchObject({ code: 'encoding', place: { file: 'a.csv' } });
    expect(problem?.message).toContain(words);
  });

  test('the place of a bad byte or character', () => {
    expect(problemOf(Uint8Array.from([0xc3, 0xa4, 0x0a, 0x61, 0xe9, 0x62]))?.place).toMatchObject({
      line: 2,
      column: 2,
    });
    expect(problemOf(Uint8Array.from([0x61, 0x0a, 0x62, 0x07]))).toMatchObject({
      place: { line: 2, column: 2 },
      value: 'U+0007',
    });
  });

  test('all of Windows-1252 that stands for something', () => {
    const bytes = Uint8Array.from([0x80, 0x8a, 0x95, 0x99, 0xb0, 0xb1, 0xb2, 0xb5, 0xd8, 0xe4]);
    expect(decodeText(bytes, 'a.csv')).toMatchObject({ text: '€Š•™°±²µØä' });
  });

  test('an empty file is an empty text', () => {
    expect(decodeText(new Uint8Array(), 'a.csv')).toMatchObject({ text: '', encoding: 'utf-8' });
  });
});

describe('delimiter and decimal mark', () => {
  test.each([
    ['id,kind\nA,1.5', ',', false],
    ['id;kind\nA;1,5', ';', true],
    ['id;kind\nA;1.5', ';', false],
    ['id\tkind\nA\t1,5', '\t', true],
    ['id,kind\n"A","1,5"', ',', false],
    ['id;"a,b,c,d"\nA;1', ';', false],
    ['sep=;\nid,x;kind\nA;1,5', ';', true],
    ['\n\nid;kind\nA;1,5', ';', true],
    ['id;note\nA;see 1,5', ';', false],
    ['id', ',', false],
    ['', ',', false],
  ])('%j', (text, delimiter, decimalComma) => {
    expect(detectDialect(text)).toMatchObject({ delimiter, decimalComma });
  });

  test('a line that names the delimiter is not the header', () => {
    expect(readCsvCells('sep=;\r\nid;kind\r\nA;bore\r\n', 'a.csv')).toMatchObject({
      header: ['id', 'kind'],
      headerLine: 2,
      rows: [{ line: 3, cells: ['A', 'bore'] }],
    });
  });
});

describe('cells', () => {
  test('row lines count blank lines and lines inside cells', () => {
    const { headerLine, rows: read } = readCsvCells('\nid,note\n\nA,"x\r\ny"\n , \nB,z', 'a.csv');
    expect(headerLine).toBe(2);
    expect(read).toEqual([
      { line: 4, cells: ['A', 'x\ny'] },
      { line: 7, cells: ['B', 'z'] },
    ]);
  });

  test('numbers, zeros in front and formulas stay text; an inch mark needs no quotes', () => {
    const { rows: read } = readCsvCells('id,a,b,c,d\n0012,1e3,=SUM(A1),@x,0.8"\n', 'a.csv');
    expect(read[0]?.cells).toEqual(['0012', '1e3', '=SUM(A1)', '@x', '0.8"']);
  });

  test.each([
    ['id,note\nA,x\nB,"open\nC,y\n', 3, 'note', 'never closed'],
    ['id,note\nA,"x"y\n', 2, 'note', 'goes on after its closing quote'],
    ['id,size,note\nA,0.8",x\nB,1,"x"y\n', 3, 'note', 'goes on after its closing quote'],
    ['id,note\n"A"",1\n"B",2\n', 2, 'id', 'goes on after its closing quote'],
  ])('%j is a problem at its cell', (text, line, column, words) => {
    const { problems, rows: read } = readCsvCells(text, 'a.csv');
    expect(read).toEqual([]);
    expect(problems).toHaveLength(1);
    expect(problems[0]).toMatchObject({
      code: 'csv-syntax',
      place: { file: 'a.csv', line, column },
    });
    expect(problems[0]?.message).toContain(words);
  });

  test('a table with more lines than stated is not split', () => {
    const lines = (count: number): string => 'a,b\n'.repeat(count);
    expect(readCsvCells(lines(maxCsvLines), 'a.csv').rows).toHaveLength(maxCsvLines - 1);
    expect(readCsvCells(lines(maxCsvLines + 1), 'a.csv').problems).toMatchObject([
      { code: 'too-large', place: { file: 'a.csv', line: maxCsvLines + 1 } },
    ]);
  });

  test.each(['', '\n\n', '\ufeff', ';;;\n;;'])('%j is an empty table', (text) => {
    expect(readCsvCells(text, 'a.csv').problems).toMatchObject([
      { code: 'csv-header', place: { file: 'a.csv', line: 1 }, message: 'the table is empty' },
    ]);
  });
});

describe('files', () => {
  let folder = '';
  const noStdin = (): Promise<Uint8Array> => Promise.reject(new Error('not asked for'));
  const write = (name: string, content: string | Buffer): string => {
    const path = join(folder, name);
    writeFileSync(path, content);
    return path;
  };
  const json = (features: unknown): string =>
    JSON.stringify({ ...exampleJob(), chains: [], features });
  const tableText = csv(rows, { delimiter: ';', decimal: ',', lineEnd: '\r\n' });

  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'offplate-read-'));
    mkdirSync(join(folder, 'job'));
    write('job/job.json', json('features.csv'));
    write('job/features.csv', Buffer.from(`\ufeff${tableText}`, 'utf16le'));
  });
  afterAll(() => {
    rmSync(folder, { recursive: true });
  });

  test('a folder, its job file, and a job in UTF-16 give the same', async () => {
    const path = join(folder, 'job');
    const fromFolder = await readJobFrom(path, vocabulary, noStdin);
    expect(fromFolder.problems).toEqual([]);
    expect(fromFolder.job?.features).toHaveLength(3);
    expect(fromFolder.job?.features[0]?.place.file).toBe(join(path, 'features.csv'));
    expect(await readJobFrom(join(path, 'job.json'), vocabulary, noStdin)).toEqual(fromFolder);
    write('job/wide.json', Buffer.from(`\ufeff${json('features.csv')}`, 'utf16le'));
    const wide = await readJobFrom(join(path, 'wide.json'), vocabulary, noStdin);
    expect(wide.job).toEqual(fromFolder.job);
  });

  test('the standard input takes a job with its features inline', async () => {
    const stdin = (text: string) => () => Promise.resolve(Buffer.from(text));
    const inline = await readJobFrom('-', vocabulary, stdin(json(exampleJob().features)));
    expect(inline.problems).toEqual([]);
    expect(inline.job?.features).toHaveLength(5);
    const named = await readJobFrom('-', vocabulary, stdin(json('features.csv')));
    expect(named.problems).toMatchObject([
      { code: 'file-missing', place: { file: '<stdin>', path: 'features' } },
    ]);
  });

  test('no job, no table, a folder for a table', async () => {
    expect((await readJobFrom(join(folder, 'none'), vocabulary, noStdin)).problems).toMatchObject([
      { code: 'file-missing', message: 'there is no such file or folder' },
    ]);
    const lone = write('job/lone.json', json('absent.csv'));
    expect((await readJobFrom(lone, vocabulary, noStdin)).problems).toMatchObject([
      {
        code: 'file-missing',
        place: { file: lone, line: 1, path: 'features' },
        value: join(folder, 'job/absent.csv'),
      },
    ]);
    mkdirSync(join(folder, 'job/tables.csv'));
    const odd = write('job/odd.json', json('tables.csv'));
    expect((await readJobFrom(odd, vocabulary, noStdin)).problems).toMatchObject([
      { code: 'file-missing', message: 'this is not a file' },
    ]);
  });

  test('a table that a link leads out of the job folder is not read', async () => {
    write('secret.csv', tableText);
    symlinkSync(join(folder, 'secret.csv'), join(folder, 'job/linked.csv'));
    const path = write('job/link.json', json('linked.csv'));
    const { job, problems } = await readJobFrom(path, vocabulary, noStdin);
    expect(job).toBeUndefined();
    expect(problems).toMatchObject([
      { code: 'file-missing', message: 'the file lies outside the folder' },
    ]);
  });

  test('problems of the job and of its table come together', async () => {
    const damaged = JSON.parse(json('bad.csv'));
    damaged.order.quantity = 0;
    const path = write('job/two.json', JSON.stringify(damaged, null, 1));
    write('job/bad.csv', 'id;kind;area\nP1;plane;-3\nP2;plain;1\n');
    const { problems } = await readJobFrom(path, vocabulary, noStdin);
    expect(problems).toMatchObject([
      { place: { file: path, path: 'order.quantity' } },
      { place: { file: join(folder, 'job/bad.csv'), line: 2, column: 'area' }, value: '-3' },
      { place: { file: join(folder, 'job/bad.csv'), line: 3, column: 'kind' }, value: 'plain' },
    ]);
  });

  test('too large a file is not read', () => {
    expect(textOf(new Uint8Array(maxFileBytes + 1), 'x')).toMatchObject({
      problems: [{ code: 'too-large', place: { file: 'x' } }],
    });
  });

  test('a shop folder', () => {
    const shop = join(folder, 'shop');
    mkdirSync(shop);
    writeFileSync(join(shop, 'readme.txt'), 'left alone');
    writeFileSync(
      join(shop, 'Work-Centres.csv'),
      Buffer.from('\ufeffid;rate_per_h\r\n\r\nsaw;61,5\r\n', 'utf16le'),
    );
    const good = readShopFolder(shop);
    expect(good.problems).toEqual([]);
    expect(good.tables).toEqual([
      {
        table: 'work-centres',
        file: join(shop, 'Work-Centres.csv'),
        cells: [
          ['id', 'rate_per_h'],
          ['saw', '61.5'],
        ],
        lines: [1, 3],
      },
    ]);
    const merged = mergeShop(defaultCatalog(), good.tables);
    expect(merged.problems).toEqual([]);
    expect(merged.catalog.workCentres.find(({ id }) => id === 'saw')?.ratePerH).toBe(61.5);

    writeFileSync(join(shop, 'material.csv'), 'id\nx\n');
    writeFileSync(join(shop, 'methods.csv'), 'id,"name\nx,y\n');
    symlinkSync(join(folder, 'nowhere.csv'), join(shop, 'treatments.csv'));
    expect(readShopFolder(shop).problems).toMatchObject([
      { code: 'unknown-id', message: expect.stringContaining('did you mean materials.csv') },
      { code: 'csv-syntax', place: { file: join(shop, 'methods.csv'), line: 1, column: '"name' } },
      { code: 'file-missing', place: { file: join(shop, 'treatments.csv') } },
    ]);
    expect(readShopFolder(join(folder, 'none')).problems).toMatchObject([{ code: 'file-missing' }]);
  });
});
