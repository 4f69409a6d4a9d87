import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { decodePDFRawStream, PDFDict, PDFDocument, PDFName, PDFRawStream } from '@cantoo/pdf-lib';
import { extractText } from 'unpdf';
import { afterAll, describe, expect, test } from 'vitest';
import { runFake } from './fake-io.js';

const root = mkdtempSync(join(tmpdir(), 'offplate-reports-'));
afterAll(() => rmSync(root, { recursive: true }));

const demo = (path: string): string =>
  fileURLToPath(new URL(`../../data/demo/${path}`, import.meta.url));

async function textOf(path: string): Promise<string> {
  const bytes = new Uint8Array(readFileSync(path));
  return (await extractText(bytes, { mergePages: true })).text;
}

/** The JSON document that a file carries. */
async function attached(
  path: string,
): Promise<{ readonly schema: string; readonly name?: string }> {
  const doc = await PDFDocument.load(readFileSync(path), { updateMetadata: false });
  for (const [, object] of doc.context.enumerateIndirectObjects()) {
    if (!(object instanceof PDFRawStream)) continue;
    if (object.dict.lookup(PDFName.of('Type')) !== PDFName.of('EmbeddedFile')) continue;
    const text = Buffer.from(decodePDFRawStream(object).decode()).toString('utf8');
    return JSON.parse(text) as { schema: string };
  }
  throw new Error('nothing attached');
}

describe('reports as PDF', () => {
  const reports = [
    ['stack', 'stacks/flap-gap.json', 'Stack report', 'stack-result/1'],
    ['stack', 'stacks/strut-length.csv', 'Stack report', 'stack-result/1'],
    ['chart', 'charts/sampler-head.json', 'Operation chart', 'chart-assignment/1'],
  ] as const;

  test.each(reports)('%s %s', async (verb, file, title, schema) => {
    const path = join(root, `${file.replaceAll('/', '-')}.pdf`);
    const argv = [verb, demo(file), '--out', path, '--issued-on', '2027-01-04'];
    const done = await runFake(argv);
    expect([done.code, done.stdout]).toEqual([0, '']);
    expect(done.stderr).toContain(`wrote ${path}`);
    const text = await textOf(path);
    expect(text).toContain(title);
    expect(text).toContain('2027-01-04');
    expect(text).not.toMatch(/NaN|undefined|Infinity/);
    expect((await attached(path)).schema).toBe(schema);

    const again = `${path}.again.pdf`;
    await runFake([...argv.slice(0, 3), again, ...argv.slice(4)]);
    expect(Buffer.compare(readFileSync(again), readFileSync(path))).toBe(0);
  });

  test('names in Greek and Cyrillic print, a character without glyph is spelt and told', async () => {
    const path = join(root, 'names.pdf');
    const stdin = JSON.stringify({
      schemaVersion: 'stack/1',
      name: 'Διάκενο клапана 隙間',
      contributors: [
        { id: 'a', nominal: 3, plus: 0.1, minus: 0.1, source: 'έδρα' },
        { id: 'b', nominal: 2, plus: 0.1, minus: 0.1, coefficient: -1, source: 'втулка' },
      ],
      sampling: { samples: 5000 },
    });
    const done = await runFake(['stack', '-', '--out', path], { stdin });
    expect(done.code).toBe(0);
    expect(done.stderr).toContain('隙 (U+9699)');
    const text = await textOf(path);
    for (const word of ['Διάκενο клапана [U+9699][U+9593]', 'έδρα', 'втулка'])
      expect(text).toContain(word);
  });

  test('--json stays JSON, whatever the file is called', async () => {
    const path = join(root, 'json.pdf');
    await runFake(['stack', demo('stacks/flap-gap.json'), '--json', '--out', path]);
    expect(JSON.parse(readFileSync(path, 'utf8'))).toMatchObject({ schema: 'stack-result/1' });
  });

  test('the metadata name no person and no program but this one', async () => {
    const doc = await PDFDocument.load(readFileSync(join(root, 'names.pdf')), {
      updateMetadata: false,
    });
    expect([doc.getAuthor(), doc.getCreator(), doc.getProducer()]).toEqual([
      undefined,
      'offplate',
      'offplate',
    ]);
    expect(doc.catalog.lookup(PDFName.of('Names'))).toBeInstanceOf(PDFDict);
  });
});
