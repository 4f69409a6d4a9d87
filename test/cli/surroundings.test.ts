import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

// These run the built command (`node scripts/build.mjs`) as a process of its own.

const bin = fileURLToPath(new URL('../../packages/cli/bin/offplate.mjs', import.meta.url));
const job = fileURLToPath(new URL('../../data/demo/probe-bracket', import.meta.url));

/** Hash of a plan made in other surroundings. */
function planHash(env: Readonly<Record<string, string>>, ...options: readonly string[]): string {
  const argv = [...options, bin, 'plan', job, '--json'];
  const done = spawnSync(process.execPath, argv, {
    encoding: 'utf8',
    env: { PATH: process.env.PATH, ...env },
  });
  expect(done.status).toBe(0);
  return createHash('sha256').update(done.stdout).digest('hex');
}

test('a plan has the same bytes wherever and whenever it is made', () => {
  const here = planHash({ LC_ALL: 'C', TZ: 'UTC' });
  // a dotless i, a decimal comma, a day ahead, another day
  expect(planHash({ LC_ALL: 'tr_TR.UTF-8', LANG: 'tr_TR.UTF-8', TZ: 'Pacific/Apia' })).toBe(here);
  expect(planHash({ LC_ALL: 'de_DE.UTF-8', TZ: 'Pacific/Pago_Pago' })).toBe(here);
  // one thread for the engine, and no compiler that optimises
  expect(planHash({ UV_THREADPOOL_SIZE: '1' }, '--single-threaded', '--max-opt=0')).toBe(here);
});
