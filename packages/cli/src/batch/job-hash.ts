import { createHash } from 'node:crypto';
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { maxFileBytes } from '../read/read-file.js';
import type { BatchJob } from './batch-types.js';

/** Hash of what a plan depends on beside its job: the program and the shop's own tables. */
export function settingsHash(version: string, shop: string | undefined): string {
  const tables =
    shop === undefined
      ? []
      : readdirSync(shop)
          .filter((name) => /\.csv$/i.test(name))
          .sort();
  return hashOf([
    Buffer.from(version),
    ...tables.flatMap((name) => [Buffer.from(name), contentOf(join(shop ?? '', name))]),
  ]);
}

/** Hash of everything that decides the plan of a job. */
export function jobHash(job: BatchJob, settings: string): string {
  const before = Buffer.from(settings);
  if (job.kind === 'line') return hashOf([before, job.bytes ?? Buffer.from(`line ${job.number}`)]);
  const file = statSync(job.path).isDirectory() ? join(job.path, 'job.json') : job.path;
  const text = contentOf(file);
  const named = filesNamedIn(text).map((name) => contentOf(join(dirname(file), name)));
  return hashOf([before, text, ...named]);
}

/** Each part goes in with its length, so that no two lists of parts read alike. */
function hashOf(parts: readonly Uint8Array[]): string {
  const hash = createHash('sha256');
  for (const part of parts) hash.update(`${part.length}\n`).update(part);
  return hash.digest('hex');
}

/** What cannot be read counts as empty: the plan tells the reason. */
function contentOf(path: string): Uint8Array {
  try {
    const status = statSync(path);
    if (!status.isFile()) return new Uint8Array();
    // too large to be read: its size stands for it
    return status.size > 20 * maxFileBytes
      ? Buffer.from(`${status.size} bytes`)
      : readFileSync(path);
  } catch {
    return new Uint8Array();
  }
}

/** The features table and the mesh; no more than names, the reader checks them. */
function filesNamedIn(text: Uint8Array): readonly string[] {
  let job: unknown;
  try {
    job = JSON.parse(
      Buffer.from(text)
        .toString('utf8')
        .replace(/^\ufeff/, ''),
    );
  } catch {
    return [];
  }
  const named = [fieldOf(job, 'features'), fieldOf(fieldOf(job, 'geometry'), 'mesh')];
  return named.filter((name): name is string => typeof name === 'string' && !name.includes('\0'));
}

function fieldOf(value: unknown, name: string): unknown {
  return typeof value === 'object' && value !== null && Object.hasOwn(value, name)
    ? (value as Readonly<Record<string, unknown>>)[name]
    : undefined;
}
