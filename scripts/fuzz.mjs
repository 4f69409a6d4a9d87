// Feeds damaged inputs to every reader of the built packages: `node scripts/fuzz.mjs [inputs] [seed]`.
// Prints what each reader did; fails at a crash, at an input that takes over a second, at a changed
// prototype. An input that fails is written to out/fuzz and named by reader, seed and number.
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import process from 'node:process';
import { pickFrom } from '../test/fuzz/mutate.mjs';
import { readers } from '../test/fuzz/readers.mjs';
import { root } from './pack.mjs';

const total = Number(process.argv[2] ?? 100_000);
const seed = Number(process.argv[3] ?? 20_261_125);
const load = (path) => import(new URL(`../packages/${path}`, import.meta.url).href);
const modules = {
  core: await load('core/dist/bundle/index.js'),
  expression: await load('core/dist/bundle/expression.js'),
  meshFile: await load('core/dist/bundle/mesh-file.js'),
  csvCells: await load('cli/dist/read/csv-cells.js'),
  csvWriter: await load('cli/dist/write/csv/csv.js'),
  decode: await load('cli/dist/read/decode-text.js'),
  featureFile: await load('cli/dist/read/feature-file.js'),
};
const all = readers(modules);
const weights = all.reduce((sum, { weight }) => sum + weight, 0);
const clean = prototypes();
let failures = 0;
let shown = 0;
console.log(`${total} inputs, seed ${seed}, node ${process.version}`);
console.log('reader              inputs  accepted  crashes  over 1 s  slowest ms');
for (const [index, reader] of all.entries()) {
  const count = Math.ceil((total * reader.weight) / weights);
  const found = { accepted: 0, crashes: 0, slow: 0, slowest: 0 };
  for (let number = 0; number < count; number++) {
    const input = reader.make(pickFrom(seed + 1_000_003 * index + number));
    const cpu = process.cpuUsage();
    try {
      if (reader.read(input)) found.accepted += 1;
    } catch (error) {
      found.crashes += 1;
      keep(reader, number, input, error);
    }
    // processor time: a busy machine makes no hang
    const { user, system } = process.cpuUsage(cpu);
    const milliseconds = (user + system) / 1000;
    if (milliseconds > found.slowest) found.slowest = milliseconds;
    if (milliseconds > 1000) {
      found.slow += 1;
      keep(reader, number, input, new Error(`took ${milliseconds} ms`));
    }
  }
  if (prototypes() !== clean) {
    found.crashes += 1;
    console.error(`${reader.name} changed a prototype`);
  }
  failures += found.crashes + found.slow;
  console.log(
    reader.name.padEnd(16),
    String(count).padStart(9),
    `${((100 * found.accepted) / count).toFixed(1)} %`.padStart(9),
    String(found.crashes).padStart(8),
    String(found.slow).padStart(9),
    found.slowest.toFixed(0).padStart(11),
  );
}
const peak = Math.round(process.resourceUsage().maxRSS / 1024);
console.log(`${failures} failures, peak memory ${peak} MB`);
process.exit(failures === 0 ? 0 : 1);

function keep({ name }, number, input, error) {
  const folder = join(root, 'out', 'fuzz');
  mkdirSync(folder, { recursive: true });
  const file = join(folder, `${name.replaceAll(' ', '-')}-${seed}-${number}`);
  writeFileSync(file, input);
  shown += 1;
  if (shown <= 10) console.error(`${name}: ${error.stack}\n  input in ${file}`);
}

function prototypes() {
  return [Object, Array, String, Number, Function]
    .map(({ prototype }) => Object.getOwnPropertyNames(prototype).sort().join())
    .join(';');
}
