import { unzipSync } from 'fflate';
import { InputError, type Place } from '../problems/problem.js';
import { meshError } from './mesh.js';

// A 3MF file is a ZIP archive. Whatever an archive declares is bounded before anything is unpacked.

/** Most entries of an archive. */
export const maxEntries = 10_000;
/** Largest entry after unpacking, bytes. */
export const maxEntryBytes: number = 400 * 1024 * 1024;
/** Most times that an entry may grow: above what XML of a mesh can reach. */
export const maxRatio = 300;

/** Whether the bytes begin like a ZIP archive. */
export function looksLikeArchive(bytes: Uint8Array): boolean {
  return bytes[0] === 0x50 && bytes[1] === 0x4b && (bytes[2] === 3 || bytes[2] === 5);
}

/** The bytes of one entry; the name is compared without case, as the packaging rules ask. */
export function openEntry(bytes: Uint8Array, name: string, file: Place): Uint8Array {
  const wanted = name.toLowerCase();
  let seen = 0;
  let found: string | undefined;
  let declared = 0;
  let files: Readonly<Record<string, Uint8Array>>;
  try {
    files = unzipSync(bytes, {
      filter: (entry) => {
        seen++;
        if (seen > maxEntries)
          throw meshError(
            'too-large',
            file,
            'too many entries',
            `over ${maxEntries}`,
            `at most ${maxEntries}`,
          );
        checkEntryName(entry.name, file);
        if (entry.name.toLowerCase() !== wanted) return false;
        const place = { ...file, path: shown(entry.name) };
        if (found !== undefined)
          throw meshError('mesh-format', place, 'the entry is there twice', entry.name, 'once');
        if (entry.compression !== 0 && entry.compression !== 8)
          throw meshError(
            'mesh-format',
            place,
            'unknown compression',
            entry.compression,
            'stored or deflated',
          );
        if (!(entry.originalSize <= maxEntryBytes))
          throw meshError(
            'too-large',
            place,
            'the entry is too large',
            `${entry.originalSize} bytes`,
            `at most ${maxEntryBytes} bytes`,
          );
        if (entry.size > bytes.length || entry.originalSize > maxRatio * entry.size + 4096)
          throw meshError(
            'too-large',
            place,
            'the entry grows too much',
            `${entry.size} to ${entry.originalSize} bytes`,
            `at most ${maxRatio} times`,
          );
        found = entry.name;
        declared = entry.originalSize;
        return true;
      },
    });
  } catch (error) {
    if (error instanceof InputError) throw error;
    throw meshError(
      'mesh-format',
      { ...file, ...(found === undefined ? {} : { path: shown(found) }) },
      'the archive is damaged',
      error instanceof Error ? error.message : undefined,
      'a complete ZIP archive',
    );
  }
  const entry = found === undefined ? undefined : files[found];
  if (entry === undefined)
    throw meshError(
      'missing-field',
      { ...file, path: shown(name) },
      'the archive has no such entry',
    );
  if (entry.length !== declared)
    throw meshError(
      'mesh-format',
      { ...file, path: shown(name) },
      'the entry is shorter than the archive says',
      `${entry.length} bytes`,
      `${declared} bytes`,
    );
  return entry;
}

/** Nothing is ever written by these names; an archive that tries to climb out is no honest file. */
function checkEntryName(name: string, file: Place): void {
  const climbs = name.split(/[/\\]/).includes('..');
  if (!climbs && !name.startsWith('/') && !name.includes('\\') && !/^[a-z]:/i.test(name)) return;
  throw meshError(
    'mesh-format',
    { ...file, path: shown(name) },
    'the name of an entry leads out of the archive',
    name,
    'a relative name without ..',
  );
}

function shown(name: string): string {
  return name.length > 80 ? `${name.slice(0, 77)}...` : name;
}
