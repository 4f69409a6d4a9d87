// Packs the built packages as they would be published.
import { spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const root = join(dirname(fileURLToPath(import.meta.url)), '..');

/** Runs pnpm in a folder; throws with what it said when it fails. */
export function pnpm(folder, ...args) {
  const done = spawnSync('npx', ['-y', 'pnpm@12.4.2', ...args], { cwd: folder, encoding: 'utf8' });
  if (done.status !== 0)
    throw new Error(`pnpm ${args.join(' ')} failed in ${folder}\n${done.stdout}${done.stderr}`);
  return done.stdout;
}

/** Packs core and cli into an empty folder; the paths of both archives. */
export function packPackages(folder) {
  mkdirSync(folder, { recursive: true });
  for (const name of ['core', 'cli'])
    pnpm(join(root, 'packages', name), 'pack', '--pack-destination', folder);
  const archive = (name) => {
    const file = readdirSync(folder).find((each) => each.startsWith(`offplate-${name}-`));
    if (file === undefined) throw new Error(`no archive of ${name} in ${folder}`);
    return join(folder, file);
  };
  return { core: archive('core'), cli: archive('cli') };
}
