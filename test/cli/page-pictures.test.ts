import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { PDFiumLibrary } from '@hyzyla/pdfium';
import {
  chartSheet,
  heatRequest,
  inspectionSheet,
  planStacksSheet,
  quoteSheet,
  type Sheet,
  solveChart,
  stackProbabilities,
  stackReport,
  stackSheet,
  stockMapSheet,
  travellerSheet,
} from '@offplate/core';
import { decode, encode } from 'fast-png';
import pixelmatch from 'pixelmatch';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { writeSheetPdf } from '../../packages/cli/src/write/pdf/sheet-pdf.js';
import { pricedPlan } from '../fixtures/priced-plan.js';
import { samplePlan } from '../fixtures/sample-plan.js';

// Pages as grey pictures at 45 dots an inch, set by PDFium. A page is as it was when not more than one
// pixel in two thousand differs by more than a tenth of the range of grey (pixelmatch, edges that are
// only smoothed otherwise left out). OFFPLATE_GOLDEN=write writes the pictures anew: look at them.

const dotsPerInch = 45;
const mostGreyShare = 0.1;
const mostPixelShare = 1 / 2000;

const folder = join(dirname(fileURLToPath(import.meta.url)), '../golden/pages');
const options = { format: 'A4', issuedOn: '2027-01-04', issuedBy: 'planning' } as const;

const stack = stackReport(
  {
    name: 'gap behind the seat',
    requirement: { lower: 0.05, upper: 0.45 },
    contributors: [
      { id: 'seat', nominal: 12, plus: 0.1, minus: 0, source: 'milled' },
      { id: 'flap', nominal: 6, plus: 0.04, minus: 0.04, coefficient: -1 },
      {
        id: 'spacer',
        nominal: 5.8,
        plus: 0.05,
        minus: 0.05,
        coefficient: -1,
        distribution: { kind: 'uniform' },
      },
    ],
    quantiles: stackProbabilities,
  },
  { sampling: { samples: 10_000 } },
);

const chart = {
  title: 'crown over the flange',
  axis: 'Z',
  surfaces: [
    { id: 'flange', name: 'face against the tube', faces: 'down' },
    { id: 'seat', faces: 'up' },
    { id: 'crown', faces: 'up' },
  ],
  cuts: [
    { id: '10', operation: 'print', datum: 'flange', surface: 'crown', toleranceMm: 0.3 },
    { id: '10s', operation: 'print', datum: 'crown', surface: 'seat', toleranceMm: 0.2 },
    { id: '50', datum: 'flange', surface: 'crown', toleranceMm: 0.05, minStockMm: 0.3 },
    { id: '60', datum: 'crown', surface: 'flange', toleranceMm: 0.05, minStockMm: 0.3 },
    { id: '70', datum: 'flange', surface: 'seat', toleranceMm: 0.05, minStockMm: 0.3 },
  ],
  blueprint: [
    { id: 'H', from: 'flange', to: 'crown', lowerMm: 39.9, upperMm: 40.1 },
    { id: 'S', from: 'seat', to: 'crown', lowerMm: 15.2, upperMm: 15.6 },
  ],
} as const;

const measured = {
  ...samplePlan,
  job: { ...samplePlan.job, quantity: 24 },
  inspection: samplePlan.inspection.map((item, index) => ({
    ...item,
    sample: index % 3 === 0 ? 5 : 24,
  })),
};

/** Each sheet with the pages that are compared. */
const sheets: readonly (readonly [name: string, make: () => Sheet, pages: readonly number[]])[] = [
  ['traveller', () => travellerSheet(samplePlan, options), [1, 3, 4]],
  ['traveller-letter', () => travellerSheet(samplePlan, { ...options, format: 'Letter' }), [1]],
  ['quote', () => quoteSheet(pricedPlan, options), [1, 2]],
  ['inspection', () => inspectionSheet(measured, options), [1]],
  ['heat-request', () => heatRequest(samplePlan, options), [1, 2]],
  ['stock-map', () => stockMapSheet(pricedPlan, options), [1]],
  ['tolerances', () => planStacksSheet(samplePlan, options), [1]],
  ['stack', () => stackSheet(stack, options), [1]],
  ['chart', () => chartSheet(chart, solveChart(chart), options), [1]],
];

let library: PDFiumLibrary;

beforeAll(async () => {
  library = await PDFiumLibrary.init();
}, 60_000);
afterAll(() => library.destroy());

interface Picture {
  readonly width: number;
  readonly height: number;
  /** Grey of each pixel. */
  readonly data: Uint8Array;
}

async function pictures(pdf: Uint8Array, wanted: readonly number[]): Promise<readonly Picture[]> {
  const document = await library.loadDocument(pdf);
  const drawn: Picture[] = [];
  for (const number of wanted) {
    const page = document.getPage(number - 1);
    const image = await page.render({ scale: dotsPerInch / 72, render: 'bitmap' });
    const data = Uint8Array.from({ length: image.width * image.height }, (_, index) => {
      const [blue = 0, green = 0, red = 0] = image.data.subarray(4 * index, 4 * index + 3);
      return Math.round(0.299 * red + 0.587 * green + 0.114 * blue);
    });
    drawn.push({ width: image.width, height: image.height, data });
  }
  document.destroy();
  return drawn;
}

function colours({ data }: Picture): Uint8Array {
  return Uint8Array.from({ length: 4 * data.length }, (_, index) =>
    index % 4 === 3 ? 255 : (data[index >> 2] ?? 0),
  );
}

function golden(name: string, picture: Picture): Picture {
  const path = join(folder, `${name}.png`);
  if (process.env.OFFPLATE_GOLDEN === 'write') {
    mkdirSync(folder, { recursive: true });
    writeFileSync(path, encode({ ...picture, channels: 1, depth: 8 }));
  }
  const { width, height, data } = decode(readFileSync(path));
  return { width, height, data: Uint8Array.from(data) };
}

function differing(one: Picture, other: Picture): number {
  const { width, height } = one;
  return pixelmatch(colours(one), colours(other), undefined, width, height, {
    threshold: mostGreyShare,
  });
}

describe('pages look as they did', () => {
  test.each(sheets)('%s', async (name, make, wanted) => {
    const { bytes } = await writeSheetPdf(make(), { createdOn: new Date('2027-01-04T00:00:00Z') });
    const drawn = await pictures(bytes, wanted);
    for (const [index, picture] of drawn.entries()) {
      const kept = golden(`${name}-${wanted[index]}`, picture);
      expect([picture.width, picture.height]).toEqual([kept.width, kept.height]);
      const share = differing(picture, kept) / (picture.width * picture.height);
      expect(share, `${name}, page ${wanted[index]}`).toBeLessThanOrEqual(mostPixelShare);
    }
  });

  test('a word that is changed, or a rule that is missing, is seen', async () => {
    const make = (text: string): Sheet => ({
      ...stackSheet(stack, options),
      blocks: [{ type: 'paragraph', text }],
    });
    const draw = async (text: string): Promise<Picture> => {
      const { bytes } = await writeSheetPdf(make(text), { createdOn: new Date(0) });
      const [picture] = await pictures(bytes, [1]);
      if (picture === undefined) throw new Error('no page');
      return picture;
    };
    const before = await draw('Keep the coupons with the lot until the certificate is here.');
    const after = await draw('Throw the coupons away as soon as the certificate is here!');
    expect(differing(before, before)).toBe(0);
    expect(differing(before, after) / before.data.length).toBeGreaterThan(mostPixelShare);
  });
});
