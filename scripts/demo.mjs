// Plans a demo job and writes its plan and its traveller to out/. Run `pnpm demo`: it builds first.
import { mkdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';
import { run } from '../packages/cli/dist/main.js';
import { nodeIo } from '../packages/cli/dist/node-io.js';

const demoJob = 'pressure-manifold';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const job = join(root, 'data', 'demo', demoJob);
const out = join(root, 'out');
const pathOf = (ending) => join(out, `${demoJob}${ending}`);
mkdirSync(out, { recursive: true });

const results = [
  ['plan to read', '.txt', ['plan', job, '--why', '--dimensions']],
  ['plan as data', '.json', ['plan', job, '--json']],
  ['traveller for the shop floor', '.pdf', ['traveller', job]],
];
const io = nodeIo();
const quiet = { ...io, stderr: { ...io.stderr, write: async () => undefined } };
const written = [];
for (const [what, ending, argv] of results) {
  const code = await run([...argv, '--out', pathOf(ending), '--force'], quiet);
  if (code !== 0) {
    // once more for its messages
    process.exit(await run([...argv, '--out', pathOf(ending), '--force'], io));
  }
  written.push(`${what}: ${relative(process.cwd(), pathOf(ending))}`);
}
process.stdout.write(readFileSync(pathOf('.txt'), 'utf8'));
process.stdout.write(`\n${written.join('\n')}\n`);
