// Drawing sheets, on the built packages: a whole pack of the demo bracket, pages a second against the
// number of pages, and the memory that stays live after many pages were drawn (the script starts itself
// anew with --expose-gc for that).
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

if (globalThis.gc === undefined) {
  const again = [...process.execArgv, '--expose-gc', fileURLToPath(import.meta.url)];
  process.exit(spawnSync(process.execPath, again, { stdio: 'inherit' }).status ?? 1);
}

const root = new URL('../../', import.meta.url);
const { writeSheetPdf } = await import(
  new URL('packages/cli/dist/write/pdf/sheet-pdf.js', root).href
);
const createdOn = new Date('2027-01-04T00:00:00Z');

/** CPU and wall time of an asynchronous call, ms. */
async function timed(work) {
  const cpu = process.cpuUsage();
  const wall = performance.now();
  const value = await work();
  const used = process.cpuUsage(cpu);
  return { value, cpu: (used.user + used.system) / 1000, wall: performance.now() - wall };
}

function sheetOf(operations) {
  return {
    schema: 'sheet/1',
    kind: 'traveller',
    format: 'A4',
    title: 'Traveller',
    subject: 'Bench part',
    identity: 'B-1-A',
    footNote: 'Traveller',
    header: [{ label: 'Part number', value: 'B-1' }],
    blocks: Array.from({ length: operations }, (_, index) => ({
      type: 'operation',
      number: 10 * (index + 1),
      title: `Step ${index + 1} of many`,
      workCentre: 'Turning centre',
      blocks: [
        { type: 'fields', across: 4, fields: [{ label: 'Set-up time', value: '20 min' }] },
        {
          type: 'list',
          title: 'Why this operation',
          items: ['Turning holds the grade that bore B1 asks for'],
        },
        {
          type: 'table',
          title: 'Working dimensions, mm',
          columns: [
            { title: 'Feature', align: 'left' },
            { title: 'Least', align: 'decimal' },
            { title: 'Most', align: 'decimal' },
            { title: 'Found', align: 'left', entryWidthMm: 17 },
          ],
          rows: Array.from({ length: 6 }, (_row, row) => [`B${row}`, '25.002', '25.019', '']),
        },
        {
          type: 'sign-off',
          boxes: ['Done by', 'Date', 'Good', 'Rejected'],
          code: `B-1/${index}/A`,
        },
      ],
    })),
  };
}

const columns = [
  ['operations', 10],
  ['pages', 6],
  ['cpu ms', 8],
  ['ms a page', 10],
  ['pages a s', 10],
  ['file kB', 8],
  ['kB live after', 14],
];
const line = (cells) => cells.map((cell, i) => String(cell).padStart(columns[i][1])).join(' ');
const live = () => {
  globalThis.gc();
  return process.memoryUsage().heapUsed / 1024;
};

async function drawn(operations) {
  const { value, cpu } = await timed(() => writeSheetPdf(sheetOf(operations), { createdOn }));
  return { cpu, pages: value.pages, size: value.bytes.length / 1024 };
}

await writeSheetPdf(sheetOf(3), { createdOn });
const before = live();
console.log(line(columns.map(([name]) => name)));
for (const operations of [10, 30, 100, 300, 1000]) {
  const { cpu, pages, size } = await drawn(operations);
  await new Promise((resolve) => setTimeout(resolve, 20));
  console.log(
    line([
      operations,
      pages,
      cpu.toFixed(0),
      (cpu / pages).toFixed(1),
      ((1000 * pages) / cpu).toFixed(0),
      size.toFixed(0),
      (live() - before).toFixed(0),
    ]),
  );
}

const { run } = await import(new URL('packages/cli/dist/main.js', root).href);
const { writeFiles } = await import(new URL('packages/cli/dist/write/write-files.js', root).href);
const folder = mkdtempSync(join(tmpdir(), 'offplate-bench-'));
const quiet = { isTerminal: false, write: async () => undefined };
const failed = { isTerminal: false, write: async (chunk) => void said.push(String(chunk)) };
const said = [];
const io = {
  stdout: quiet,
  stderr: failed,
  stdinIsTerminal: false,
  readStdin: async () => new Uint8Array(),
  stdinChunks: async function* () {},
  env: {},
  writeFiles,
};
const job = fileURLToPath(new URL('data/demo/probe-bracket', root));
const pack = (name) => timed(() => run(['pack', job, '--out', join(folder, name)], io));
const planned = await timed(() => run(['plan', job, '--json'], io));
const first = await pack('first');
const second = await pack('second');
const again = await timed(() => run(['plan', job, '--json'], io));
rmSync(folder, { recursive: true });
const text = ({ cpu, wall }) => `${cpu.toFixed(0)} ms cpu, ${wall.toFixed(0)} ms wall`;
console.log(`\nplan alone, first in the process: ${text(planned)}`);
console.log(`pack of the demo bracket, plan and all sheets: ${text(first)}; again ${text(second)}`);
const drawing = second.cpu - again.cpu;
console.log(`of the latter, all but the plan: ${drawing.toFixed(0)} ms cpu`);
if (first.value !== 0 || second.value !== 0) {
  console.log(said.join(''));
  process.exit(1);
}
