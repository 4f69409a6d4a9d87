import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { runFake } from './fake-io.js';

const job = fileURLToPath(new URL('../fixtures/job-mini', import.meta.url));

test('--plain gives on a terminal what a pipe gets', async () => {
  const piped = await runFake(['plan', job]);
  const narrow = await runFake(['plan', job], { columns: 76 });
  const plain = await runFake(['plan', job, '--plain'], { columns: 76 });
  expect(piped.code).toBe(0);
  expect(narrow.stdout).not.toBe(piped.stdout);
  expect(plain.stdout).toBe(piped.stdout);
  expect(plain.stderr).toBe(piped.stderr);
});
