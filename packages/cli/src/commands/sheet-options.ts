import {
  isCalendarDate,
  type Sheet,
  type SheetOptions,
  type TravellerOptions,
} from '@offplate/core';
import { UsageError } from '../failure.js';
import type { Io } from '../io.js';
import { jsonText } from '../write/json-text.js';
import type { EmbeddedSource } from '../write/pdf/sheet-pdf.js';
import type { Arguments } from './command.js';
import type { LoadedJob } from './load-job.js';

// What the verbs that print sheets have in common. It loads the core: import it inside `run` only.

/** Format and issue of a sheet from the options of the command line. */
export function sheetOptions({ values }: Arguments): SheetOptions {
  const issuedOn = values.get('issued-on');
  const issuedBy = values.get('issued-by');
  if (issuedOn !== undefined && !isCalendarDate(issuedOn))
    throw new UsageError(
      `--issued-on cannot be ${JSON.stringify(issuedOn)}; accepted: a day YYYY-MM-DD`,
    );
  return {
    format: values.get('format') === 'Letter' ? 'Letter' : 'A4',
    ...(issuedOn === undefined ? {} : { issuedOn }),
    ...(issuedBy === undefined ? {} : { issuedBy }),
  };
}

/** What a traveller says beyond the plan: revisions of the drawing, tools to measure with, a picture. */
export function travellerExtras({
  job,
  catalog,
  mesh,
}: Pick<LoadedJob, 'job' | 'catalog' | 'mesh'>): Pick<
  TravellerOptions,
  'revisions' | 'methods' | 'mesh'
> {
  return {
    revisions: job.part.revisions,
    methods: catalog.methods,
    ...(mesh === undefined ? {} : { mesh }),
  };
}

/** A document behind a sheet: its schema names the file that is embedded. */
export interface SheetSource {
  readonly schema: string;
}

/**
 * The sheet as PDF with the document behind it embedded as JSON; characters that the fonts lack are
 * told on the standard error.
 *
 * @param day stands in the file as its date when the sheet has no day of issue
 */
export async function sheetPdf(
  sheet: Sheet,
  source: SheetSource,
  day: string | undefined,
  options: SheetOptions,
  io: Io,
): Promise<Uint8Array> {
  // pdfkit takes 0.1 s to load
  const { writeSheetPdf } = await import('../write/pdf/sheet-pdf.js');
  const { bytes, findings } = await writeSheetPdf(sheet, {
    createdOn: dateOfFile(options.issuedOn ?? day, io.env.SOURCE_DATE_EPOCH),
    source: embedded(source),
  });
  for (const { message } of findings) await io.stderr.write(`warning: ${message}\n`);
  return bytes;
}

const embeddedBefore = new WeakMap<SheetSource, EmbeddedSource>();

/** A pack embeds one plan in many sheets. */
function embedded(source: SheetSource): EmbeddedSource {
  const known = embeddedBefore.get(source);
  if (known !== undefined) return known;
  const made: EmbeddedSource = {
    name: `${source.schema.replace(/\/\d+$/, '')}.json`,
    mediaType: 'application/json',
    description: `What the sheet was made from, schema ${source.schema}`,
    bytes: new TextEncoder().encode(jsonText(source)),
  };
  embeddedBefore.set(source, made);
  return made;
}

/** Never the clock, so that the same input gives the same bytes. */
function dateOfFile(day: string | undefined, epochSeconds: string | undefined): Date {
  if (epochSeconds !== undefined && /^\d{1,11}$/.test(epochSeconds))
    return new Date(Number(epochSeconds) * 1000);
  return new Date(`${day ?? '2000-01-01'}T00:00:00Z`);
}
