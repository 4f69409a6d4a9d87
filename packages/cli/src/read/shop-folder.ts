import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import {
  type Finding,
  nearMatch,
  type Problem,
  type ShopTable,
  type TableName,
  tableSchemas,
} from '@offplate/core';
import { readCsvCells } from './csv-cells.js';
import { fileProblem, readTextInside } from './read-file.js';

export interface ShopFolder {
  readonly tables: readonly ShopTable[];
  readonly problems: readonly Problem[];
  readonly findings: readonly Finding[];
}

/** Largest number of files in a shop folder that are looked at. */
const maxEntries = 1000;

/**
 * Reads the tables with which a shop overrides the catalogue: every `<table>.csv` of a folder, in the
 * order of their names. Other files are left alone, but a CSV file that is no table is a problem,
 * because its rows would be missed without a word.
 */
export function readShopFolder(folder: string): ShopFolder {
  const tables: ShopTable[] = [];
  const problems: Problem[] = [];
  const findings: Finding[] = [];
  const known = Object.keys(tableSchemas);
  for (const entry of entriesOf(folder, problems)) {
    const path = join(folder, entry);
    const table = known.find((name): name is TableName => `${name}.csv` === entry.toLowerCase());
    if (table === undefined) {
      problems.push(strayTable(path, entry, known));
      continue;
    }
    const read = readTextInside(path, folder, 'a file in the shop folder');
    problems.push(...read.problems);
    findings.push(...read.findings);
    if (read.text === undefined) continue;
    const csv = readCsvCells(read.text, path);
    problems.push(...csv.problems);
    if (csv.problems.length > 0) continue;
    const cell = csv.dialect.decimalComma ? withPoint : (text: string): string => text;
    tables.push({
      table,
      file: path,
      cells: [csv.header, ...csv.rows.map(({ cells }) => cells.map(cell))],
      lines: [csv.headerLine, ...csv.rows.map(({ line }) => line)],
    });
  }
  return { tables, problems, findings };
}

function entriesOf(folder: string, problems: Problem[]): readonly string[] {
  try {
    const entries = readdirSync(folder).filter((name) => /\.csv$/i.test(name));
    if (entries.length <= maxEntries) return entries.sort();
    const accept = `at most ${maxEntries} tables`;
    const message = 'too many files in the shop folder';
    const value = String(entries.length);
    problems.push({ code: 'too-large', place: { file: folder }, message, value, accept });
  } catch (error) {
    problems.push(fileProblem(error, folder, 'a folder with tables such as work-centres.csv'));
  }
  return [];
}

function strayTable(path: string, entry: string, known: readonly string[]): Problem {
  const near = nearMatch(entry.replace(/\.csv$/i, ''), known);
  return {
    code: 'unknown-id',
    place: { file: path },
    message: `no table of the catalogue has this name${near === undefined ? '' : `; did you mean ${near}.csv?`}`,
    value: entry,
    accept: known.map((name) => `${name}.csv`).join(', '),
  };
}

/** The catalogue's tables write numbers with a point. */
function withPoint(cell: string): string {
  return /^[+-]?\d*,\d+$/.test(cell) ? cell.replace(',', '.') : cell;
}
