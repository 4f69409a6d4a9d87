// Makes the mesh of the demo part `seal-carrier`: the printed model as it stands on the plate, in mm.
import { writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import initManifold from 'manifold-3d';
import { writeStl } from '../packages/core/dist/index.js';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const library = await initManifold();
library.setup();
const { Manifold } = library;

const segments = 64;
const upright = (diameter, from, to, x = 0, y = 0) =>
  Manifold.cylinder(to - from, diameter / 2, diameter / 2, segments).translate([x, y, from]);
/** A hole from the +x side towards the axis. */
const port = (diameter, z, depth) =>
  Manifold.cylinder(depth, diameter / 2, diameter / 2, segments)
    .rotate([0, 90, 0])
    .translate([40 - depth, 0, z]);

const plate = Manifold.cube([80, 60, 10]).translate([-40, -30, 0]);
const neck = upright(40, 9, 40);
const collar = upright(52, 34, 40);
// the boss of the port grows out of the neck at 45 deg, so it carries itself
const boss = Manifold.hull([
  Manifold.cube([20, 16, 14]).translate([10, -8, 14]),
  Manifold.cube([15, 16, 4]).translate([10, -8, 9]),
]);
const corners = [
  [-32, -22],
  [-32, 22],
  [32, -22],
  [32, 22],
];
const part = Manifold.union([plate, neck, collar, boss])
  .subtract(upright(25, -1, 41))
  .subtract(upright(32, 34, 41))
  .subtract(Manifold.union(corners.map(([x, y]) => upright(6.6, -1, 11, x, y))))
  .subtract(port(8, 21, 30));

const { vertProperties, triVerts } = part.getMesh();
const bytes = writeStl({
  positionsMm: Float64Array.from(vertProperties, (value) => Math.round(value * 1e5) / 1e5),
  triangles: Uint32Array.from(triVerts),
});
const path = join(root, 'data/demo/seal-carrier/part.stl');
writeFileSync(path, bytes);
console.log(`${path}: ${triVerts.length / 3} triangles, ${bytes.length} bytes`);
