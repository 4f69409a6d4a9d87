// Every reader of untrusted input, with seeds and with what must hold of whatever it is given.
import { readdirSync, readFileSync } from 'node:fs';
import { mutateBytes, mutateText } from './mutate.mjs';

const root = new URL('../../', import.meta.url);
const textOf = (path) => readFileSync(new URL(path, root), 'utf8');
const corpus = (name) => {
  const folder = new URL(`corpus/${name}/`, import.meta.url);
  return readdirSync(folder)
    .sort()
    .map((file) => readFileSync(new URL(file, folder), 'utf8'));
};
const linesOf = (name) =>
  corpus(name).flatMap((text) => text.split('\n').filter((line) => line !== ''));

/** A failed expectation, as distinct from what a reader throws. */
export class Broken extends Error {}

function must(holds, what) {
  if (!holds) throw new Broken(what);
}

/** A reading has a value, or a fault that says what and where. */
function reading(result) {
  if (result.ok) return true;
  for (const { message, accept, place, column = place?.column } of result.problems ?? [result]) {
    must(message.length > 3 && (accept ?? 'x').length > 0, 'a refusal without a message');
    must(Number.isInteger(column) && column >= 1, 'a refusal without a column');
  }
  return false;
}

/** Either the value or located problems. */
function problems(list, value, located = true) {
  must((list.length === 0) === (value !== undefined), 'neither a value nor a problem');
  for (const { message, place, code } of list) {
    must(message.length > 3 && code.length > 2, 'a problem without a message');
    must(!located || Object.keys(place).length > 0, `a problem without a place: ${message}`);
  }
  return value !== undefined;
}

/**
 * @param modules the modules of core and cli, sources or built
 * @returns `weight` is the share of a long run
 */
export function readers({ core, expression, meshFile, csvCells, csvWriter, decode, featureFile }) {
  const catalog = core.defaultCatalog();
  const vocabulary = core.jobVocabulary(catalog);
  const jobs = [
    ...['probe-bracket', 'pressure-manifold', 'heat-sink'].map((name) =>
      textOf(`data/demo/${name}/job.json`),
    ),
    ...corpus('job'),
  ];
  const tables = ['probe-bracket', 'pressure-manifold'].map((name) =>
    textOf(`data/demo/${name}/features.csv`),
  );
  const table = featureFile.featureTable(tables[0], 'features.csv');
  const shops = ['work-centres', 'processes', 'materials'].map((name) => ({
    name,
    text: textOf(`data/${name}.csv`),
  }));
  const box = core.writeStl(core.boxMesh(10, 20, 30));
  const meshes = [box, ...corpus('mesh').map((text) => new TextEncoder().encode(text))];
  const text = (name, weight, seeds, read, maxLength) => ({
    name,
    weight,
    make: (pick) => mutateText(pick, seeds, maxLength),
    read,
  });
  const short = (name, weight, read) => text(name, weight, linesOf(name), read, 2000);
  return [
    short('size', 30, (input) => reading(core.parseSize(input))),
    short('expression', 26, (input) => reading(expression.compileExpression(input))),
    short('geometric', 12, (input) => reading(core.parseGeometricTolerance(input))),
    short('roughness', 8, (input) => reading(core.parseRoughness(input))),
    short('general', 4, (input) => reading(core.parseGeneralTolerance(input))),
    short('quantity', 8, (input) => {
      reading(core.parseTemperatureC(input));
      return reading(core.parseLengthMm(input));
    }),
    text('csv', 3, tables, (input) => {
      const { rows, problems: found, header } = csvCells.readCsvCells(input, 'x.csv');
      for (const problem of found) must(problem.place.line > 0, 'a CSV problem without its line');
      return found.length === 0 && header.length + rows.length > 0;
    }),
    text('features table', 2, tables, (input) => {
      const table = featureFile.featureTable(input, 'features.csv');
      const read = core.readJob({ json: jobs[0], featureTable: table }, vocabulary);
      return problems(read.problems, read.job);
    }),
    text('job', 3, jobs, (input) => {
      const read = core.readJob({ json: input, featureTable: table }, vocabulary);
      return problems(read.problems, read.job);
    }),
    text(
      'shop table',
      1,
      shops.map((shop) => shop.text),
      (input) => {
        const cells = csvCells.readCsvCells(input, 'x.csv');
        const table = {
          table: shops[input.length % shops.length].name,
          file: 'x.csv',
          cells: [cells.header, ...cells.rows.map((row) => row.cells)],
        };
        const { problems: found } = core.mergeShop(catalog, [table]);
        return problems(found, found.length === 0 ? catalog : undefined);
      },
    ),
    text('stack', 2, [textOf('data/demo/stacks/flap-gap.json'), ...corpus('stack')], (input) => {
      const read = core.readStack({ json: input, file: 'stack.json' });
      return problems(read.problems, read.stack);
    }),
    text('chart', 1, [textOf('data/demo/charts/sampler-head.json')], (input) => {
      const read = core.readChart({ json: input, file: 'chart.json' });
      return problems(read.problems, read.chart ?? read.input);
    }),
    {
      name: 'mesh',
      weight: 2,
      make: (pick) => mutateBytes(pick, meshes),
      read: (input) => {
        try {
          const { mesh } = meshFile.readMesh(input, { file: 'part.stl' });
          must(mesh.triangles.length > 0, 'a mesh without triangles');
          return true;
        } catch (error) {
          if (error?.name !== 'InputError') throw error;
          return problems(error.problems, undefined);
        }
      },
    },
    {
      name: 'bytes of a text',
      weight: 1,
      make: (pick) => mutateBytes(pick, [...meshes, new TextEncoder().encode(jobs[0])]),
      read: (input) => decode.decodeText(input, 'x').text !== undefined,
    },
    text(
      'written csv',
      2,
      linesOf('cell'),
      (input) => {
        const cell = csvWriter.csvText(['a'], [[input]]).slice(2);
        must(
          !/^"?[=+\-@\t\r\n＝＋－＠]/.test(cell) || cell === '\n',
          `a formula: ${JSON.stringify(cell)}`,
        );
        return true;
      },
      2000,
    ),
  ];
}
