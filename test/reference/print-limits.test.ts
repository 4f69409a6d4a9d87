import { defaultCatalog, screenLimit } from '@offplate/core';
import { expect, test } from 'vitest';

const catalog = defaultCatalog();

// Metals 2026, 16(1) 32, abstract: thinnest walls printed of Ti-6Al-2Sn-4Zr-6Mo (value read)
test('titanium by laser: walls of 0.2 mm with 25 um layers and 1.0 mm with 50 um layers', () => {
  const wall = screenLimit(catalog, 'pbf-lb', 'titanium', 'wall');
  expect([wall.firm, wall.wanted, wall.unit, wall.confidence]).toEqual([0.2, 1, 'mm', 'read']);
  expect(wall.source).toContain('Metals 2026, 16(1) 32');
});

// general knowledge of electron-beam printing of Ti-6Al-4V (values from memory, no table of a standard)
test.each([
  ['wall', 0.6, 1],
  ['pin', 0.8, 1.5],
  ['hole', 1, 2],
  ['overhang', 20, 30],
] as const)('electron beam, %s: %s and %s, tagged as from memory', (check, firm, wanted) => {
  const limit = screenLimit(catalog, 'pbf-eb', 'titanium', check);
  expect([limit.firm, limit.wanted, limit.confidence]).toEqual([firm, wanted, 'memory']);
});

test('whatever names no paper says so', () => {
  const sources = new Set(
    catalog.printLimits
      .filter(({ confidence }) => confidence === 'practice')
      .map(({ source }) => source),
  );
  expect([...sources]).toEqual(['common practice, no source']);
});
