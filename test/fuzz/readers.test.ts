import * as core from '@offplate/core';
import * as expression from '@offplate/core/expression';
import * as meshFile from '@offplate/core/mesh-file';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import * as csvCells from '../../packages/cli/src/read/csv-cells.js';
import * as decode from '../../packages/cli/src/read/decode-text.js';
import * as featureFile from '../../packages/cli/src/read/feature-file.js';
import * as csvWriter from '../../packages/cli/src/write/csv/csv.js';
import { pickFrom } from './mutate.mjs';
import { readers } from './readers.mjs';

// A short run of what `scripts/fuzz.mjs` does for long; README.md tells of the last long one.

const modules = { core, expression, meshFile, csvCells, csvWriter, decode, featureFile };

describe('damaged inputs', () => {
  for (const { name, make, read } of readers(modules))
    test(`${name}: read or refused with a reason, within a second`, () => {
      let accepted = 0;
      const runs = 150;
      fc.assert(
        fc.property(fc.integer(), (seed) => {
          const before = process.cpuUsage();
          if (read(make(pickFrom(seed)))) accepted += 1;
          expect(process.cpuUsage(before).user).toBeLessThan(1e6);
        }),
        { seed: 8, numRuns: runs },
      );
      // a reader that takes or refuses everything would not be tested at all
      if (!['csv', 'written csv'].includes(name)) expect(accepted).toBeLessThan(runs);
      expect(accepted).toBeGreaterThan(0);
      expect(Object.keys(Object.prototype)).toEqual([]);
      expect('polluted' in {}).toBe(false);
    });
});
