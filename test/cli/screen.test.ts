import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { expect, test } from 'vitest';
import { demoFolder } from '../fixtures/demo-job.js';
import { runFake } from './fake-io.js';

const jobs = ['heat-sink', 'pressure-manifold', 'probe-bracket', 'seal-carrier'];

test.each(jobs)('offplate screen %s: text within 100 columns, no escape sequence', async (job) => {
  const { code, stdout } = await runFake(['screen', join(demoFolder, job)]);
  expect(code).toBe(0);
  expect(Math.max(...stdout.split('\n').map((line) => [...line].length))).toBeLessThanOrEqual(100);
  expect(stdout).not.toContain('\u001b');
  expect(stdout).toContain('For the talk with the customer\n1. A printed surface is a blank');
});

test('holes that are drilled, channels that are finished, skin that hangs', async () => {
  const sink = await runFake(['screen', join(demoFolder, 'heat-sink')]);
  expect(sink.stdout).toMatch(/B1 +dowel hole +4 H7 .* print solid, drill\n/);
  expect(sink.stdout).toMatch(/channel length +care +C1 42:1/);
  const carrier = await runFake(['screen', join(demoFolder, 'seal-carrier')]);
  expect(carrier.stdout).toMatch(/overhang +care +mesh 0° \(976 mm² flatter than 45°/);
});

test('--plain on a terminal is the text of a pipe', async () => {
  const argv = ['screen', join(demoFolder, 'probe-bracket')];
  const pipe = await runFake(argv);
  const plain = await runFake([...argv, '--plain'], { columns: 120 });
  expect(plain.stdout).toBe(pipe.stdout);
});

test('--json fits schema screen/1', async () => {
  const schema = JSON.parse(
    readFileSync(new URL('../../schema/screen.schema.json', import.meta.url), 'utf8'),
  );
  const valid = new Ajv2020({ strict: false }).compile(schema);
  for (const job of jobs) {
    const { stdout } = await runFake(['screen', join(demoFolder, job), '--json']);
    expect(valid(JSON.parse(stdout)), JSON.stringify(valid.errors)).toBe(true);
    expect(JSON.parse(stdout).schema).toBe('screen/1');
  }
});

test('no such job: told as by other verbs', async () => {
  const [screen, plan] = [
    await runFake(['screen', 'no-such-folder']),
    await runFake(['plan', 'no-such-folder']),
  ];
  expect(screen.code).toBeGreaterThan(1);
  expect(screen.code).toBe(plan.code);
  expect(screen.stderr).toBe(plan.stderr);
});
