// Meshes of growing size: time a triangle of reading, checking and measuring, and memory at five
// million triangles. Figures are medians of three runs in processor time, so that other work on the
// machine does not count.
import { fileURLToPath } from 'node:url';
import { massProperties, sectionsAt } from '../../packages/core/dist/bundle/index.js';
import { readMesh } from '../../packages/core/dist/bundle/mesh-file.js';
import { meshEdges } from '../../packages/core/dist/geometry/edges.js';
import { facingAreas } from '../../packages/core/dist/geometry/facing.js';
import { shellMap } from '../../packages/core/dist/geometry/shells.js';
import { measureThickness } from '../../packages/core/dist/geometry/thickness.js';
import { triangleTree } from '../../packages/core/dist/geometry/triangle-tree.js';

/** Binary STL of a torus whose skin is waved, `n` by `n` squares. */
function wavedTorus(n) {
  const count = 2 * n * n;
  const bytes = new Uint8Array(84 + 50 * count);
  const view = new DataView(bytes.buffer);
  view.setUint32(80, count, true);
  const corner = (i, j) => {
    const u = (2 * Math.PI * (i % n)) / n;
    const v = (2 * Math.PI * (j % n)) / n;
    const tube = 20 + Math.sin(9 * u) * Math.cos(7 * v);
    const r = 50 + tube * Math.cos(v);
    return [r * Math.cos(u), r * Math.sin(u), tube * Math.sin(v)];
  };
  let at = 84;
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      const [a, b, c, d] = [corner(i, j), corner(i + 1, j), corner(i + 1, j + 1), corner(i, j + 1)];
      for (const three of [
        [a, b, c],
        [a, c, d],
      ]) {
        for (const [k, value] of three.flat().entries())
          view.setFloat32(at + 12 + 4 * k, value, true);
        at += 50;
      }
    }
  return bytes;
}

const steps = {
  read: (state) => {
    state.mesh = readMesh(state.bytes).mesh;
  },
  edges: (state) => {
    state.edges = meshEdges(state.mesh);
  },
  mass: ({ mesh }) => massProperties(mesh),
  sections: ({ mesh }) =>
    sectionsAt(
      mesh,
      Array.from({ length: 50 }, (_, k) => -20 + 0.8 * k),
    ),
  facing: ({ mesh }) => facingAreas(mesh),
  shells: ({ mesh, edges }) => shellMap(mesh, edges),
  tree: (state) => {
    state.tree = triangleTree(state.mesh);
  },
  thickness: ({ tree }) => measureThickness(tree),
};
const first = ['read', 'edges', 'mass', 'sections'];

const median = (values) => [...values].sort((a, b) => a - b)[values.length >> 1];

function measure(n) {
  const state = { bytes: wavedTorus(n) };
  const seconds = {};
  for (const [name, step] of Object.entries(steps)) {
    const times = [];
    for (let turn = 0; turn < 3; turn++) {
      const start = process.cpuUsage();
      step(state);
      const { user, system } = process.cpuUsage(start);
      times.push((user + system) / 1e6);
    }
    seconds[name] = median(times);
  }
  return seconds;
}

if (process.argv[2] === 'memory') {
  // one run alone in its process: what it needs at its highest
  const bytes = wavedTorus(1581);
  const { mesh } = readMesh(bytes);
  meshEdges(mesh);
  massProperties(mesh);
  sectionsAt(mesh, [0]);
  console.log(process.resourceUsage().maxRSS / 1024);
} else {
  const { spawnSync } = await import('node:child_process');
  const sizes = [250, 500, 1000, 1581];
  const rows = sizes.map((n) => [2 * n * n, measure(n)]);
  console.log(
    `${'triangles'.padStart(10)}  ${Object.keys(steps)
      .map((name) => name.padStart(9))
      .join('')}   ns a triangle`,
  );
  for (const [count, seconds] of rows)
    console.log(
      `${String(count).padStart(10)}  ${Object.values(seconds)
        .map((s) => ((s * 1e9) / count).toFixed(0).padStart(9))
        .join('')}`,
    );
  const [, largest] = rows[rows.length - 1];
  const [count, middle] = rows[2];
  const sum = (seconds) => first.reduce((total, name) => total + seconds[name], 0);
  const self = fileURLToPath(import.meta.url);
  const memory = Number(spawnSync(process.execPath, [self, 'memory']).stdout.toString());
  console.log(
    `5 million triangles: ${first.join(', ')} ${sum(largest).toFixed(2)} s (wanted under 3), ${memory.toFixed(0)} MB at most (wanted under 1000, of which the file is 238)`,
  );
  console.log(
    `time a triangle at 5 million over 2 million: ${(sum(largest) / 4999122 / (sum(middle) / count)).toFixed(2)}`,
  );
}
