import * as v from 'valibot';
import { featureSchema } from './feature-schema.js';
import type { JobInput } from './input.js';
import {
  area,
  date,
  id,
  length,
  list,
  measure,
  number,
  smallest,
  text,
  whole,
  words,
  yesNo,
} from './schema-fields.js';

// The one definition of what a user may write. `scripts/compile-schemas.mjs` turns it into
// `schema/job.schema.json` and into the TypeScript types of `input.ts`.

/** Most features of a job. */
export const maxFeatures = 5000;
/** Longest text of a job file or features table, characters. */
export const maxJobTextLength: number = 10 * 1024 * 1024;
/** Identifier of the published JSON Schema; the last part is its version. */
export const jobSchemaId = 'urn:offplate:schema:job:1';

/** A table in the folder of the job or below: no drive, no leading slash, no `..`. */
export const featureTablePattern: RegExp =
  /^(?!\.{1,2}\/)(?!.*\/\.{1,2}\/)(?!\/)[^\\:*?"<>|]{1,200}\.(csv|CSV|tsv|TSV|txt|TXT)$/;

/** A mesh in the folder of the job or below. */
export const meshFilePattern: RegExp =
  /^(?!\.{1,2}\/)(?!.*\/\.{1,2}\/)(?!\/)[^\\:*?"<>|]{1,200}\.(stl|STL|3mf|3MF)$/;

const part = v.pipe(
  v.strictObject({
    name: text('Name', 'What the part is called'),
    number: text('Part number', 'Drawing or part number'),
    revision: text('Revision', 'Revision of the drawing', 20),
    material: text('Material', 'Id of a material in the catalogue, e.g. s17400', 60),
    printer: words(
      'Printer',
      'pbf-lb: powder bed fusion by laser beam; pbf-eb: by electron beam (ISO/ASTM 52900)',
      ['pbf-lb', 'pbf-eb'],
    ),
    endUse: words('End use', 'What the part must stand', [
      'static',
      'fatigue',
      'pressure',
      'corrosion',
      'high-temperature',
      'wear',
      'prototype',
    ]),
    condition: v.exactOptional(
      text('Condition', 'Condition that the drawing names, e.g. H1025, SR, HIP', 60),
    ),
    standards: v.exactOptional(
      list(text('Standard', 'A standard'), 'Standards', 'Standards that the drawing requires'),
    ),
    hazards: v.exactOptional(
      list(
        text('Hazard', 'A hazard'),
        'Hazards',
        'Hazards to be told to the shop, e.g. reactive powder',
      ),
    ),
    regulated: v.exactOptional(
      yesNo('Regulated', 'Medical, aviation, pressure equipment and the like'),
    ),
    revisions: v.exactOptional(
      list(
        v.strictObject({
          revision: text('Revision', 'Revision of the drawing', 20),
          on: v.exactOptional(date('Day', 'Day of the revision, YYYY-MM-DD')),
          change: text('Change', 'What the revision changed', 1000),
          approvedBy: v.exactOptional(text('Approved by', 'Who approved it')),
        }),
        'Revisions',
        'Revisions of the drawing so far, the present one among them; printed on the traveller',
      ),
    ),
    note: v.exactOptional(text('Note', 'Anything else about the part', 4000)),
  }),
  v.title('Part'),
  v.description('What is made'),
);

const supports = v.pipe(
  v.strictObject({
    latticeArea: v.exactOptional(
      area('Lattice area', 'Area of lattice supports on the part; 0 = none', 0),
    ),
    latticeAccess: v.exactOptional(
      words('Lattice access', 'Whether a hand tool reaches the lattice', ['open', 'internal']),
    ),
    solidArea: v.exactOptional(
      area('Solid area', 'Area of solid supports on the part; 0 = none', 0),
    ),
  }),
  v.title('Supports'),
  v.description('Supports that must come off'),
);

const geometry = v.pipe(
  v.strictObject({
    mesh: v.exactOptional(
      v.pipe(
        v.string('the name of a mesh file'),
        v.regex(
          meshFilePattern,
          'an .stl or .3mf file in the folder of the job, with / between folders and no ..',
        ),
        v.title('Mesh'),
        v.description(
          'Mesh of the part as it is printed, z up; what is not given here is measured on it',
        ),
      ),
    ),
    meshUnits: v.exactOptional(
      words('Mesh units', 'Unit of an STL file; that of the job if absent. 3MF names its own', [
        'mm',
        'in',
      ]),
    ),
    volume: v.exactOptional(
      measure(
        'Volume',
        'Volume of the finished part',
        'a volume above 0 as a number in job units cubed or a text with unit: 21500, "21.5 cm3"',
        smallest,
        1e12,
      ),
    ),
    surfaceArea: v.exactOptional(area('Surface area', 'Area of the whole skin of the part')),
    box: v.exactOptional(
      v.pipe(
        v.strictTuple(
          [
            length('x', 'Extent along x'),
            length('y', 'Extent along y'),
            length('z', 'Extent along the build direction'),
          ],
          'three lengths [x, y, z]',
        ),
        v.title('Box'),
        v.description('Extents along x, y and the build direction z'),
      ),
    ),
    plateSection: v.exactOptional(
      area('Plate section', 'Area in which the part itself meets the build plate'),
    ),
    thickestSection: v.exactOptional(
      length('Thickest section', 'Thickness that sets the soak time in the furnace'),
    ),
    thinnestWall: v.exactOptional(length('Thinnest wall', 'Least wall thickness')),
    plateMaterial: v.exactOptional(
      text(
        'Plate material',
        "Id of the build plate's material in the catalogue; the part's own if absent",
        60,
      ),
    ),
    trappedPowder: v.exactOptional(
      words('Trapped powder', 'Where powder can stay in the part', [
        'none',
        'open-channels',
        'closed-cavity',
        'unknown',
      ]),
    ),
    powderProof: v.exactOptional(
      yesNo('Powder proof', 'True when it is shown that the channels are empty'),
    ),
    supports: v.exactOptional(supports),
  }),
  v.title('Geometry'),
  v.description('Size of the printed part; what is missing is asked for, never taken as zero'),
);

const order = v.pipe(
  v.strictObject({
    quantity: whole('Quantity', 'Good parts wanted', 1_000_000),
    currency: v.pipe(
      v.string('an ISO 4217 code such as EUR'),
      v.regex(/^[A-Za-z]{3}$/, 'an ISO 4217 code such as EUR'),
      v.title('Currency'),
      v.description('ISO 4217 code, e.g. EUR'),
    ),
    startOn: v.exactOptional(date('Start', 'First working day, YYYY-MM-DD')),
    dueOn: v.exactOptional(date('Due', 'Day on which the parts must be ready, YYYY-MM-DD')),
    closedOn: v.exactOptional(
      list(date('Day', 'A day, YYYY-MM-DD'), 'Closed', 'Days on which nobody works: holidays', 400),
    ),
    partsPerPlate: v.exactOptional(
      whole('Parts per plate', 'Parts printed together on a build plate', 10_000),
    ),
    quantityBreaks: v.exactOptional(
      v.pipe(
        v.array(whole('Quantity', 'A quantity to be priced too', 1_000_000), 'a list'),
        v.maxLength(50, 'at most 50 items'),
        v.title('Quantity breaks'),
        v.description('Quantities to be priced too'),
      ),
    ),
    customer: v.exactOptional(text('Customer', 'For whom')),
    reference: v.exactOptional(text('Reference', 'Enquiry or order number')),
  }),
  v.title('Order'),
  v.description('How many, when, in which money'),
);

const chain = v.pipe(
  v.strictObject({
    id: id('Name of the chain, unique'),
    terms: v.exactOptional(
      v.pipe(
        v.array(
          v.pipe(
            v.string('a feature id with + or - before it'),
            v.regex(/^[+-]?[A-Za-z0-9][A-Za-z0-9._-]{0,39}$/, 'a feature id with + or - before it'),
          ),
          'a list',
        ),
        v.minLength(1, 'at least 1 item'),
        v.maxLength(50, 'at most 50 items'),
        v.title('Terms'),
        v.description('Signed feature sizes that add up, e.g. ["+P2", "-B1"]'),
      ),
    ),
    expression: v.exactOptional(
      text('Expression', 'Function of feature ids, instead of terms: "P2 - B1 / 2"', 500),
    ),
    lower: measure(
      'Lower limit',
      'Least allowed result',
      'a length as a number in job units or a text with unit',
      -1e5,
      1e5,
    ),
    upper: measure(
      'Upper limit',
      'Largest allowed result',
      'a length as a number in job units or a text with unit',
      -1e5,
      1e5,
    ),
  }),
  v.title('Chain'),
  v.description('A dimension chain to be checked on the planned route; terms or expression'),
);

const processIds = (title: string, description: string) =>
  list(text('Process', 'Process or treatment id', 60), title, description);

const policy = v.pipe(
  v.strictObject({
    objective: v.exactOptional(
      words('Objective', 'What the route minimises; cost if absent', ['cost', 'days', 'weighted']),
    ),
    costPerDay: v.exactOptional(
      number('Cost of a day', 'Money a working day is worth in the weighted objective', 0, 1e9),
    ),
    required: v.exactOptional(processIds('Required', 'Operations that the route must contain')),
    forbidden: v.exactOptional(processIds('Forbidden', 'Operations that it must not contain')),
    minimumProbability: v.exactOptional(
      number(
        'Least probability',
        'Least probability that each requirement is met; 0.9973 if absent',
        0.5,
        0.999999999,
      ),
    ),
    enoughGoodProbability: v.exactOptional(
      number(
        'Enough good parts',
        'Least probability that as many parts end good as are ordered, for counting the parts to start; the default of the catalogue if absent',
        0.5,
        0.999999,
      ),
    ),
    outsideWork: v.exactOptional(
      yesNo('Outside work', 'Whether suppliers may be used; true if absent'),
    ),
    cutOffBeforeRelief: v.exactOptional(
      yesNo('Cut off before relief', 'Ask for cut-off before stress relief'),
    ),
    furnaceAlone: v.exactOptional(
      yesNo(
        'Furnace alone',
        'Whether the lot has furnaces and vessels to itself; false if absent: it pays its share of a full load',
      ),
    ),
    stockBy: v.exactOptional(
      words(
        'Stock by',
        'limits: analytical method; probability: least stock that cleans up with the least probability; limits if absent',
        ['limits', 'probability'],
      ),
    ),
    contingencyPercent: v.exactOptional(
      number(
        'Contingency',
        'Kept for what goes wrong, per cent of all lines; 0 if absent',
        0,
        1000,
      ),
    ),
    marginPercent: v.exactOptional(
      number(
        'Margin',
        'Margin in the quoted price, per cent of cost and contingency; 0 if absent',
        0,
        1000,
      ),
    ),
    learning: v.exactOptional(
      v.pipe(
        v.strictObject({
          percent: number(
            'Learning rate',
            'Mean run time of a part after each doubling of the lot, per cent of what it was before',
            50,
            100,
          ),
          processes: v.exactOptional(
            processIds('Processes', 'Processes whose run time it holds for; all if absent'),
          ),
        }),
        v.title('Learning'),
        v.description('Learning curve of the run time counted by parts; none if absent'),
      ),
    ),
    transferBatch: v.exactOptional(
      whole(
        'Transfer batch',
        'Parts that move on to the next operation together; the whole lot if absent',
        1_000_000,
      ),
    ),
  }),
  v.title('Policy'),
  v.description('What the planner may do and what it aims at'),
);

/**
 * The job as a user writes it (`job.json`). A complete one:
 *
 *     {
 *       "$schema": "../../schema/job.schema.json",
 *       "schemaVersion": "job/1",
 *       "units": "mm",
 *       "part": {
 *         "name": "Sensor bracket", "number": "SB-104", "revision": "B",
 *         "material": "s17400", "printer": "pbf-lb", "endUse": "static", "condition": "H1025"
 *       },
 *       "geometry": {
 *         "volume": 21500, "surfaceArea": "118 cm2", "box": [62, 40, 28], "plateSection": 1450,
 *         "thickestSection": 12, "thinnestWall": 3, "trappedPowder": "none",
 *         "supports": { "latticeArea": 320, "latticeAccess": "open", "solidArea": 0 }
 *       },
 *       "order": {
 *         "quantity": 12, "currency": "EUR", "startOn": "2027-03-01", "dueOn": "2027-04-09",
 *         "partsPerPlate": 6, "quantityBreaks": [1, 12, 50]
 *       },
 *       "generalTolerance": "ISO 2768-mK",
 *       "features": [
 *         { "id": "P1", "kind": "plane", "size": "28 ±0.1", "ra": 3.2, "length": 62, "width": 40,
 *           "facing": "down", "access": ["-z"], "datum": "A", "tolerances": ["flatness 0.03"] },
 *         { "id": "B1", "kind": "bore", "size": "12 H7", "ra": "32 uin", "depth": 18,
 *           "facing": "up", "access": ["+z"], "tolerances": ["perpendicularity 0.05 A"] }
 *       ],
 *       "chains": [{ "id": "wall", "terms": ["+P1", "-B1"], "lower": 15.8, "upper": 16.2 }],
 *       "policy": { "objective": "cost", "forbidden": ["electropolishing"] }
 *     }
 *
 * `features` may instead name a table beside the job file (`"features.csv"`) with the columns id,
 * kind, name, count, size, Ra, Rz, length, width, depth, area, facing, angle, supported, on axis, concave,
 * access, datum, tolerances, location, finishes, note. With `"units": "in"` bare lengths are inches, bare
 * areas in2, bare volumes in3; roughness stays um unless its unit is written. At most 5,000 features,
 * 10 MB of text, 300,000 values and 64 levels of nesting; a table at most 100,000 lines.
 */
export const jobSchema: v.GenericSchema<JobInput> = v.pipe(
  v.strictObject({
    $schema: v.exactOptional(text('Schema', 'Address of this schema, for editors', 500)),
    schemaVersion: v.pipe(
      v.literal('job/1', '"job/1"'),
      v.title('Schema version'),
      v.description('Version of this format'),
    ),
    units: v.exactOptional(
      words('Units', 'Unit of bare lengths, areas and volumes; mm if absent', ['mm', 'in']),
    ),
    part,
    geometry,
    order,
    generalTolerance: v.exactOptional(
      text('General tolerance', 'E.g. ISO 2768-mK, ISO 2768-f; fills sizes without limits', 60),
    ),
    features: v.pipe(
      v.union(
        [
          v.pipe(
            v.array(featureSchema, 'a list of features'),
            v.minLength(1, 'at least 1 feature'),
            v.maxLength(maxFeatures, `at most ${maxFeatures} features`),
          ),
          v.pipe(
            v.string('the name of a table'),
            v.regex(
              featureTablePattern,
              'a .csv, .tsv or .txt file in the folder of the job, with / between folders and no ..',
            ),
          ),
        ],
        'a list of features, or the name of a table such as "features.csv"',
      ),
      v.title('Features'),
      v.description('Features inline, or a table in the folder of the job file'),
    ),
    chains: v.exactOptional(
      v.pipe(
        v.array(chain, 'a list of chains'),
        v.maxLength(200, 'at most 200 chains'),
        v.title('Chains'),
        v.description('Dimension chains of the part'),
      ),
    ),
    policy: v.exactOptional(policy),
  }),
  v.title('Job'),
  v.description('One part to be finished after printing: what the drawing asks and the order'),
);
