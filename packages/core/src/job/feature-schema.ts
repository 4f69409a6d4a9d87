import * as v from 'valibot';
import type { FeatureInput } from './input.js';
import {
  area,
  id,
  length,
  list,
  measure,
  number,
  roughness,
  smallest,
  text,
  whole,
  words,
  yesNo,
} from './schema-fields.js';

/** Ways a tool can come from; x, y and z alone mean from both sides, z is the build direction. */
export const accessWords = [
  '+x',
  '-x',
  '+y',
  '-y',
  '+z',
  '-z',
  'x',
  'y',
  'z',
  'top',
  'bottom',
  'all',
] as const;

/** One feature as written, inline or as a row of the features table. */
export const featureSchema: v.GenericSchema<FeatureInput> = v.pipe(
  v.strictObject({
    id: id('Name of the feature in this job, unique'),
    kind: words('Kind', 'Shape of the feature', [
      'plane',
      'bore',
      'shaft',
      'slot',
      'thread',
      'freeform',
      'channel',
      'radius',
    ]),
    name: v.exactOptional(text('Name', 'What the shop calls it')),
    count: v.exactOptional(whole('Count', 'How many alike; 1 if absent', 10_000)),
    size: v.exactOptional(
      v.pipe(
        v.union(
          [
            v.pipe(
              v.number('a size'),
              v.minValue(smallest, 'a size above 0'),
              v.maxValue(1e5, 'a size up to 100000'),
            ),
            v.pipe(
              v.string('a size'),
              v.minLength(1, 'a size'),
              v.maxLength(120, 'at most 120 characters'),
            ),
          ],
          'a size as on the drawing: "25 H7", "12 ±0.05", "40 +0.1/-0", "M8-6H", or a number',
        ),
        v.title('Size'),
        v.description('Size with limits as on the drawing; a bare number has no limits of its own'),
      ),
    ),
    ra: v.exactOptional(roughness('Ra', 'Largest mean roughness Ra, um (ISO 21920-2)')),
    rz: v.exactOptional(roughness('Rz', 'Largest maximum height Rz, um (ISO 21920-2)')),
    length: v.exactOptional(length('Length', 'Length along the feature')),
    width: v.exactOptional(length('Width', 'Width across the feature')),
    depth: v.exactOptional(length('Depth', 'Depth of a bore, slot or thread')),
    area: v.exactOptional(area('Area', 'Area of one of them')),
    facing: v.exactOptional(
      words('Facing', 'Which way the face looked during the print', [
        'up',
        'down',
        'side',
        'angled',
      ]),
    ),
    angle: v.exactOptional(
      number('Angle', 'Angle of the face to the plate, degrees: 0 flat, 90 upright', 0, 90),
    ),
    supported: v.exactOptional(yesNo('Supported', 'Carries supports after the print')),
    onAxis: v.exactOptional(
      yesNo('On the axis', 'Lies on the axis about which the part can be turned or ground'),
    ),
    concave: v.exactOptional(
      yesNo('Concave', 'A radius in an inner corner; an outer edge if absent'),
    ),
    access: v.exactOptional(
      list(
        v.picklist(accessWords, accessWords.join(' ')),
        'Access',
        'Sides a tool can come from; x, y, z alone mean both sides, top is +z, bottom is -z',
        12,
      ),
    ),
    datum: v.exactOptional(
      v.pipe(
        v.string('one capital letter'),
        v.regex(/^[A-Z]$/, 'one capital letter'),
        v.title('Datum'),
        v.description('Datum letter that this feature carries'),
      ),
    ),
    tolerances: v.exactOptional(
      list(
        text('Tolerance', 'E.g. position 0.05 A B; flatness 0.02; profile 0.2'),
        'Geometric tolerances',
        'Geometric tolerances with their datums, as on the drawing',
        20,
      ),
    ),
    location: v.exactOptional(
      measure(
        'Location',
        'Distance from the datums',
        'a length from 0 as a number in job units or a text with unit',
        0,
        1e5,
      ),
    ),
    finishes: v.exactOptional(
      list(
        text('Finish', 'Process id', 60),
        'Finishes',
        'Part-wide finishes that may act on this feature; absent = any, empty = none',
        20,
      ),
    ),
    note: v.exactOptional(text('Note', 'Anything else', 4000)),
  }),
  v.title('Feature'),
  v.description('One feature of the part with what the drawing asks of it'),
);
