import { spawn, spawnSync } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';

// These run the built command (`node scripts/build.mjs`) as a process of its own.

const bin = fileURLToPath(new URL('../../packages/cli/bin/offplate.mjs', import.meta.url));
const root = mkdtempSync(join(tmpdir(), 'offplate-process-'));
const job = join(root, 'starter');
afterAll(() => rmSync(root, { recursive: true, force: true }));

function offplate(...argv: readonly string[]) {
  return spawnSync(process.execPath, [bin, ...argv], { encoding: 'utf8', cwd: root });
}

beforeAll(() => {
  expect(offplate('new', 'starter')).toMatchObject({ status: 0, stdout: '' });
});

describe('exit codes of the process', () => {
  test('0, 1, 2, 3, 4', () => {
    expect(offplate('plan', 'starter')).toMatchObject({ status: 0, stderr: '' });
    const late = join(root, 'late');
    mkdirSync(late);
    const text = readFileSync(join(job, 'job.json'), 'utf8');
    const dated = text.replace(
      '"quantity": 12,',
      '"quantity": 12, "startOn": "2027-03-01", "dueOn": "2027-03-02",',
    );
    writeFileSync(join(late, 'job.json'), dated);
    writeFileSync(join(late, 'features.csv'), readFileSync(join(job, 'features.csv')));
    expect(offplate('plan', 'late', '--strict').status).toBe(1);
    expect(offplate('plan', 'starter', '--quick')).toMatchObject({ status: 2, stdout: '' });
    expect(offplate('limits', '25 Q7')).toMatchObject({ status: 3, stdout: '' });
    expect(offplate('plan', 'nowhere')).toMatchObject({ status: 4, stdout: '' });
  });

  test('a job from a pipe', () => {
    const done = spawnSync(process.execPath, [bin, 'plan', '-'], { input: '{}', encoding: 'utf8' });
    expect(done.status).toBe(3);
    expect(done.stderr).toMatch(/^<stdin>:1:1/);
  });
});

describe('pipes', () => {
  test('head may leave early', () => {
    const line = `"${process.execPath}" "${bin}" catalog iso2768 --json | head -n 1; echo "\${PIPESTATUS[0]}"`;
    const done = spawnSync('bash', ['-c', line], { encoding: 'utf8' });
    expect(done.stdout).toBe('{\n0\n');
    expect(done.stderr).toBe('');
  });

  test('a full disk is told', () => {
    if (!existsSync('/dev/full')) return;
    const line = `"${process.execPath}" "${bin}" limits "25 H7" > /dev/full`;
    const done = spawnSync('bash', ['-c', line], { encoding: 'utf8' });
    expect(done.status).toBe(4);
    expect(done.stderr).toBe('offplate: the standard output cannot be written: the disk is full\n');
  });

  test('no escape sequences into a pipe, whatever the terminal is', () => {
    const env = { ...process.env, TERM: 'xterm-256color', FORCE_COLOR: '1' };
    const done = spawnSync(process.execPath, [bin, 'limits', '25 H7'], { encoding: 'utf8', env });
    expect(done.stdout).toContain('IT7');
    expect(done.stdout).not.toContain('\u001b');
  });
});

describe('interruption', () => {
  test('Ctrl-C ends it as a signal, which a shell reports as 130', async () => {
    const child = spawn(process.execPath, [bin, 'plan', '-'], {
      stdio: ['pipe', 'ignore', 'ignore'],
    });
    await new Promise((resolve) => setTimeout(resolve, 700));
    child.kill('SIGINT');
    const signal = await new Promise((resolve) => child.on('exit', (_code, by) => resolve(by)));
    expect(signal).toBe('SIGINT');
  });

  test('whenever it is killed, there is a whole file or none, and nothing besides', async () => {
    const argv = ['catalog', 'threads', '--csv', '--out'];
    const started = performance.now();
    expect(offplate(...argv, 'whole.csv').status).toBe(0);
    const durationMs = performance.now() - started;
    const whole = readFileSync(join(root, 'whole.csv'));
    for (let kill = 1; kill <= 10; kill++) {
      const folder = join(root, `killed-${kill}`);
      mkdirSync(folder);
      const path = join(folder, 'f.csv');
      const child = spawn(process.execPath, [bin, ...argv, path], { stdio: 'ignore' });
      const ended = new Promise((resolve) => child.on('exit', resolve));
      // the file is written near the end
      await new Promise((resolve) => setTimeout(resolve, durationMs * (0.5 + 0.06 * kill)));
      child.kill(kill % 2 === 0 ? 'SIGINT' : 'SIGTERM');
      await ended;
      const left = readdirSync(folder);
      expect(['', 'f.csv']).toContain(left.join(' '));
      if (left.length > 0) expect(readFileSync(path)).toEqual(whole);
    }
  });

  test('a signal in the midst of writing waits for the end of it', async () => {
    const folder = join(root, 'large');
    mkdirSync(folder);
    const path = join(folder, 'f');
    const module = new URL('../../packages/cli/dist/write/write-files.js', import.meta.url);
    const script = `
      const { writeFiles } = await import(${JSON.stringify(module.href)});
      const bytes = new Uint8Array(60_000_000);
      const written = writeFiles([{ path: ${JSON.stringify(path)}, bytes }], false);
      // sent from inside: a busy machine would bring a signal from outside too late
      setImmediate(() => process.kill(process.pid, 'SIGINT'));
      await written;
      setTimeout(() => console.log('not reached'), 5000);`;
    const child = spawn(process.execPath, ['--input-type=module', '-e', script]);
    let output = '';
    child.stdout.on('data', (chunk: Buffer) => {
      output += chunk.toString();
    });
    const signal = await new Promise((resolve) => child.on('exit', (_code, by) => resolve(by)));
    expect([signal, output]).toEqual(['SIGINT', '']);
    const left = readdirSync(folder);
    // the signal may also have come just before the writing began
    expect(['', 'f']).toContain(left.join(' '));
    if (left.length > 0) expect(statSync(path).size).toBe(60_000_000);
  });
});

describe('what is loaded', () => {
  /** Modules that a run loads, as the coverage of the engine lists them. */
  function loadedBy(...argv: readonly string[]): readonly string[] {
    const folder = mkdtempSync(join(root, 'coverage-'));
    const env = { ...process.env, NODE_V8_COVERAGE: folder };
    const done = spawnSync(process.execPath, [bin, ...argv], { env, cwd: root });
    expect(done.status).toBe(0);
    return readdirSync(folder).flatMap((name) => {
      const report = JSON.parse(readFileSync(join(folder, name), 'utf8')) as {
        result: { url: string }[];
      };
      return report.result.map(({ url }) => url).filter((url) => url.startsWith('file:'));
    });
  }
  const heavy = /packages\/core|node_modules/;

  test('help and version load neither the core nor any library', () => {
    for (const argv of [['--help'], ['--version'], ['plan', '--help'], ['traveller', '-h']]) {
      const modules = loadedBy(...argv);
      expect(modules.some((url) => url.includes('packages/cli/dist/main.js'))).toBe(true);
      expect(modules.filter((url) => heavy.test(url))).toEqual([]);
    }
  });

  test('a plan loads no PDF writer', () => {
    const modules = loadedBy('plan', 'starter');
    expect(modules.some((url) => url.includes('csv-parse'))).toBe(true);
    expect(modules.filter((url) => /pdfkit|fontkit/.test(url))).toEqual([]);
  });
});
