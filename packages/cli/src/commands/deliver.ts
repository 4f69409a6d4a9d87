import type { Finding, Plan, Sheet, SheetOptions } from '@offplate/core';
import { type ExitCode, exitCodes } from '../exit-codes.js';
import { UsageError } from '../failure.js';
import type { Io } from '../io.js';
import { conflictLines } from '../write/text/plan-head.js';
import { findingLines } from '../write/text/plan-remarks.js';
import { plainStyle, type Style, styleFor } from '../write/text/style.js';
import type { Arguments } from './command.js';

export { jsonText } from '../write/json-text.js';

/** The formats that flags ask for; text when none does. */
export type Format = 'text' | 'json' | 'csv';

export function formatOf({ flags }: Arguments): Format {
  if (flags.has('json') && flags.has('csv'))
    throw new UsageError('--json and --csv exclude each other');
  if (flags.has('json')) return 'json';
  return flags.has('csv') ? 'csv' : 'text';
}

/** How text results are set: plain when they go to a file. */
export function resultStyle({ flags, values }: Arguments, io: Io): Style {
  const path = values.get('out');
  const toFile = path !== undefined && path !== '-';
  return toFile || flags.has('plain') ? plainStyle : styleFor(io, flags.has('no-color'));
}

/** Hands the result to the standard output or, with `--out`, to a file. */
export async function deliver(result: string, args: Arguments, io: Io): Promise<void> {
  const path = args.values.get('out');
  if (path === undefined || path === '-') return await io.stdout.write(result);
  // spreadsheets take a CSV file without the mark for something older than Unicode
  const mark = formatOf(args) === 'csv' ? '\ufeff' : '';
  const bytes = new TextEncoder().encode(mark + result);
  await deliverFile(bytes, args, io);
}

async function deliverFile(bytes: Uint8Array, args: Arguments, io: Io): Promise<void> {
  const path = args.values.get('out') ?? '';
  await io.writeFiles([{ path, bytes }], args.flags.has('force'));
  await io.stderr.write(`wrote ${path}\n`);
}

/** Does the result go as text to a file that names itself a PDF? */
export function wantsPdf(args: Arguments): boolean {
  const named = args.values.get('out')?.toLowerCase().endsWith('.pdf') === true;
  return named && formatOf(args) === 'text';
}

/** Draws the sheet into the file of `--out`, the document behind it embedded. `day` is the date of the file without a day of issue. */
export async function deliverPdf(
  sheetOf: (options: SheetOptions) => Sheet,
  source: { readonly schema: string },
  day: string | undefined,
  args: Arguments,
  io: Io,
): Promise<void> {
  const { sheetOptions, sheetPdf } = await import('./sheet-options.js');
  const options = sheetOptions(args);
  await deliverFile(await sheetPdf(sheetOf(options), source, day, options, io), args, io);
}

/** What a verb about a part of the plan can print. */
export interface Forms {
  readonly text: () => string;
  readonly json: () => string;
  /** Absent for what is no table. */
  readonly csv?: () => string;
  readonly sheet: (options: SheetOptions) => Sheet;
}

/**
 * Makes and delivers the result in the wanted format, as PDF when it goes to a file named so; without
 * a route there is only JSON to show.
 */
export async function deliverPart(
  plan: Plan,
  forms: Forms,
  args: Arguments,
  io: Io,
): Promise<ExitCode> {
  const format = formatOf(args);
  await tellDoubts(plan, args, io);
  if (wantsPdf(args)) {
    if (plan.operations.length > 0)
      await deliverPdf(forms.sheet, plan, plan.schedule.startOn, args, io);
  } else if (format === 'json' || plan.operations.length > 0)
    await deliver((forms[format] ?? forms.text)(), args, io);
  return verdict(plan, args);
}

/** Does the plan answer the job? With `--strict` it must also be in time. */
export function verdict({ feasible, schedule }: Plan, { flags }: Arguments): ExitCode {
  const refused = !feasible || (flags.has('strict') && schedule.late);
  return refused ? exitCodes.computationSaysNo : exitCodes.ok;
}

/** Warnings and conflicts on the standard error, for results that show only a part of the plan. */
export async function tellDoubts(plan: Plan, args: Arguments, io: Io): Promise<void> {
  const { conflicts } = plan;
  await tellFindings(
    plan.findings.filter(({ severity }) => severity !== 'note'),
    args,
    io,
  );
  if (conflicts.length === 0) return;
  const style = messageStyle(args, io);
  const lines = ['the job cannot be made as it stands:', ...conflictLines(conflicts, style)];
  await io.stderr.write(`${lines.join('\n')}\n`);
}

export async function tellFindings(
  findings: readonly Finding[],
  args: Arguments,
  io: Io,
): Promise<void> {
  if (findings.length === 0) return;
  await io.stderr.write(`${findingLines(findings, messageStyle(args, io)).join('\n')}\n`);
}

function messageStyle({ flags }: Arguments, io: Io): Style {
  if (flags.has('plain')) return plainStyle;
  return styleFor({ ...io, stdout: io.stderr }, flags.has('no-color'));
}
