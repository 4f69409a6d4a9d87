// Puts the published JSON Schemas into the package of core; runs before every packing.
import { cpSync, rmSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const target = join(root, 'packages', 'core', 'schema');
rmSync(target, { recursive: true, force: true });
cpSync(join(root, 'schema'), target, { recursive: true });
