import type { FeatureTable } from '@offplate/core';
import { readCsvCells } from './csv-cells.js';
import { readTextInside } from './read-file.js';

/** Reads the features table of a job. The file must lie in the job's folder, links followed. */
export function readFeatureFile(path: string, folder: string): FeatureTable {
  const accept = 'a table in the folder of the job';
  const { text, problems, findings } = readTextInside(path, folder, accept);
  return text === undefined
    ? { file: path, header: [], headerLine: 1, rows: [], decimalComma: false, problems, findings }
    : featureTable(text, path, findings);
}

/** Splits the text of a features table into cells. */
export function featureTable(
  text: string,
  file: string,
  findings: FeatureTable['findings'] = [],
): FeatureTable {
  const { dialect, header, headerLine, rows, problems } = readCsvCells(text, file);
  const { decimalComma } = dialect;
  return { file, header, headerLine, rows, decimalComma, problems, findings };
}
