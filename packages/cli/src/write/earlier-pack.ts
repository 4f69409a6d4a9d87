import { createHash } from 'node:crypto';
import { readFile, rm } from 'node:fs/promises';
import { join } from 'node:path';

/** A file of an earlier pack that the new one does not replace. */
export interface EarlierFile {
  readonly name: string;
  /** Still as the earlier pack wrote it. */
  readonly untouched: boolean;
}

const plainName = /^[a-z0-9][a-z0-9._-]{0,120}$/i;
const sha256 = /^[0-9a-f]{64}$/;

/**
 * Files that the manifest of an earlier pack in the folder lists and that are not among `replaced`.
 * Without a manifest of a pack there are none: nothing else in a folder is ours.
 */
export async function earlierFiles(
  folder: string,
  replaced: ReadonlySet<string>,
): Promise<readonly EarlierFile[]> {
  const listed = await readManifest(join(folder, 'manifest.json'));
  const found: EarlierFile[] = [];
  for (const { name, hash } of listed) {
    if (replaced.has(name)) continue;
    const bytes = await readFile(join(folder, name)).catch(() => undefined);
    if (bytes === undefined) continue;
    found.push({ name, untouched: createHash('sha256').update(bytes).digest('hex') === hash });
  }
  return found;
}

/** Removes a file of an earlier pack; one that is gone already is as good. */
export async function removeEarlier(folder: string, name: string): Promise<void> {
  await rm(join(folder, name), { force: true });
}

/** Only names of plain files are taken from it, so that a foreign manifest leads nowhere else. */
async function readManifest(
  path: string,
): Promise<readonly { readonly name: string; readonly hash: string }[]> {
  try {
    const manifest: unknown = JSON.parse(await readFile(path, 'utf8'));
    if (!isRecord(manifest) || manifest.schema !== 'pack/1' || !Array.isArray(manifest.files))
      return [];
    return manifest.files.flatMap((file: unknown) => {
      if (!isRecord(file) || typeof file.name !== 'string' || typeof file.sha256 !== 'string')
        return [];
      const usable = plainName.test(file.name) && sha256.test(file.sha256);
      return usable ? [{ name: file.name, hash: file.sha256 }] : [];
    });
  } catch {
    return [];
  }
}

function isRecord(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
