import { createHash } from 'node:crypto';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import { extractText } from 'unpdf';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Outcome } from './fake-io.js';
import { runFake } from './fake-io.js';

const root = mkdtempSync(join(tmpdir(), 'offplate-pack-'));
const job = join(root, 'starter');
const folder = join(root, 'new', 'pack');
const read = (name: string): Buffer => readFileSync(join(folder, name));

interface Manifest {
  readonly schema: string;
  readonly number: string;
  readonly files: readonly {
    readonly name: string;
    readonly bytes: number;
    readonly sha256: string;
  }[];
}

let packed: Outcome;

beforeAll(async () => {
  await runFake(['new', job]);
  packed = await runFake(['pack', job, '--out', folder, '--issued-on', '2027-01-04']);
}, 60_000);
afterAll(() => rmSync(root, { recursive: true }));

async function pdfText(bytes: Uint8Array): Promise<string> {
  return (await extractText(new Uint8Array(bytes), { mergePages: true })).text;
}

describe('pack', () => {
  test('writes every document and a manifest that fits the bytes', () => {
    expect([packed.code, packed.stdout]).toEqual([0, '']);
    const manifest = JSON.parse(read('manifest.json').toString()) as Manifest;
    expect(manifest).toMatchObject({ schema: 'pack/1', number: 'ST-1' });
    const names = manifest.files.map(({ name }) => name);
    expect(names).toEqual([
      'traveller.pdf',
      'heat-treatment-request.pdf',
      'quote.pdf',
      'inspection.pdf',
      'stock-map.pdf',
      'tolerances.pdf',
      'inspection.csv',
      'stock-map.csv',
      'plan.json',
    ]);
    expect(readdirSync(folder).sort()).toEqual([...names, 'manifest.json'].sort());
    for (const { name, bytes, sha256 } of manifest.files) {
      expect(read(name).length).toBe(bytes);
      expect(createHash('sha256').update(read(name)).digest('hex')).toBe(sha256);
    }
  });

  test('tells what it is at on the standard error', () => {
    const lines = packed.stderr.trimEnd().split('\n');
    for (const line of ['planning', 'drawing traveller.pdf', 'drawing stock-map.pdf'])
      expect(lines).toContain(line);
    expect(lines.at(-1)).toBe(`wrote 10 files to ${folder}`);
  });

  test('every sheet names the part and the day of issue', async () => {
    for (const name of readdirSync(folder).filter((each) => each.endsWith('.pdf'))) {
      const text = await pdfText(read(name));
      expect(text).toContain('ST-1-A · page 1 of');
      expect(text).toContain('issued 2027-01-04');
    }
  });

  test('the same job gives the same files, wherever they go', async () => {
    const again = join(root, 'again');
    await runFake(['pack', job, '--out', again, '--issued-on', '2027-01-04']);
    for (const name of readdirSync(folder))
      expect(Buffer.compare(readFileSync(join(again, name)), read(name)), name).toBe(0);
  });

  test('one file in the way and nothing is written; --force replaces', async () => {
    const other = join(root, 'taken');
    mkdirSync(other);
    writeFileSync(join(other, 'quote.pdf'), 'mine');
    const refused = await runFake(['pack', job, '--out', other]);
    expect(refused.code).toBe(4);
    expect(refused.stderr).toContain('quote.pdf exists; --force replaces it');
    expect(readdirSync(other)).toEqual(['quote.pdf']);
    expect(readFileSync(join(other, 'quote.pdf'), 'utf8')).toBe('mine');
    const forced = await runFake(['pack', job, '--out', other, '--force', '--format', 'Letter']);
    expect(forced.code).toBe(0);
    expect(readdirSync(other)).toHaveLength(10);
  });

  test('--force removes what an earlier pack left, unless it was changed since', async () => {
    const used = join(root, 'used');
    mkdirSync(used);
    const hash = (text: string): string => createHash('sha256').update(text).digest('hex');
    const files = [
      { name: 'heat-treatment-request-kiln.pdf', text: 'of the earlier route' },
      { name: 'heat-treatment-request-oven.pdf', text: 'changed by hand' },
      { name: '../starter/job.json', text: '' },
      { name: 'quote.pdf', text: 'replaced' },
    ];
    for (const { name, text } of files.filter((file) => !file.name.includes('/')))
      writeFileSync(join(used, name), text);
    writeFileSync(join(used, 'notes.txt'), 'not of the pack');
    const listed = files.map(({ name, text }) => ({
      name,
      sha256: hash(text.replace('changed', '')),
    }));
    writeFileSync(join(used, 'manifest.json'), JSON.stringify({ schema: 'pack/1', files: listed }));
    const done = await runFake(['pack', job, '--out', used, '--force']);
    expect(done.code).toBe(0);
    expect(done.stderr).toContain('removed of the earlier pack: heat-treatment-request-kiln.pdf');
    expect(done.stderr).toContain('heat-treatment-request-oven.pdf of an earlier pack was changed');
    expect(readdirSync(used)).not.toContain('heat-treatment-request-kiln.pdf');
    expect(readFileSync(join(used, 'heat-treatment-request-oven.pdf'), 'utf8')).toBe(
      'changed by hand',
    );
    expect(readFileSync(join(used, 'notes.txt'), 'utf8')).toBe('not of the pack');
    expect(existsSync(join(job, 'job.json'))).toBe(true);
  });

  test('needs a folder', async () => {
    const { code, stderr } = await runFake(['pack', job]);
    expect(code).toBe(2);
    expect(stderr).toContain('pack needs --out <folder>');
  });

  test('a job that cannot be made gives a pack only when asked', async () => {
    const bad = join(root, 'bad.json');
    const features = readFileSync(join(job, 'features.csv'), 'utf8');
    const json = JSON.parse(readFileSync(join(job, 'job.json'), 'utf8')) as object;
    writeFileSync(join(root, 'features.csv'), features.replace('12.5,,,,5200', '0.01,,,,5200'));
    writeFileSync(bad, JSON.stringify(json));
    const out = join(root, 'bad');
    const refused = await runFake(['pack', bad, '--out', out]);
    expect(refused.code).toBe(1);
    expect(refused.stderr).toContain('no pack was written');
    expect(existsSync(out)).toBe(false);
    const written = await runFake(['pack', bad, '--out', out, '--incomplete']);
    expect(written.code).toBe(1);
    expect(await pdfText(readFileSync(join(out, 'quote.pdf')))).toContain(
      'No route meets every requirement',
    );
  });
});

describe('the verbs of single sheets', () => {
  test.each(['quote', 'stock', 'inspection', 'heat'])(
    '%s --out x.pdf writes the sheet of the pack',
    async (verb) => {
      const path = join(root, `${verb}.pdf`);
      const done = await runFake([verb, job, '--out', path, '--issued-on', '2027-01-04']);
      expect([done.code, done.stdout]).toEqual([0, '']);
      const names: Readonly<Record<string, string>> = {
        stock: 'stock-map.pdf',
        heat: 'heat-treatment-request.pdf',
      };
      const same = read(names[verb] ?? `${verb}.pdf`);
      expect(Buffer.compare(readFileSync(path), same)).toBe(0);
    },
  );

  test('inspection as CSV has a row a characteristic, as JSON the same', async () => {
    const { stdout: csv } = await runFake(['inspection', job, '--csv']);
    const rows = parse<Record<string, string>>(csv, { columns: true });
    const { stdout } = await runFake(['inspection', job, '--json']);
    const { schema, inspection } = JSON.parse(stdout) as {
      schema: string;
      inspection: readonly { number: number; lower?: number; acceptLower?: number }[];
    };
    expect(schema).toBe('inspection/1');
    expect(rows.map((row) => Number(row.number))).toEqual(inspection.map(({ number }) => number));
    const bearing = rows.find((row) => row.requirement === '12 H7');
    // 12 H7 is 0/+18 um (ISO 286-2:2010, table 6)
    expect([bearing?.drawing_from, bearing?.drawing_to]).toEqual(['12', '12.018']);
    expect(Number(bearing?.accept_from)).toBeGreaterThan(12);
    expect(Number(bearing?.accept_to)).toBeLessThan(12.018);
    expect(read('inspection.csv').toString()).toBe(`\ufeff${csv}`);
  });

  test('inspection and heat as text hold the same as the sheets', async () => {
    const { stdout: inspection } = await runFake(['inspection', job]);
    expect(inspection).toMatch(/^Inspection sheet · ST-1-A\nStarter bracket\n/);
    expect(inspection).toMatch(/bearing seat +⌀12 H7 +12\.000 +12\.018/);
    expect(inspection).toMatch(/^Serial numbers +_{10}$/m);
    const { stdout: heat } = await runFake(['heat', job]);
    expect(heat).toMatch(/^Heat treatment request · ST-1-A\n/);
    expect(heat).toMatch(/^Condition wanted +\S/m);
    for (const line of `${inspection}${heat}`.split('\n'))
      expect(line.length, line).toBeLessThanOrEqual(100);
  });

  test('heat for one work centre; a wrong one is named', async () => {
    const { code, stderr } = await runFake(['heat', job, '--work-centre', 'kiln']);
    expect(code).toBe(2);
    expect(stderr).toMatch(/--work-centre cannot be "kiln"; accepted: \S+/);
    const accepted = /accepted: ([\w-]+)/.exec(stderr)?.[1] ?? '';
    const asked = await runFake(['heat', job, '--work-centre', accepted]);
    expect(asked.code).toBe(0);
    expect(asked.stdout).toContain('Heat treatment request');
  });
});
