// Packs both packages, installs the archives in an empty folder and runs test/consumers there.
// `--no-browser` leaves out what needs a browser.
import { spawn, spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { tmpdir } from 'node:os';
import { extname, join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { parse } from 'csv-parse/sync';
import { build as esbuild } from 'esbuild';
import { packPackages, pnpm, root } from './pack.mjs';

const folder = mkdtempSync(join(tmpdir(), 'offplate-consumers-'));
const at = (...names) => join(folder, ...names);
const chromium = process.env.CHROMIUM ?? '/usr/bin/chromium';
let failed = 0;

try {
  install();
  writeFileSync(at('demo-source.json'), JSON.stringify(demoSource()));
  let plan = '';
  await step('node esm', () => {
    plan = node('node-esm/main.mjs', 'demo-source.json');
    const { feasible, operations } = JSON.parse(plan);
    expect(feasible && operations.length > 5, 'the demo job is planned');
  });
  await step('stack only', () => node('stack-only/main.mjs'));
  for (const kind of ['nodenext', 'bundler'])
    await step(`types, ${kind}`, () =>
      run(join(root, 'node_modules/typescript/bin/tsc'), '-p', `types/tsconfig.${kind}.json`),
    );
  await step('command', () => {
    const bin = 'node_modules/@offplate/cli/bin/offplate.mjs';
    expect(node(bin, 'limits', '25 H7').includes('25.021'), 'it knows 25 H7');
    node(bin, 'new', 'starter');
    node(bin, 'traveller', 'starter', '--out', 'starter.pdf');
    expect(readFileSync(at('starter.pdf'), 'latin1').startsWith('%PDF-'), 'it writes a PDF');
  });
  await step('http server', testServer);
  await step('bundle sizes', checkBudgets);
  if (!process.argv.includes('--no-browser')) await testBrowser(plan);
} finally {
  rmSync(folder, { recursive: true, force: true });
}
process.exit(failed === 0 ? 0 : 1);

function install() {
  const archives = packPackages(at('archives'));
  const dependencies = {
    '@offplate/core': `file:${archives.core}`,
    '@offplate/cli': `file:${archives.cli}`,
  };
  const description = { name: 'consumers', private: true, type: 'module', dependencies };
  writeFileSync(at('package.json'), JSON.stringify(description));
  writeFileSync(
    at('pnpm-workspace.yaml'),
    `overrides:\n  '@offplate/core': 'file:${archives.core}'\n`,
  );
  pnpm(folder, 'install', '--prefer-offline', '--ignore-scripts');
  cpSync(join(root, 'test/consumers'), folder, { recursive: true });
}

/** What `readJob` takes, for the demo job: its text and the cells of its features table. */
function demoSource() {
  const demo = join(root, 'data/demo/probe-bracket');
  const [header, ...cells] = parse(readFileSync(join(demo, 'features.csv'), 'utf8'));
  const rows = cells.map((row, index) => ({ line: index + 2, cells: row }));
  const json = readFileSync(join(demo, 'job.json'), 'utf8');
  const rest = { headerLine: 1, decimalComma: false, problems: [], findings: [] };
  return { json, featureTable: { file: 'features.csv', header, rows, ...rest } };
}

async function step(name, work) {
  const started = performance.now();
  try {
    const remark = await work();
    const seconds = ((performance.now() - started) / 1000).toFixed(1);
    console.log(
      `ok    ${name} (${seconds} s)${typeof remark === 'string' && remark.startsWith('\n') ? remark : ''}`,
    );
  } catch (error) {
    failed += 1;
    console.error(`FAIL  ${name}: ${error.message}`);
  }
}

function expect(holds, what) {
  if (!holds) throw new Error(`does not hold: ${what}`);
}

function run(script, ...args) {
  const done = spawnSync(process.execPath, [script, ...args], {
    cwd: folder,
    encoding: 'utf8',
    maxBuffer: 64_000_000,
  });
  if (done.status !== 0)
    throw new Error(`${script} ${args.join(' ')}\n${done.stdout}${done.stderr}`);
  return done.stdout;
}

function node(file, ...args) {
  return run(at(file), ...args);
}

async function testServer() {
  const good = inlineJob();
  await withServer({}, async (post) => {
    const { status, body } = await post(good);
    expect(status === 200 && body.plan.operations.length > 3, `a plan comes back, not ${status}`);
    const bad = await post('{"part":1}');
    expect(bad.status === 422 && bad.body.problems.length > 2, 'problems come back');
    expect((await post('x'.repeat(1_500_000))).status === 413, 'a long body is refused');
    expect((await post(good)).status === 200, 'and it still plans');
  });
  await withServer({ MAX_MILLISECONDS: '1' }, async (post) => {
    expect((await post(good)).status === 504, 'a plan that takes too long is stopped');
  });
}

function inlineJob() {
  const part = { name: 'Bracket', number: 'SB-1', revision: 'A', material: 's17400' };
  return JSON.stringify({
    schemaVersion: 'job/1',
    part: { ...part, printer: 'pbf-lb', endUse: 'static' },
    geometry: {
      volume: '21.5 cm3',
      surfaceArea: '118 cm2',
      box: [62, 40, 28],
      plateSection: '14.5 cm2',
      thickestSection: 12,
      supports: { latticeArea: 320 },
    },
    order: { quantity: 12, currency: 'EUR' },
    features: [{ id: 'B1', kind: 'bore', size: '12 H7', ra: 1.6, depth: 18, access: ['+z'] }],
  });
}

async function withServer(env, work) {
  const server = spawn(process.execPath, [at('http-server/server.mjs')], {
    cwd: folder,
    env: { ...process.env, ...env },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  try {
    const port = await new Promise((resolve, reject) => {
      server.stdout.once('data', (text) => resolve(Number(text)));
      server.once('exit', () => reject(new Error('the server ended')));
    });
    await work(async (body) => {
      const response = await fetch(`http://127.0.0.1:${port}/`, { method: 'POST', body });
      return { status: response.status, body: await response.json() };
    });
  } finally {
    server.kill();
  }
}

async function checkBudgets() {
  const { bundles } = JSON.parse(readFileSync(at('budgets.json'), 'utf8'));
  const lines = [];
  for (const { name, code, maxGzipKilobytes, without = [] } of bundles) {
    const { outputFiles, metafile } = await esbuild({
      stdin: { contents: code, resolveDir: folder },
      bundle: true,
      minify: true,
      format: 'esm',
      write: false,
      metafile: true,
    });
    const [{ contents }] = outputFiles;
    const gzip = Math.ceil(gzipSync(contents, { level: 9 }).length / 1000);
    const plain = Math.ceil(contents.length / 1000);
    lines.push(`\n      ${name}: ${plain} kB, ${gzip} kB gzip (at most ${maxGzipKilobytes})`);
    const inputs = Object.keys(metafile.inputs);
    const spare = inputs.filter((path) => without.some((part) => path.includes(part)));
    expect(spare.length === 0, `${name} loads no ${spare.join(', ')}`);
    expect(gzip <= maxGzipKilobytes, `${name} has ${gzip} kB gzip, at most ${maxGzipKilobytes}`);
  }
  return lines.join('');
}

async function testBrowser(plan) {
  if (!existsSync(chromium)) {
    failed += 1;
    console.error(`FAIL  browser: no ${chromium} (apt-get install chromium, or CHROMIUM=<path>)`);
    return;
  }
  const [{ chromium: launcher }, vite] = await Promise.all([
    import('playwright-core'),
    import('vite'),
  ]);
  await step('bundle by esbuild', async () => {
    await esbuild({
      entryPoints: [at('browser/main.js'), at('browser/worker.js')],
      bundle: true,
      minify: true,
      format: 'esm',
      target: 'es2022',
      outdir: at('by-esbuild'),
    });
    cpSync(at('browser/index.html'), at('by-esbuild/index.html'));
  });
  await step('bundle by vite', () =>
    vite.build({
      root: at('browser'),
      base: './',
      logLevel: 'error',
      worker: { format: 'es' },
      build: { outDir: at('by-vite'), emptyOutDir: true },
    }),
  );
  const browser = await launcher.launch({ executablePath: chromium, args: ['--no-sandbox'] });
  try {
    for (const name of ['by-esbuild', 'by-vite']) {
      cpSync(at('demo-source.json'), at(name, 'demo-source.json'));
      await step(`page and worker, ${name}`, () => testPage(browser, at(name), plan));
    }
  } finally {
    await browser.close();
  }
}

/** The page may run its own scripts only, no text as code; its plans are those of Node, byte by byte. */
async function testPage(browser, site, plan) {
  const types = { '.html': 'text/html', '.js': 'text/javascript', '.json': 'application/json' };
  const server = createServer((request, response) => {
    const { pathname } = new URL(request.url ?? '/', 'http://localhost');
    const file = join(site, pathname === '/' ? 'index.html' : pathname);
    if (!existsSync(file)) return response.writeHead(404).end();
    response.writeHead(200, {
      'content-type': types[extname(file)] ?? 'application/octet-stream',
      'content-security-policy': "default-src 'self'",
    });
    response.end(readFileSync(file));
  });
  await new Promise((resolve) => server.listen(0, '127.0.0.1', resolve));
  const page = await browser.newPage();
  const messages = [];
  page.on('pageerror', (error) => messages.push(error.message));
  page.on('console', (message) => messages.push(message.text()));
  try {
    await page.goto(`http://127.0.0.1:${server.address().port}/`);
    await page.waitForFunction(() => globalThis.plans !== undefined, undefined, {
      timeout: 60_000,
    });
    const plans = await page.evaluate(() => globalThis.plans);
    expect(plans.page === plan, 'the plan of the page is that of Node');
    expect(plans.worker === plan, `the plan of the worker is that of Node ${plans.failed ?? ''}`);
  } catch (error) {
    throw new Error([error.message, ...messages].join('\n'));
  } finally {
    await page.close();
    server.close();
  }
}
