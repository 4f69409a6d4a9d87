import type { Finding, Sheet } from '@offplate/core';
import { type SheetPdfOptions, writeSheetPdf } from './sheet-pdf.js';

export interface TravellerPdfOptions extends SheetPdfOptions {
  /** Told of characters that the fonts lack. */
  readonly onFinding?: (finding: Finding) => void;
}

/** The traveller as bytes. Import this module only when a PDF is wanted: pdfkit takes 0.1 s to load. */
export async function writeTravellerPdf(
  sheet: Sheet,
  options: TravellerPdfOptions,
): Promise<Uint8Array> {
  const { bytes, findings } = await writeSheetPdf(sheet, options);
  for (const finding of findings) options.onFinding?.(finding);
  return bytes;
}
