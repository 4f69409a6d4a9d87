import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect } from 'vitest';

const folder = join(dirname(fileURLToPath(import.meta.url)), 'golden');

/**
 * Compares a text with the file of that name in `test/golden/`. `OFFPLATE_GOLDEN=write` writes the
 * files anew; the difference is then to be reviewed like code.
 */
export function expectGolden(name: string, text: string): void {
  const path = join(folder, name);
  if (process.env.OFFPLATE_GOLDEN === 'write') {
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, text);
  }
  expect(text).toBe(readFileSync(path, 'utf8'));
}
