import { createHash } from 'node:crypto';
import {
  type Catalog,
  heatRequest,
  inspectionSheet,
  type Job,
  type Plan,
  planStacksSheet,
  quoteSheet,
  type RelaxReport,
  type Sheet,
  type SheetOptions,
  stockMapSheet,
  type TriangleMesh,
  travellerSheet,
} from '@offplate/core';
import type { Io } from '../io.js';
import { inspectionCsv, stockCsv } from '../write/csv/plan-csv.js';
import { jsonText } from './deliver.js';
import { sheetPdf, travellerExtras } from './sheet-options.js';

export interface PackFile {
  readonly name: string;
  readonly what: string;
  readonly bytes: Uint8Array;
}

export interface PackContent {
  readonly plan: Plan;
  /** Adds to the request to the heat treater what the plan does not hold. */
  readonly job: Job;
  readonly catalog: Catalog;
  readonly mesh?: TriangleMesh;
  readonly relax: RelaxReport | undefined;
}

/** All documents of a plan, the manifest last. `tell` hears of each sheet that is drawn. */
export async function packFiles(
  { relax, ...content }: PackContent,
  options: SheetOptions,
  io: Io,
  tell: (text: string) => Promise<void>,
): Promise<readonly PackFile[]> {
  const { plan, job } = content;
  const sheets: readonly (readonly [name: string, sheet: Sheet])[] = [
    ['traveller.pdf', travellerSheet(plan, { ...options, ...travellerExtras(content) })],
    ...heatRequests(plan, options, job),
    ['quote.pdf', quoteSheet(plan, options, relax)],
    ['inspection.pdf', inspectionSheet(plan, options)],
    ['stock-map.pdf', stockMapSheet(plan, options)],
    ['tolerances.pdf', planStacksSheet(plan, options)],
  ];
  const files: PackFile[] = [];
  for (const [name, sheet] of sheets) {
    await tell(`drawing ${name}`);
    const bytes = await sheetPdf(sheet, plan, plan.schedule.startOn, options, io);
    files.push({ name, what: sheet.title, bytes });
  }
  files.push(
    csvFile('inspection.csv', 'Characteristics to inspect', inspectionCsv(plan)),
    csvFile('stock-map.csv', 'Printed sizes and stock', stockCsv(plan)),
    { name: 'plan.json', what: 'The whole plan, schema plan/1', bytes: utf8(jsonText(plan)) },
  );
  return [...files, manifest(plan, files)];
}

/** One request a supplier; a single one, for what the house itself heats, when none is asked. */
function heatRequests(
  plan: Plan,
  options: SheetOptions,
  job: Job,
): readonly (readonly [name: string, sheet: Sheet])[] {
  if (plan.thermal.cycles.length === 0) return [];
  const centres = plan.operations
    .filter(({ kind, workCentre }) => kind === 'thermal' && workCentre.sourcing === 'outside')
    .map(({ workCentre }) => workCentre.id);
  const suppliers = [...new Set(centres)];
  if (suppliers.length < 2)
    return [['heat-treatment-request.pdf', heatRequest(plan, options, job)]];
  return suppliers.map((workCentre) => [
    `heat-treatment-request-${workCentre}.pdf`,
    heatRequest(plan, { ...options, workCentre }, job),
  ]);
}

/** Spreadsheets take a CSV file without the mark for something older than Unicode. */
function csvFile(name: string, what: string, text: string): PackFile {
  return { name, what, bytes: utf8(`\ufeff${text}`) };
}

function manifest({ job }: Plan, files: readonly PackFile[]): PackFile {
  const list = jsonText({
    schema: 'pack/1',
    part: job.part,
    number: job.number,
    revision: job.revision,
    ...(job.reference === undefined ? {} : { order: job.reference }),
    quantity: job.quantity,
    files: files.map(({ name, what, bytes }) => ({
      name,
      what,
      bytes: bytes.length,
      sha256: createHash('sha256').update(bytes).digest('hex'),
    })),
  });
  return {
    name: 'manifest.json',
    what: 'Names, sizes and SHA-256 of the files',
    bytes: utf8(list),
  };
}

function utf8(text: string): Uint8Array {
  return new TextEncoder().encode(text);
}
