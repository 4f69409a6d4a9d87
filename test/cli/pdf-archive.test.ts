import {
  decodePDFRawStream,
  PDFArray,
  PDFDict,
  PDFDocument,
  PDFHexString,
  PDFName,
  PDFNumber,
  type PDFObject,
  PDFRawStream,
  PDFString,
} from '@cantoo/pdf-lib';
import { travellerSheet } from '@offplate/core';
import { beforeAll, describe, expect, test } from 'vitest';
import { writeSheetPdf } from '../../packages/cli/src/write/pdf/sheet-pdf.js';
import { contentStreams } from '../fixtures/pdf-pages.js';
import { samplePlan } from '../fixtures/sample-plan.js';

// The rules are those of ISO 19005-3:2012 (clause numbers from memory), as far as a reader of the
// file's objects can tell them; a validator of its own is not to be had from the package registries.

const createdOn = new Date('2027-01-04T00:00:00Z');
const source = {
  name: 'plan.json',
  mediaType: 'application/json',
  description: 'What the sheet was made from',
  bytes: new TextEncoder().encode(`${JSON.stringify({ schema: 'plan/1', part: 'Größe "8"' })}\n`),
};

let bytes: Uint8Array;
let doc: PDFDocument;

beforeAll(async () => {
  const sheet = travellerSheet(samplePlan, { format: 'A4', issuedOn: '2027-01-04' });
  ({ bytes } = await writeSheetPdf(sheet, { createdOn, source }));
  doc = await PDFDocument.load(bytes, { updateMetadata: false });
}, 60_000);

function streamBytes(stream: PDFObject | undefined): Uint8Array {
  if (!(stream instanceof PDFRawStream)) throw new Error('no stream');
  return decodePDFRawStream(stream).decode();
}

function dictAt(dict: PDFDict, key: string): PDFDict {
  const found = dict.lookup(PDFName.of(key));
  if (found instanceof PDFDict) return found;
  if (found instanceof PDFRawStream) return found.dict;
  throw new Error(`no dictionary ${key}`);
}

function arrayAt(dict: PDFDict, key: string): PDFArray {
  return dict.lookup(PDFName.of(key), PDFArray);
}

function nameAt(dict: PDFDict, key: string): string | undefined {
  const found = dict.lookup(PDFName.of(key));
  return found instanceof PDFName ? found.decodeText() : undefined;
}

function textAt(dict: PDFDict, key: string): string | undefined {
  const found = dict.lookup(PDFName.of(key));
  return found instanceof PDFString || found instanceof PDFHexString
    ? found.decodeText()
    : undefined;
}

/** Every dictionary of the file, those of streams too. */
function dictionaries(): readonly PDFDict[] {
  const found: PDFDict[] = [];
  const visit = (object: PDFObject): void => {
    if (object instanceof PDFRawStream) visit(object.dict);
    else if (object instanceof PDFDict) {
      found.push(object);
      for (const value of object.values()) visit(value);
    } else if (object instanceof PDFArray) for (const value of object.asArray()) visit(value);
  };
  for (const [, object] of doc.context.enumerateIndirectObjects()) visit(object);
  return found;
}

/** Widths of the glyphs of a TrueType program in thousandths of its em (tables head, hhea, maxp, hmtx). */
function advanceWidths(file: Buffer): readonly number[] {
  const tables = new Map<string, number>();
  for (let index = 0; index < file.readUInt16BE(4); index++) {
    const entry = 12 + 16 * index;
    tables.set(file.toString('latin1', entry, entry + 4), file.readUInt32BE(entry + 8));
  }
  const at = (table: string, offset: number): number =>
    file.readUInt16BE((tables.get(table) ?? Number.NaN) + offset);
  const [unitsPerEm, metrics, glyphs] = [at('head', 18), at('hhea', 34), at('maxp', 4)];
  return Array.from(
    { length: glyphs },
    (_, glyph) => (1000 * at('hmtx', 4 * Math.min(glyph, metrics - 1))) / unitsPerEm,
  );
}

describe('an archive file', () => {
  test('header, file identifier, nothing encrypted (6.1.2, 6.1.3)', () => {
    expect(Buffer.from(bytes.subarray(0, 9)).toString('latin1')).toBe('%PDF-1.7\n');
    expect(bytes[9]).toBe(0x25);
    for (const byte of bytes.subarray(10, 14)) expect(byte).toBeGreaterThan(127);
    const tail = Buffer.from(bytes.subarray(-600)).toString('latin1');
    expect(tail).toMatch(/\/ID \[<[0-9a-f]{32}> <[0-9a-f]{32}>\]/);
    expect(tail).not.toContain('/Encrypt');
    expect(tail.trimEnd().endsWith('%%EOF')).toBe(true);
  });

  test('metadata say what it is and agree with the information dictionary (6.6)', () => {
    const xmp = Buffer.from(streamBytes(doc.catalog.lookup(PDFName.of('Metadata')))).toString();
    expect(xmp).toContain('<pdfaid:part>3</pdfaid:part>');
    expect(xmp).toContain('<pdfaid:conformance>B</pdfaid:conformance>');
    expect(xmp).toContain(`>${doc.getTitle()}</rdf:li>`);
    expect(xmp).toContain(`<pdf:Producer>${doc.getProducer()}</pdf:Producer>`);
    expect(xmp).toContain(`<xmp:CreatorTool>${doc.getCreator()}</xmp:CreatorTool>`);
    expect(xmp).toContain('<xmp:CreateDate>2027-01-04T00:00:00Z</xmp:CreateDate>');
    expect(doc.getCreationDate()).toEqual(createdOn);
    const stream = doc.catalog.lookup(PDFName.of('Metadata'));
    expect(stream instanceof PDFRawStream && stream.dict.has(PDFName.of('Filter'))).toBe(false);
  });

  test('colours are those of one profile, and only red, green and blue are set (6.2.3, 6.2.4)', () => {
    const intents = arrayAt(doc.catalog, 'OutputIntents');
    expect(intents.size()).toBe(1);
    const intent = intents.lookup(0, PDFDict);
    expect(nameAt(intent, 'S')).toBe('GTS_PDFA1');
    const profile = intent.lookup(PDFName.of('DestOutputProfile'));
    const icc = Buffer.from(streamBytes(profile));
    // ICC.1: size in the first four bytes, data colour space at 16, signature at 36
    expect(icc.readUInt32BE(0)).toBe(icc.length);
    expect(icc.toString('latin1', 16, 20)).toBe('RGB ');
    expect(icc.toString('latin1', 36, 40)).toBe('acsp');
    for (const stream of contentStreams(bytes)) {
      const set = stream.match(/^\/\w+ (cs|CS)$/gm) ?? [];
      expect(new Set(set.map((line) => line.split(' ')[0]))).toEqual(new Set(['/DeviceRGB']));
      expect(stream).not.toMatch(/ (k|K|sh|ri)$/m);
    }
  });

  test('the source is attached, named as the data behind the file, and comes out whole (6.8)', () => {
    const files = arrayAt(doc.catalog, 'AF');
    expect(files.size()).toBe(1);
    const spec = files.lookup(0, PDFDict);
    expect([nameAt(spec, 'Type'), nameAt(spec, 'AFRelationship')]).toEqual(['Filespec', 'Data']);
    expect([textAt(spec, 'F'), textAt(spec, 'UF')]).toEqual(['plan.json', 'plan.json']);
    const stream = dictAt(spec, 'EF').lookup(PDFName.of('F'));
    if (!(stream instanceof PDFRawStream)) throw new Error('no attached stream');
    expect(nameAt(stream.dict, 'Subtype')).toBe('application/json');
    expect(textAt(dictAt(stream.dict, 'Params'), 'ModDate')).toBe('D:20270104000000Z');
    expect(Buffer.from(streamBytes(stream))).toEqual(Buffer.from(source.bytes));
    const named = arrayAt(dictAt(dictAt(doc.catalog, 'Names'), 'EmbeddedFiles'), 'Names');
    expect(named.lookup(1)).toBe(spec);
  });

  test('fonts are embedded, mapped to Unicode, and as wide as the file says (6.2.11)', () => {
    const fonts = dictionaries().filter((dict) => nameAt(dict, 'Type') === 'Font');
    const composite = fonts.filter((font) => nameAt(font, 'Subtype') === 'Type0');
    expect(composite).toHaveLength(3);
    expect(fonts).toHaveLength(6);
    for (const font of composite) {
      expect(nameAt(font, 'Encoding')).toBe('Identity-H');
      const map = Buffer.from(streamBytes(font.lookup(PDFName.of('ToUnicode')))).toString();
      expect(map).toContain('beginbfrange');
      expect(map).not.toMatch(/<(0000|feff|fffe)>$/im);
      const descendant = arrayAt(font, 'DescendantFonts').lookup(0, PDFDict);
      expect(nameAt(descendant, 'CIDToGIDMap')).toBe('Identity');
      const file = dictAt(descendant, 'FontDescriptor').lookup(PDFName.of('FontFile2'));
      const advances = advanceWidths(Buffer.from(streamBytes(file)));
      const [first, list] = arrayAt(descendant, 'W').asArray();
      const widths = doc.context.lookup(list, PDFArray).asArray();
      expect(first instanceof PDFNumber && first.asNumber()).toBe(0);
      expect(widths.length).toBeGreaterThan(5);
      // accented letters bring their parts with them, which have no width of their own
      expect(widths.length).toBeLessThanOrEqual(advances.length);
      // glyph 0 stands for what is missing and is never drawn: see below
      for (const [index, width] of widths.entries())
        if (index > 0)
          expect(width instanceof PDFNumber ? width.asNumber() : Number.NaN).toBeCloseTo(
            advances[index] ?? Number.NaN,
            0,
          );
    }
    const drawn = contentStreams(bytes).flatMap((stream) => stream.match(/<[0-9a-f]+>/g) ?? []);
    expect(drawn.length).toBeGreaterThan(500);
    for (const text of drawn) expect(text.slice(1, -1).match(/.{4}/g)).not.toContain('0000');
  });

  test('nothing acts, nothing is transparent, nothing lies outside the file (6.4, 6.5, 6.2.10)', () => {
    for (const dict of dictionaries()) {
      for (const key of ['JS', 'OpenAction', 'AA', 'Launch', 'URI', 'SMask', 'OPI', 'TR'])
        expect(dict.has(PDFName.of(key)), key).toBe(false);
      const filter = nameAt(dict, 'Filter');
      expect([undefined, 'FlateDecode']).toContain(filter);
    }
  });
});

const standardTypes = new Set(
  'Document Sect Div H1 H2 H3 P Table Caption TR TH TD Figure'.split(' '),
);

interface Element {
  readonly type: string;
  readonly alt: string | undefined;
  readonly children: readonly Element[];
  readonly marked: number;
}

function elementOf(dict: PDFDict): Element {
  const kids = dict.lookup(PDFName.of('K'));
  const list = kids instanceof PDFArray ? kids.asArray() : kids === undefined ? [] : [kids];
  const children: Element[] = [];
  let marked = 0;
  for (const kid of list) {
    const found = doc.context.lookup(kid);
    if (found instanceof PDFDict && found.has(PDFName.of('S'))) children.push(elementOf(found));
    else marked++;
  }
  return { type: nameAt(dict, 'S') ?? '', alt: textAt(dict, 'Alt'), children, marked };
}

function all(element: Element): readonly Element[] {
  return [element, ...element.children.flatMap(all)];
}

describe('the structure of the document', () => {
  const tree = (): Element => {
    const kids = dictAt(doc.catalog, 'StructTreeRoot').lookup(PDFName.of('K'));
    const root = kids instanceof PDFArray ? kids.lookup(0, PDFDict) : kids;
    if (!(root instanceof PDFDict)) throw new Error('no structure');
    return elementOf(root);
  };

  test('it is marked, has a language, and uses standard types', () => {
    expect(dictAt(doc.catalog, 'MarkInfo').lookup(PDFName.of('Marked'))?.toString()).toBe('true');
    expect(textAt(doc.catalog, 'Lang')).toBe('en');
    const types = new Set(all(tree()).map(({ type }) => type));
    expect([...types].filter((type) => !standardTypes.has(type))).toEqual([]);
  });

  test('figures speak, tables hold rows, rows hold cells, headings do not skip', () => {
    let heading = 0;
    for (const { type, alt, children } of all(tree())) {
      if (type === 'Figure') expect(alt?.length ?? 0).toBeGreaterThan(0);
      const inside = [...new Set(children.map((child) => child.type))];
      if (type === 'Table')
        expect(inside.every((each) => each === 'TR' || each === 'Caption')).toBe(true);
      if (type === 'TR') expect(inside.every((each) => each === 'TH' || each === 'TD')).toBe(true);
      if (/^H\d$/.test(type)) {
        expect(Number(type[1])).toBeLessThanOrEqual(heading + 1);
        heading = Number(type[1]);
      }
    }
  });

  test('all marked content of all pages belongs to an element', () => {
    const inStreams = contentStreams(bytes)
      .map((stream) => (stream.match(/\/MCID \d+/g) ?? []).length)
      .reduce((sum, count) => sum + count, 0);
    const inTree = all(tree()).reduce((sum, { marked }) => sum + marked, 0);
    expect(inStreams).toBeGreaterThan(500);
    expect(inTree).toBe(inStreams);
    const parents = dictAt(dictAt(doc.catalog, 'StructTreeRoot'), 'ParentTree');
    expect(arrayAt(parents, 'Nums').size()).toBe(2 * doc.getPageCount());
  });
});
