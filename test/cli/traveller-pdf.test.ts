import { type Plan, travellerSheet } from '@offplate/core';
import { getDocumentProxy } from 'unpdf';
import { beforeAll, describe, expect, test } from 'vitest';
import { openFonts } from '../../packages/cli/src/write/pdf/fonts.js';
import { pageFrame } from '../../packages/cli/src/write/pdf/page.js';
import { writeSheetPdf } from '../../packages/cli/src/write/pdf/sheet-pdf.js';
import {
  contentStreams,
  type PlacedText,
  pagesOf,
  pathsOf,
  squeezed,
  textOf,
} from '../fixtures/pdf-pages.js';
import { samplePlan } from '../fixtures/sample-plan.js';

const createdOn = new Date('2027-01-04T00:00:00Z');

function draw(plan: Plan, format: 'A4' | 'Letter' = 'A4'): ReturnType<typeof writeSheetPdf> {
  return writeSheetPdf(travellerSheet(plan, { format, issuedOn: '2027-01-04' }), { createdOn });
}

function tenfold(note: string): string {
  return Array.from({ length: 10 }, () => note).join(' ');
}

const longNote = tenfold(
  'Put two strips of the same build on the plate, cut them off first and measure their bow; if it exceeds 0.25 mm over 60 mm, call the planner before the parts are cut. Note the reading, the machine, the wire and the time in the deviation table, and keep the strips with the coupons. When the bow has the other sign, turn the strips over and measure again; the mean of both counts. Strips from another build do not count, not even from the same powder lot, because the scan strategy sets the stress.',
);

let bytes: Uint8Array;
let pages: readonly (readonly PlacedText[])[];
let whole: string;

beforeAll(async () => {
  bytes = (await draw(samplePlan)).bytes;
  pages = await pagesOf(bytes);
  whole = pages.map(textOf).join(' ');
}, 60_000);

describe('bytes', () => {
  test('same sheet, same bytes, whatever was written in between', async () => {
    const other = await draw({ ...samplePlan, job: { ...samplePlan.job, part: 'µ ⌀ Ω ﬁ Δ' } });
    const again = (await draw(samplePlan)).bytes;
    expect(Buffer.compare(Buffer.from(again), Buffer.from(bytes))).toBe(0);
    expect(Buffer.compare(Buffer.from(other.bytes), Buffer.from(bytes))).not.toBe(0);
  });

  test('the date of the file is the one given', async () => {
    const file = Buffer.from(bytes).toString('latin1');
    expect(file).toContain('(D:20270104000000Z)');
    expect(file).toContain('%PDF-1.7');
    expect(file).toContain('/Lang (en)');
    expect(file).toContain('/Marked true');
  });

  test('characters of XML in a part name leave the metadata well formed', async () => {
    const named = await draw({ ...samplePlan, job: { ...samplePlan.job, part: 'Nut & <bolt>' } });
    const file = Buffer.from(named.bytes).toString('utf8');
    const packet = file.slice(file.indexOf('<x:xmpmeta'), file.indexOf('</x:xmpmeta>'));
    expect(packet).toContain('Nut and ‹bolt›');
    expect(packet).not.toMatch(/&(?!amp;|lt;|gt;)/);
    expect(squeezed(textOf((await pagesOf(named.bytes))[0] ?? []))).toContain('Nut&<bolt>');
  });
});

describe('text', () => {
  test('every operation title, feature requirement and drawing symbol can be read out', () => {
    const text = squeezed(whole);
    const titles = samplePlan.operations.map((operation) => squeezed(operation.title));
    const symbols = [...'⌀±µ≤≥⌖⏥⟂∥⌭⌓⌒⌰⌯⏤∠◎↗ⓂⒺ×°Δσ'];
    const missing = [...titles, ...symbols, '⌖⌀0.2ⓂABC'].filter((each) => !text.includes(each));
    expect(missing).toEqual([]);
  });

  test('no text is lost: every word of the sheet is on paper', () => {
    const text = squeezed(whole);
    const sheet = travellerSheet(samplePlan, { format: 'A4', issuedOn: '2027-01-04' });
    const cells = sheet.blocks
      .flatMap((block) => (block.type === 'operation' ? block.blocks : [block]))
      .flatMap((block) => {
        if (block.type === 'table') return block.rows.flat();
        if (block.type === 'list' || block.type === 'box') return block.items;
        if (block.type === 'fields') return block.fields.map((field) => field.value);
        return block.type === 'paragraph' ? [block.text] : [];
      });
    const words = cells.flatMap((cell) => cell.split(/\s+/)).filter((word) => word !== '');
    expect(words.length).toBeGreaterThan(900);
    expect(words.filter((word) => !text.includes(word))).toEqual([]);
  });

  test('each page says part, revision and page n of m', () => {
    expect(pages.length).toBeGreaterThan(5);
    for (const [index, page] of pages.entries()) {
      expect(squeezed(textOf(page))).toContain(
        squeezed(`LBP-0417-C · page ${index + 1} of ${pages.length}`),
      );
    }
  });

  test('all of it stands inside the margins and no line is printed over another', () => {
    const frame = pageFrame('A4');
    for (const page of pages) {
      const foot = page.filter((item) => item.baseline > frame.bottom - 11);
      expect(foot.length).toBeGreaterThanOrEqual(2);
      for (const item of page) {
        expect(item.left).toBeGreaterThanOrEqual(frame.left - 0.1);
        expect(item.right, item.text).toBeLessThanOrEqual(frame.right + 0.1);
        expect(item.baseline).toBeGreaterThan(frame.top);
        expect(item.baseline).toBeLessThan(frame.bottom);
      }
      const rows = page.map((item) => ({ ...item, row: Math.round(item.baseline) }));
      for (const [index, item] of rows.entries()) {
        for (const other of rows.slice(index + 1)) {
          if (Math.abs(item.row - other.row) > 4) continue;
          const overlap = Math.min(item.right, other.right) - Math.max(item.left, other.left);
          expect(overlap, `${item.text} / ${other.text}`).toBeLessThan(0.5);
        }
      }
    }
  });

  test('rules and frames stay inside the margins', () => {
    const frame = pageFrame('A4');
    const streams = contentStreams(bytes);
    expect(streams).toHaveLength(pages.length);
    const paths = streams.flatMap(pathsOf);
    for (const { left, right, top, bottom } of paths) {
      expect(left).toBeGreaterThan(frame.left - 3);
      expect(right).toBeLessThan(frame.right + 3);
      expect(top).toBeGreaterThan(frame.top - 3);
      expect(bottom).toBeLessThan(frame.bottom);
    }
    expect(paths.length).toBeGreaterThan(300);
  });

  test('all text is tagged or an artifact', () => {
    for (const stream of contentStreams(bytes)) {
      let depth = 0;
      for (const line of stream.split('\n')) {
        if (/ (BDC|BMC)$/.test(line)) depth++;
        if (line === 'EMC') depth--;
        if (line === 'BT') expect(depth).toBe(1);
      }
      expect(depth).toBe(0);
    }
  });
});

describe('tables', () => {
  test('numbers of a column stand with their decimal marks in one line', () => {
    const page = pages.find((each) => each.some(({ text }) => text === '25.002')) ?? [];
    const markOf = (text: string): number => {
      const item = page.find((each) => each.text === text);
      if (item === undefined) throw new Error(`${text} is not on the page`);
      const share = text.indexOf('.') / text.length;
      // figures are of one width, the mark is narrower: good to a point
      return item.left + share * (item.right - item.left);
    };
    const least = ['25.002', '32.410', '11.962'].map(markOf);
    for (const mark of least) expect(Math.abs(mark - (least[0] ?? 0))).toBeLessThan(0.5);
  });

  test('a table that goes on repeats its head and says "continued"', () => {
    const cut = pages.filter((page) => textOf(page).includes('(continued)'));
    expect(cut.length).toBeGreaterThan(0);
    for (const page of cut) {
      const text = textOf(page);
      if (text.includes('Steps (continued)')) expect(text).toContain('Drawing asks');
      if (text.includes('Working dimensions (continued)')) expect(text).toContain('Smallest');
      if (text.includes('guard band (continued)')) expect(text).toContain('Requirement');
    }
    const before = pages.filter((page) => textOf(page).includes('continued on the next page'));
    expect(before.length).toBe(cut.length);
  });

  test('a note of 5,000 characters in a cell is parted over pages and complete', async () => {
    expect(longNote.length).toBeGreaterThan(4700);
    const [first, ...rest] = samplePlan.assumptions;
    if (first === undefined) throw new Error('no assumption');
    const { bytes: long } = await draw({
      ...samplePlan,
      assumptions: [{ ...first, source: longNote }, ...rest],
    });
    const drawn = await pagesOf(long);
    const with5000 = drawn.filter((page) => textOf(page).includes('strips'));
    expect(with5000.length).toBeGreaterThanOrEqual(2);
    const words = longNote.split(' ');
    const text = drawn.map(textOf).join(' ').split(/\s+/);
    for (const word of new Set(words)) {
      const asked = words.filter((each) => each === word).length;
      expect(text.filter((each) => each === word).length).toBeGreaterThanOrEqual(asked);
    }
    for (const page of with5000) expect(textOf(page)).toContain('Confidence');
  });
});

describe('characters', () => {
  test('the fonts hold every symbol of a drawing, Greek and Cyrillic', async () => {
    const fonts = await openFonts();
    const needed =
      '⌀±µμ≤≥⌖⏥⟂∥⌭⌓→ΔΩ⏤○⌒∠◎⌯↗⌰□ⓂⓁⒺⓅⒻ⌴⌵↧−–—×·°²³√σ≈½◆•⚠☐✓' +
      'ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩαβγδεζηθικλμνξοπρςστυφχψωάέήίόύώϊ' +
      'АБВГДЕЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯабвгдежзийклмнопрстуфхцчшщъыьэюяёЁіїєґ' +
      'ÄÖÜäöüßéèêçñåøØæœłńśźżőűčřšžıİğ€';
    const missing = [...needed].filter((character) => {
      const code = character.codePointAt(0) ?? 0;
      return !fonts.has('text', code) && !fonts.has('symbols', code);
    });
    expect(missing).toEqual([]);
  });

  test('Greek and Cyrillic names print; missing glyphs are spelt and reported once', async () => {
    const plan: Plan = {
      ...samplePlan,
      job: { ...samplePlan.job, part: 'Δακτύλιος μύτης — Носовое кольцо', customer: '山田' },
    };
    const sheet = travellerSheet(plan, { format: 'A4' });
    const { bytes: file, findings: found } = await writeSheetPdf(sheet, { createdOn });
    const first = textOf((await pagesOf(file))[0] ?? []);
    expect(first).toContain('Δακτύλιος μύτης — Носовое кольцо');
    expect(first).toContain('[U+5C71][U+7530]');
    expect(found.map((finding) => finding.id)).toEqual(['glyph-missing']);
    expect(found[0]?.message).toContain('山 (U+5C71), 田 (U+7530)');
    expect((await draw(samplePlan)).findings).toEqual([]);
  });

  test('controls, joiners and half surrogates do no harm', async () => {
    const { bytes: file, findings } = await draw({
      ...samplePlan,
      job: { ...samplePlan.job, customer: 'A\u0000B\u200bC\ufeffD \ud800 e\u0301' },
    });
    const first = textOf((await pagesOf(file))[0] ?? []);
    expect(first).toContain('ABCD [U+D800] é');
    expect(findings).toHaveLength(1);
  });
});

describe('formats and sizes', () => {
  test('Letter pages have their own size and margins', async () => {
    const { bytes: file } = await draw(samplePlan, 'Letter');
    const pdf = await getDocumentProxy(file.slice());
    const view = (await pdf.getPage(1)).getViewport({ scale: 1 });
    expect([view.width, view.height].map(Math.round)).toEqual([612, 792]);
    const frame = pageFrame('Letter');
    for (const page of await pagesOf(file)) {
      for (const item of page) expect(item.right).toBeLessThanOrEqual(frame.right + 0.1);
    }
  });

  test('300 operations: all printed, pages counted', async () => {
    const many: Plan = {
      ...samplePlan,
      operations: Array.from({ length: 300 }, (_, index) => {
        const operation = samplePlan.operations[index % 4];
        if (operation === undefined) throw new Error('no operation');
        return { ...operation, seq: 10 * (index + 1), title: `Step ${index + 1} of many` };
      }),
    };
    const { bytes: file, pages: count } = await draw(many);
    const drawn = await pagesOf(file);
    expect(drawn).toHaveLength(count);
    expect(count).toBeGreaterThan(60);
    const text = drawn.map(textOf).join(' ');
    const titles = Array.from({ length: 300 }, (_, index) => `Step ${index + 1} of many`);
    expect(titles.filter((title) => !text.includes(title))).toEqual([]);
    expect(squeezed(textOf(drawn.at(-1) ?? []))).toContain(`page${count}of${count}`);
  });

  test('identities and titles too long for a line are wrapped, not cut', async () => {
    const number = `LBP-${'0123456789'.repeat(9)}`;
    const { bytes: file } = await draw({ ...samplePlan, job: { ...samplePlan.job, number } });
    const frame = pageFrame('A4');
    for (const page of await pagesOf(file)) {
      expect(squeezed(textOf(page))).toContain(`${number}-C`);
      for (const item of page) expect(item.right).toBeLessThanOrEqual(frame.right + 0.1);
    }
  });
});
