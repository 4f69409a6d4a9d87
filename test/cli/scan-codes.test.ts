import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { type Plan, travellerSheet } from '@offplate/core';
import fc from 'fast-check';
import { beforeAll, describe, expect, test } from 'vitest';
import { prepareZXingModule, readBarcodes } from 'zxing-wasm/reader';
import { code128Symbol, code128Values } from '../../packages/cli/src/write/pdf/code-128.js';
import { writeSheetPdf } from '../../packages/cli/src/write/pdf/sheet-pdf.js';
import { contentStreams } from '../fixtures/pdf-pages.js';
import { samplePlan } from '../fixtures/sample-plan.js';

// The decoder is zxing-wasm, which shares nothing with what draws the symbols.
beforeAll(() => {
  const file = createRequire(import.meta.url).resolve('zxing-wasm/reader/zxing_reader.wasm');
  const wasmBinary = new Uint8Array(readFileSync(file)).buffer;
  prepareZXingModule({ overrides: { wasmBinary } });
});

interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** Black boxes on white, so many pixels a unit. */
async function decode(
  boxes: readonly Box[],
  width: number,
  height: number,
  scale: number,
): Promise<readonly { readonly format: string; readonly text: string }[]> {
  const [columns, rows] = [Math.ceil(width * scale), Math.ceil(height * scale)];
  const data = new Uint8ClampedArray(columns * rows * 4).fill(255);
  for (const box of boxes) {
    const right = Math.min(columns, Math.round((box.x + box.width) * scale));
    const bottom = Math.min(rows, Math.round((box.y + box.height) * scale));
    for (let y = Math.round(box.y * scale); y < bottom; y++)
      for (let x = Math.round(box.x * scale); x < right; x++)
        data.fill(0, 4 * (y * columns + x), 4 * (y * columns + x) + 3);
  }
  const image = { data, width: columns, height: rows, colorSpace: 'srgb' } as Parameters<
    typeof readBarcodes
  >[0];
  const found = await readBarcodes(image, { formats: ['Code128', 'QRCode'], tryHarder: true });
  return found.map(({ format, text }) => ({ format, text }));
}

/** Rectangles that a page fills with black, in points from its top left corner. */
function blackBoxes(stream: string): readonly Box[] {
  const boxes: Box[] = [];
  let black = true;
  let path: Box[] = [];
  for (const line of stream.split('\n')) {
    const colour = /^(\S+) (\S+) (\S+) scn$/.exec(line);
    if (colour !== null) black = colour.slice(1).every((part) => Number(part) === 0);
    const box = /^(\S+) (\S+) (\S+) (\S+) re$/.exec(line);
    if (box !== null) {
      const [x = 0, y = 0, width = 0, height = 0] = box.slice(1).map(Number);
      path.push({ x, y, width, height });
    } else if (/^(f|S|n|B)/.test(line)) {
      if (line.startsWith('f') && black) boxes.push(...path);
      path = [];
    }
  }
  return boxes;
}

async function decodedPages(plan: Plan, order?: string): Promise<readonly string[]> {
  const sheet = travellerSheet(plan, { format: 'A4', ...(order === undefined ? {} : { order }) });
  const { bytes } = await writeSheetPdf(sheet, { createdOn: new Date('2027-01-04T00:00:00Z') });
  const found: string[] = [];
  for (const stream of contentStreams(bytes))
    for (const { format, text } of await decode(blackBoxes(stream), 596, 842, 4))
      found.push(`${format} ${text}`);
  return found.sort();
}

describe('symbols on the traveller', () => {
  test('the head says order and revision in both, each signature its operation', async () => {
    const found = await decodedPages(samplePlan);
    const { operations } = samplePlan;
    expect(found).toEqual(
      [
        'Code128 ORD-2291/C',
        'QRCode ORD-2291/C',
        ...operations.map(({ seq }) => `QRCode ORD-2291/${seq}/C`),
      ].sort(),
    );
  });

  test('what Code 128 cannot hold is in the QR symbol alone; a long order too', async () => {
    const plan: Plan = { ...samplePlan, operations: samplePlan.operations.slice(0, 1) };
    expect(await decodedPages(plan, 'Заказ-7 山')).toEqual([
      'QRCode Заказ-7 山/10/C',
      'QRCode Заказ-7 山/C',
    ]);
    const long = 'A long order name with many words in it, far too long for a row of bars';
    expect(await decodedPages(plan, long)).toEqual([`QRCode ${long}/10/C`, `QRCode ${long}/C`]);
  });

  test('without an order the number of the part stands in', async () => {
    const { reference: _, ...job } = samplePlan.job;
    const found = await decodedPages({ ...samplePlan, job, operations: [] });
    expect(found).toEqual(['Code128 LBP-0417/C', 'QRCode LBP-0417/C']);
  });
});

describe('Code 128', () => {
  async function readBack(text: string): Promise<readonly string[]> {
    const symbol = code128Symbol(text);
    if (symbol === undefined) return [];
    const boxes = symbol.bars.map(({ at, width }) => ({ x: at + 10, y: 5, width, height: 40 }));
    const found = await decode(boxes, symbol.modules + 20, 50, 3);
    return found.map((each) => each.text);
  }

  test('every printable ASCII character and every pair of digits reads back', async () => {
    const ascii = Array.from({ length: 95 }, (_, index) => String.fromCharCode(index + 32)).join(
      '',
    );
    const pairs = Array.from({ length: 100 }, (_, index) => String(index).padStart(2, '0')).join(
      '',
    );
    const texts = [ascii.slice(0, 48), ascii.slice(48), pairs.slice(0, 100), pairs.slice(100)];
    for (const text of texts) expect(await readBack(text)).toEqual([text]);
  });

  test('mixed texts read back', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.oneof(fc.stringMatching(/^\d{1,9}$/), fc.stringMatching(/^[A-Z/ -]{1,4}$/)), {
          minLength: 1,
          maxLength: 5,
        }),
        async (parts) => {
          const text = parts.join('');
          expect(await readBack(text)).toEqual([text]);
        },
      ),
      { seed: 7, numRuns: 60 },
    );
  });

  test('check character is the weighted sum modulo 103', () => {
    // start B 104, P J J 1 2 3 C = 48 42 42 17 18 19 35: 104 + 48 + 84 + 126 + 68 + 90 + 114 + 245
    // = 879 = 8 x 103 + 55 (worked by hand from ISO/IEC 15417:2007, annex A)
    expect(code128Values('PJJ123C')).toEqual([104, 48, 42, 42, 17, 18, 19, 35, 55, 106]);
  });

  test('runs of digits take half the symbols; other characters are refused', () => {
    expect(code128Values('123456')).toEqual([105, 12, 34, 56, (105 + 12 + 68 + 168) % 103, 106]);
    expect(code128Values('AB1234')?.slice(0, 6)).toEqual([104, 33, 34, 99, 12, 34]);
    expect(code128Values('é')).toBeUndefined();
    expect(code128Values('')).toBeUndefined();
  });

  test('each symbol character is 11 modules, the stop 13', () => {
    expect(code128Symbol('A')?.modules).toBe(3 * 11 + 13);
    expect(code128Symbol('123456')?.modules).toBe(5 * 11 + 13);
  });
});
