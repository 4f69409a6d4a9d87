import * as v from 'valibot';
import { id, length, list, measure, number, text, words } from '../job/schema-fields.js';
import type { ChartFile } from './chart-file.js';
import type { StatedLimit } from './types.js';

// The one definition of what a chart file may hold; `schema/chart.schema.json` is made from it.

/** Longest text of a chart file, characters. */
export const maxChartTextLength: number = 2 * 1024 * 1024;
/** Identifier of the published JSON Schema; the last part is its version. */
export const chartSchemaId = 'urn:offplate:schema:chart:1';

const fromZero = (title: string, description: string): v.GenericSchema<number | string> =>
  measure(
    title,
    description,
    'a length of 0 or more as a number in file units or a text with unit: 0.3, "0.01 in"',
    0,
    1e5,
  );

const anySign = (title: string, description: string): v.GenericSchema<number | string> =>
  measure(
    title,
    description,
    'a length as a number in file units or a text with unit: 0.3, "0.01 in"',
    -1e5,
    1e5,
  );

const stand = (title: string, description: string): v.GenericSchema<StatedLimit> =>
  words(title, description, ['middle', 'maximum', 'minimum']);

const curve = v.pipe(
  v.strictObject({
    fixed: v.exactOptional(number('Fixed', 'Cost that no tolerance changes', -1e12, 1e12)),
    scale: number('Scale', 'B of A + B / T^k, with T in file units', 1e-12, 1e12),
    power: number('Power', 'k of A + B / T^k', 0.01, 10),
    lower: v.exactOptional(fromZero('Lower', 'Smallest tolerance (±) that can be held')),
    upper: v.exactOptional(length('Upper', 'Largest tolerance (±) that may be given')),
  }),
  v.title('Cost'),
  v.description('Cost of holding ± T: fixed + scale / T^power, in any unit of money'),
);

const process = v.pipe(
  v.strictObject({
    id: id('Name of the process or grade'),
    tolerance: v.exactOptional(length('Tolerance', 'The one tolerance (±) of a grade')),
    price: v.exactOptional(number('Price', 'Cost of a grade', -1e12, 1e12)),
    cost: v.exactOptional(curve),
  }),
  v.title('Process'),
  v.description('A grade (tolerance and price) or a process with a cost curve over a range'),
);

const surface = v.pipe(
  v.strictObject({
    id: id('Name of the surface'),
    name: v.exactOptional(text('Name', 'What the surface is, for print', 60)),
    faces: v.exactOptional(
      words('Faces', 'Side of the air along the axis; needed where stock is taken off', [
        'up',
        'down',
      ]),
    ),
  }),
  v.title('Surface'),
  v.description('A surface across the axis'),
);

const cut = v.pipe(
  v.strictObject({
    id: id('Name of the cut, e.g. its operation number'),
    operation: v.exactOptional(text('Operation', 'What is done, for print', 60)),
    datum: text('Datum', 'Surface that the cut is located from', 40),
    surface: text('Surface', 'Surface that is formed or cut', 40),
    tolerance: v.exactOptional(length('Tolerance', 'Working tolerance ±')),
    sigma: v.exactOptional(length('Sigma', 'Standard deviation of the process')),
    cp: v.exactOptional(number('Cp', 'Capability that the tolerance stands for', 0.01, 100)),
    minStock: v.exactOptional(
      anySign('Least stock', 'Stock that the cut must find; below 0 only for a coat on a surface'),
    ),
    maxStock: v.exactOptional(length('Most stock', 'Stock that the cut can take')),
    roundTo: v.exactOptional(length('Round to', 'Grid of the stated working dimension')),
    statedAs: v.exactOptional(stand('Stated as', 'Limit that the working dimension is stated by')),
    given: v.exactOptional(
      text('Given', 'Working dimension to be checked, e.g. "47.42 0/-0.16"', 60),
    ),
    cost: v.exactOptional(curve),
    processes: v.exactOptional(list(process, 'Processes', 'Processes to choose from', 50)),
  }),
  v.title('Cut'),
  v.description('One working dimension; the first on a surface forms it, later ones take stock'),
);

const dimension = v.pipe(
  v.strictObject({
    id: id('Name of the blueprint dimension'),
    from: text('From', 'Surface at one end', 40),
    to: text('To', 'Surface at the other end', 40),
    size: v.exactOptional(text('Size', 'As on the drawing: "40 ±0.05", "12 0/-0.043"', 60)),
    lower: v.exactOptional(length('Lower', 'Lower limit, in place of a size')),
    upper: v.exactOptional(length('Upper', 'Upper limit, in place of a size')),
    aim: v.exactOptional(stand('Aim', 'Where in its limits the resultant is wanted')),
  }),
  v.title('Blueprint dimension'),
  v.description('A dimension of the drawing between two finished surfaces'),
);

export const chartSchema: v.GenericSchema<ChartFile> = v.pipe(
  v.strictObject({
    $schema: v.exactOptional(text('$schema', 'Address of this schema, for editors', 500)),
    schemaVersion: v.pipe(
      v.literal('chart/1', 'chart/1'),
      v.title('Version'),
      v.description('Version of this format'),
    ),
    units: v.exactOptional(words('Units', 'Unit of bare lengths; mm if absent', ['mm', 'in'])),
    title: v.exactOptional(text('Title', 'Part and axis, for print', 80)),
    axis: v.exactOptional(text('Axis', 'Name of the axis', 20)),
    rule: v.exactOptional(
      words('Rule', 'How variations add up; worst-case if absent', ['worst-case', 'statistical']),
    ),
    coverage: v.exactOptional(
      number(
        'Coverage',
        'Share of parts in the statistical range; 3 sigma if absent',
        0.5,
        1 - 1e-9,
      ),
    ),
    roundTo: v.exactOptional(length('Round to', 'Grid of all stated working dimensions')),
    surfaces: list(surface, 'Surfaces', 'Along the axis, the smallest coordinate first', 1000),
    cuts: list(cut, 'Cuts', 'In the order of working', 1000),
    blueprint: list(dimension, 'Blueprint dimensions', 'Dimensions of the drawing', 1000),
  }),
  v.title('Operation chart'),
  v.description('Surfaces on an axis, cuts in the order of working, dimensions of the drawing'),
);
