import * as v from 'valibot';
import { id, list, number, text, whole, words } from '../job/schema-fields.js';
import type { StackFile } from './stack-file.js';

// The one definition of what a stack file may hold; `schema/stack.schema.json` is made from it.

/** Longest text of a stack file, characters. */
export const maxStackTextLength: number = 2 * 1024 * 1024;
/** Identifier of the published JSON Schema; the last part is its version. */
export const stackSchemaId = 'urn:offplate:schema:stack:1';

const most = 1e9;
const any = (title: string, description: string): v.GenericSchema<number> =>
  number(title, description, -most, most);
const fromZero = (title: string, description: string): v.GenericSchema<number> =>
  number(title, description, 0, most);
const aboveZero = (title: string, description: string): v.GenericSchema<number> =>
  number(title, description, 1e-12, most);
const share = (title: string, description: string): v.GenericSchema<number> =>
  number(title, description, 1e-12, 1 - 1e-12);

const distribution = v.pipe(
  v.strictObject({
    kind: words('Kind', 'Shape of the distribution', [
      'normal',
      'truncated-normal',
      'uniform',
      'triangular',
      'trapezoidal',
      'arcsine',
      'beta',
      'semi-elliptical',
      'student-t',
      'empirical',
    ]),
    sigma: v.exactOptional(aboveZero('Sigma', 'Standard deviation: normal ones, student-t')),
    cp: v.exactOptional(aboveZero('Cp', 'Half width of the limits over 3 sigma: normal ones')),
    cpk: v.exactOptional(aboveZero('Cpk', 'At most Cp; the mean wanders: normal')),
    mode: v.exactOptional(any('Mode', 'Most likely value: triangular')),
    topFraction: v.exactOptional(number('Top', 'Flat top over base: trapezoidal', 0, 1)),
    alpha: v.exactOptional(aboveZero('Alpha', 'First shape number: beta')),
    beta: v.exactOptional(aboveZero('Beta', 'Second shape number: beta')),
    degreesOfFreedom: v.exactOptional(number('Degrees of freedom', 'student-t', 2, most)),
    values: v.exactOptional(list(any('Value', 'A measured value'), 'Values', 'empirical', 100_000)),
  }),
  v.title('Distribution'),
  v.description('How the contributor varies; normal with Cp 1 if absent'),
);

const contributor = v.pipe(
  v.strictObject({
    id: id('Name of the contributor; a function uses it as its variable'),
    size: v.exactOptional(text('Size', 'As on the drawing: "25 H7", "12 ±0.05"', 60)),
    nominal: v.exactOptional(any('Nominal', 'In file units, in place of a size')),
    tolerance: v.exactOptional(fromZero('Tolerance', 'Half width: nominal ± tolerance')),
    plus: v.exactOptional(fromZero('Plus', 'Upper limit less nominal')),
    minus: v.exactOptional(fromZero('Minus', 'Nominal less lower limit, written positive')),
    lower: v.exactOptional(any('Lower', 'Lower limit')),
    upper: v.exactOptional(any('Upper', 'Upper limit')),
    coefficient: v.exactOptional(
      any('Coefficient', 'Signed factor in a linear chain; 1 if absent'),
    ),
    distribution: v.exactOptional(distribution),
    meanShift: v.exactOptional(
      any('Mean shift', 'Known signed offset of the mean from the middle of the limits'),
    ),
    shiftFactor: v.exactOptional(
      number('Shift factor', 'Share of the half tolerance that the mean may use up', 0, 1),
    ),
    source: v.exactOptional(text('Source', 'Where the numbers come from')),
  }),
  v.title('Contributor'),
  v.description('A link of the chain or a variable of the function'),
);

const expression = (title: string, description: string): v.GenericSchema<string> =>
  text(title, description, 4096);

const expressionOrNumber = (
  title: string,
  description: string,
): v.GenericSchema<number | string> => {
  const accept = 'a number or an expression of up to 4096 characters';
  return v.pipe(
    v.union(
      [
        v.pipe(v.number(accept), v.minValue(-most, accept), v.maxValue(most, accept)),
        v.pipe(v.string(accept), v.minLength(1, accept), v.maxLength(4096, accept)),
      ],
      accept,
    ),
    v.title(title),
    v.description(description),
  );
};

const vector = v.pipe(
  v.strictObject({
    length: expressionOrNumber('Length', 'Length of the vector'),
    direction: expressionOrNumber('Direction', 'Radians from +x; "90 * deg" for degrees'),
  }),
  v.title('Vector'),
  v.description('One side of a closed loop'),
);

const loop = v.pipe(
  v.strictObject({
    loops: list(list(vector, 'Loop', 'Vectors that add up to zero', 50), 'Loops', 'All loops', 10),
    conditions: v.exactOptional(
      list(expression('Condition', 'Must be zero'), 'Conditions', 'Further equations', 20),
    ),
    unknowns: list(
      v.pipe(
        v.strictObject({
          name: id('Name of the unknown, as the expressions use it'),
          start: any('Start', 'A first guess near the solution that is meant'),
        }),
        v.title('Unknown'),
        v.description('A length, or an angle in radians, that the loops determine'),
      ),
      'Unknowns',
      'As many as the equations: two a loop, one a condition',
      40,
    ),
    result: expression('Result', 'What is wanted: an unknown, or an expression'),
  }),
  v.title('Loop'),
  v.description('Closed vector loops in the plane, solved implicitly'),
);

const requirement = v.pipe(
  v.strictObject({
    size: v.exactOptional(text('Size', 'As on the drawing: "0.3 ±0.1"', 60)),
    lower: v.exactOptional(any('Lower', 'Lower limit of the result')),
    upper: v.exactOptional(any('Upper', 'Upper limit of the result')),
  }),
  v.title('Requirement'),
  v.description('Limits of the result; one may be absent'),
);

const correlation = v.pipe(
  v.strictObject({
    a: text('A', 'Id of a contributor', 40),
    b: text('B', 'Id of another', 40),
    value: number('Correlation', 'Between -1 and 1', -1, 1),
  }),
  v.title('Correlation'),
  v.description('Of two contributors; pairs that are not listed are independent'),
);

const seedWords = 'a whole number from 0 to 9007199254740991';

const sampling = v.pipe(
  v.strictObject({
    samples: v.exactOptional(whole('Samples', 'Most samples; a million if absent', most)),
    seed: v.exactOptional(
      v.pipe(
        v.number(seedWords),
        v.integer(seedWords),
        v.minValue(0, seedWords),
        v.maxValue(Number.MAX_SAFE_INTEGER, seedWords),
        v.title('Seed'),
        v.description('The same seed gives the same samples; 1 if absent'),
      ),
    ),
    scheme: v.exactOptional(words('Scheme', 'random if absent', ['random', 'sobol'])),
    confidence: v.exactOptional(share('Confidence', 'Of every interval; 0.95 if absent')),
    precision: v.exactOptional(
      v.pipe(
        v.strictObject({
          of: words('Of', 'Figure that is watched', ['mean', 'sigma', 'inLimits', 'range']),
          halfWidth: aboveZero('Half width', 'Of its confidence interval'),
        }),
        v.title('Precision'),
        v.description('Stop as soon as this is reached'),
      ),
    ),
  }),
  v.title('Sampling'),
  v.description('Monte Carlo'),
);

export const stackSchema: v.GenericSchema<StackFile> = v.pipe(
  v.strictObject({
    $schema: v.exactOptional(text('$schema', 'Address of this schema, for editors', 500)),
    schemaVersion: v.pipe(
      v.literal('stack/1', 'stack/1'),
      v.title('Version'),
      v.description('Version of this format'),
    ),
    name: v.exactOptional(text('Name', 'What is stacked up, for print', 80)),
    units: v.exactOptional(words('Units', 'Unit of all lengths; mm if absent', ['mm', 'in'])),
    resultUnit: v.exactOptional(
      text('Unit of the result', 'For print, where it is another than the units', 12),
    ),
    requirement: v.exactOptional(requirement),
    contributors: list(contributor, 'Contributors', 'At least one', 1000),
    correlations: v.exactOptional(
      list(correlation, 'Correlations', 'Each pair at most once', 10_000),
    ),
    function: v.exactOptional(
      expression('Function', 'Of the contributors: "B - A - C"; a linear chain if absent'),
    ),
    loop: v.exactOptional(loop),
    constant: v.exactOptional(any('Constant', 'Added to a linear chain')),
    coverage: v.exactOptional(
      share('Coverage', 'Share that the statistical ranges hold; that of 3 sigma if absent'),
    ),
    quantiles: v.exactOptional(
      list(share('Probability', 'Between 0 and 1'), 'Quantiles', 'Wanted besides', 50),
    ),
    sampling: v.exactOptional(sampling),
  }),
  v.title('Stack'),
  v.description('Contributors, their sum or function, and what the result must meet'),
);
