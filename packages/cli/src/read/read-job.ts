import { statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { featureTableName, type JobReading, type JobVocabulary, readJob } from '@offplate/core';
import { readFeatureFile } from './feature-file.js';
import { fileProblem, maxFileBytes, type ReadText, readTextFile, textOf } from './read-file.js';

/** Reads the bytes of the standard input to its end or to a number of bytes. */
export type ReadStdin = (maxBytes: number) => Promise<Uint8Array>;

/** Name of the standard input in messages. */
export const stdinName = '<stdin>';

/**
 * Reads a job from a folder that holds `job.json`, from a job file, or from the standard input (`-`,
 * features inline). All problems of the job and of its features table come together.
 */
export async function readJobFrom(
  source: string,
  vocabulary: JobVocabulary,
  readStdin: ReadStdin,
): Promise<JobReading> {
  if (source === '-')
    return understand(textOf(await readStdin(maxFileBytes + 1), stdinName), stdinName, vocabulary);
  let file = source;
  try {
    if (statSync(source).isDirectory()) file = join(source, 'job.json');
  } catch (error) {
    const accept = 'a job folder, a job file, or - for the standard input';
    return { problems: [fileProblem(error, source, accept)], findings: [] };
  }
  return understand(readTextFile(file), file, vocabulary, dirname(file));
}

function understand(
  { text, problems, findings }: ReadText,
  file: string,
  vocabulary: JobVocabulary,
  folder?: string,
): JobReading {
  if (text === undefined) return { problems, findings };
  const name = featureTableName(text);
  const table =
    name === undefined || folder === undefined
      ? {}
      : { featureTable: readFeatureFile(join(folder, name), folder) };
  const reading = readJob({ json: text, file, ...table }, vocabulary);
  return { ...reading, findings: [...findings, ...reading.findings] };
}
