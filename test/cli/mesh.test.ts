import {
  copyFileSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { boxMesh, type MeshReport, type Plan, writeStl } from '@offplate/core';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { afterAll, describe, expect, test } from 'vitest';
import { insideOut, joined, shifted } from '../fixtures/meshes.js';
import { file3mf, meshXml, modelXml } from '../fixtures/model-3mf.js';
import { runFake } from './fake-io.js';

const root = mkdtempSync(join(tmpdir(), 'offplate-mesh-'));
const at = (...names: string[]): string => join(root, ...names);
afterAll(() => rmSync(root, { recursive: true }));

const demo = new URL('../../data/demo/seal-carrier/', import.meta.url).pathname;

/** A job in a folder of its own, with a mesh beside it. */
function jobWith(name: string, geometry: object, mesh: Uint8Array, meshName = 'part.stl'): string {
  const folder = at(name);
  mkdirSync(folder);
  writeFileSync(join(folder, meshName), mesh);
  writeFileSync(
    join(folder, 'job.json'),
    JSON.stringify({
      schemaVersion: 'job/1',
      part: {
        name: 'Block',
        number: 'B-1',
        revision: 'A',
        material: 's31603',
        printer: 'pbf-lb',
        endUse: 'static',
      },
      geometry: { mesh: meshName, ...geometry },
      order: { quantity: 4, currency: 'EUR' },
      features: [
        {
          id: 'P1',
          kind: 'plane',
          size: '10 ±0.1',
          length: 40,
          width: 20,
          facing: 'up',
          access: ['+z'],
        },
      ],
    }),
  );
  return folder;
}

/** @param wanted exit code: 1 when powder that cannot come out stands against every route */
async function planned(folder: string, wanted = 0): Promise<Plan> {
  const { code, stdout, stderr } = await runFake(['plan', folder, '--json']);
  expect([code, stderr]).toEqual([wanted, '']);
  return JSON.parse(stdout) as Plan;
}

const fromMesh = ({ assumptions }: Plan): Readonly<Record<string, string>> =>
  Object.fromEntries(
    assumptions
      .filter(({ source }) => source.startsWith('mesh '))
      .map(({ what, value }) => [what, value]),
  );

describe('offplate mesh', () => {
  test('measures the demo part', async () => {
    const { code, stdout, stderr } = await runFake(['mesh', join(demo, 'part.stl')], {
      columns: 100,
    });
    expect([code, stderr]).toEqual([0, '']);
    expect(stdout).toContain('STL, binary · 2384 triangles · closed · 1 skin');
    expect(stdout).toMatch(/box +80 x 60 x 40 +mm/);
    expect(stdout).toMatch(/thinnest wall +3\.00 +mm/);
    expect(stdout).toMatch(/B4 +bore +through hole +4 +6\.6 +10 +up +\+z -z/);
    for (const line of stdout.split('\n')) expect(line.length).toBeLessThanOrEqual(100);
  });
  test('as JSON by its published schema', async () => {
    const { code, stdout } = await runFake(['mesh', join(demo, 'part.stl'), '--json']);
    expect(code).toBe(0);
    const report = JSON.parse(stdout) as MeshReport;
    const schema = JSON.parse(
      readFileSync(new URL('../../schema/mesh-report.schema.json', import.meta.url), 'utf8'),
    ) as object;
    const validate = new Ajv2020({ strict: false }).compile(schema);
    expect(validate(report), JSON.stringify(validate.errors)).toBe(true);
    expect(report.part.boxMm).toEqual([80, 60, 40]);
    // flange 80 x 60 less the passage and four holes, as polygons of 64 sides
    const disc = (d: number): number => 32 * (d / 2) ** 2 * Math.sin((2 * Math.PI) / 64);
    expect(report.part.plateSection.areaMm2).toBeCloseTo(4800 - disc(25) - 4 * disc(6.6), 1);
  });
  test('inches, and a 3MF file', async () => {
    writeFileSync(at('inch.stl'), writeStl(boxMesh(1, 2, 3)));
    const { stdout } = await runFake(['mesh', at('inch.stl'), '--units', 'in', '--json']);
    expect((JSON.parse(stdout) as MeshReport).part.boxMm[2]).toBeCloseTo(76.2, 9);
    const model = modelXml(
      `<object id="1">${meshXml(boxMesh(1, 2, 3))}</object>`,
      '<item objectid="1"/>',
      'unit="inch"',
    );
    writeFileSync(at('inch.3mf'), file3mf(model));
    const second = await runFake(['mesh', at('inch.3mf'), '--json']);
    expect((JSON.parse(second.stdout) as MeshReport).part.boxMm[2]).toBeCloseTo(76.2, 9);
  });
  test('a damaged file ends with 3 and says where', async () => {
    writeFileSync(at('short.stl'), writeStl(boxMesh(1, 2, 3)).slice(0, 500));
    const { code, stdout, stderr } = await runFake(['mesh', at('short.stl')]);
    expect([code, stdout]).toEqual([3, '']);
    expect(stderr).toContain('12 facets in 500 bytes');
  });
  test('no such file', async () => {
    const { code, stderr } = await runFake(['mesh', at('none.stl')]);
    expect(code).toBeGreaterThan(0);
    expect(stderr).toContain('there is no such file or folder');
  });
});

describe('a job with a mesh', () => {
  test('is planned with the figures of the mesh, each said to be so', async () => {
    const plan = await planned(demo);
    expect(plan.feasible).toBe(true);
    expect(Object.keys(fromMesh(plan)).sort()).toEqual([
      'box of the part',
      'plate section',
      'supports',
      'surface area',
      'thickest section',
      'thinnest wall',
      'volume',
    ]);
    expect(fromMesh(plan)['box of the part']).toBe('80 x 60 x 40 mm');
    expect(
      plan.assumptions.some(
        ({ confidence, source }) => confidence === 'computed' && source === 'mesh part.stl',
      ),
    ).toBe(true);
    expect(plan.job.boxMm).toEqual([80, 60, 40]);
    expect(plan.operations.some(({ process }) => process.startsWith('support-removal'))).toBe(true);
  });
  test('costs the same as one that gives the same figures', async () => {
    const mesh = writeStl(boxMesh(40, 20, 10));
    const supports = { latticeArea: 0, solidArea: 0 };
    const given = {
      volume: 8000,
      surfaceArea: 2800,
      box: [40, 20, 10],
      plateSection: 800,
      thickestSection: 10,
      thinnestWall: 10,
      trappedPowder: 'none',
      supports,
    };
    const one = await planned(jobWith('measured', { trappedPowder: 'none', supports }, mesh));
    const other = await planned(jobWith('given', given, mesh));
    expect(fromMesh(one)).toMatchObject({
      volume: '8000 mm3',
      'surface area': '2800 mm2',
      'thickest section': '10 mm',
    });
    expect(fromMesh(other)).toEqual({});
    expect(one.cost.perLot).toBeGreaterThan(0);
    expect(one.cost.perLot).toBe(other.cost.perLot);
    expect(one.findings.filter(({ id }) => id === 'mesh-disagrees')).toEqual([]);
  });
  test('what the job says stays, and a difference is said', async () => {
    const mesh = writeStl(boxMesh(40, 20, 10));
    const plan = await planned(
      jobWith('differs', { volume: 7000, box: [40, 20, 10], supports: {} }, mesh),
    );
    const said = plan.findings
      .filter(({ id }) => id === 'mesh-disagrees')
      .map(({ message }) => message);
    expect(said).toEqual([
      "volume: the job says 7000 mm3, the mesh has 8000 mm3; the job's value is used",
    ]);
    expect(fromMesh(plan).volume).toBeUndefined();
    const close = await planned(jobWith('close', { volume: 7900 }, mesh));
    expect(close.findings.filter(({ id }) => id === 'mesh-disagrees')).toEqual([]);
  });
  test('a closed room is trapped powder', async () => {
    const hollow = joined(boxMesh(40, 20, 10), insideOut(shifted(boxMesh(4, 4, 4), [10, 10, 3])));
    const plan = await planned(jobWith('hollow', {}, writeStl(hollow)), 1);
    expect(plan.findings.map(({ id }) => id)).toContain('mesh-closed-cavity');
    expect(fromMesh(plan)['trapped powder']).toBe('1 closed in');
    const denied = await planned(jobWith('denied', { trappedPowder: 'none' }, writeStl(hollow)));
    expect(denied.findings.find(({ id }) => id === 'mesh-disagrees')?.message).toContain(
      'the job says none',
    );
  });
  test('a skin with gaps gives no volume', async () => {
    const box = boxMesh(40, 20, 10);
    const open = { ...box, triangles: box.triangles.slice(0, 33) };
    const plan = await planned(jobWith('open', {}, writeStl(open)));
    expect(fromMesh(plan).volume).toBeUndefined();
    expect(fromMesh(plan)['box of the part']).toBe('40 x 20 x 10 mm');
    expect(plan.findings.map(({ id }) => id)).toContain('mesh-open');
  });
  test('a mesh that is not there, that is none, or that lies outside', async () => {
    const bad = jobWith('bad', {}, new TextEncoder().encode('solid\nfacet abnormal'));
    const { code, stderr } = await runFake(['plan', bad]);
    expect([code, stderr]).toEqual([
      3,
      expect.stringContaining('part.stl:2: a word is out of place'),
    ]);
    rmSync(join(bad, 'part.stl'));
    expect((await runFake(['plan', bad])).stderr).toContain('there is no such file or folder');
    copyFileSync(join(demo, 'part.stl'), at('outside.stl'));
    symlinkSync(at('outside.stl'), join(bad, 'part.stl'));
    expect((await runFake(['plan', bad])).stderr).toContain('the file lies outside the folder');
  });
  test.each(['../part.stl', '/part.stl', 'a/../part.stl', 'part.step', 'c:part.stl'])(
    'the name %s is refused',
    async (mesh) => {
      const folder = at(`name-${Math.abs(hash(mesh))}`);
      mkdirSync(folder);
      const text = readFileSync(join(demo, 'job.json'), 'utf8').replace('part.stl"', `${mesh}"`);
      writeFileSync(join(folder, 'job.json'), text);
      copyFileSync(join(demo, 'features.csv'), join(folder, 'features.csv'));
      const { code, stderr } = await runFake(['plan', folder]);
      expect([code, stderr]).toEqual([3, expect.stringContaining('geometry.mesh')]);
    },
  );
  test('from the standard input there is no folder', async () => {
    const job = readFileSync(join(at('measured'), 'job.json'));
    const { code, stderr } = await runFake(['plan', '-'], { stdin: job });
    expect([code, stderr]).toEqual([
      3,
      expect.stringContaining('no folder in which its mesh could lie'),
    ]);
  });
});

describe('new --mesh', () => {
  test('writes a job with the faces of the part, which plans as it is', async () => {
    const folder = at('begun');
    const { code, stderr } = await runFake(['new', folder, '--mesh', join(demo, 'part.stl')]);
    expect([code, stderr]).toEqual([0, expect.stringContaining('next: offplate plan')]);
    expect(readFileSync(join(folder, 'part.stl'))).toEqual(readFileSync(join(demo, 'part.stl')));
    const rows = readFileSync(join(folder, 'features.csv'), 'utf8').split('\n');
    expect(rows[0]).toMatch(/^id,kind,name,count,size,Ra,/);
    expect(rows.find((row) => row.startsWith('B4,'))).toMatch(/^B4,bore,through hole,4,6\.6,/);
    expect(rows.find((row) => row.startsWith('P4,'))).toContain(',yes,');
    const plan = await planned(folder);
    expect(plan.feasible).toBe(true);
    expect(fromMesh(plan)['box of the part']).toBe('80 x 60 x 40 mm');
  });
  test('keeps the unit of an STL', async () => {
    const folder = at('inches');
    writeFileSync(at('small.stl'), writeStl(boxMesh(1, 2, 3)));
    await runFake(['new', folder, '--mesh', at('small.stl'), '--mesh-units', 'in']);
    expect(fromMesh(await planned(folder))['box of the part']).toBe('25.4 x 50.8 x 76.2 mm');
  });
  test('a file that is no mesh writes nothing', async () => {
    const { code, stderr } = await runFake([
      'new',
      at('nothing'),
      '--mesh',
      join(demo, 'job.json'),
    ]);
    expect([code, stderr]).toEqual([3, expect.stringContaining('STL (binary or text) or 3MF')]);
    expect(() => readFileSync(at('nothing', 'job.json'))).toThrow('ENOENT');
  });
});

function hash(text: string): number {
  return [...text].reduce((sum, letter) => (sum * 31 + letter.charCodeAt(0)) | 0, 7);
}
