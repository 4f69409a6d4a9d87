import {
  type Catalog,
  checkCatalog,
  currencyByCode,
  defaultCatalog,
  dimensionChangeOf,
  materialById,
  mergeShop,
  processById,
  provenance,
  type ShopTable,
  schedulesFor,
  tableProperties,
  tableSchemas,
  threadByDesignation,
  workCentreById,
} from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { InputError, type Problem } from '../../packages/core/src/problems/problem.js';

const catalog = defaultCatalog();

function problemsOf(action: () => unknown): readonly Problem[] {
  try {
    action();
  } catch (error) {
    if (error instanceof InputError) return error.problems;
    throw error;
  }
  throw new Error('no InputError was thrown');
}

describe('default catalogue', () => {
  test('is sound as a whole', () => {
    expect(checkCatalog(catalog)).toEqual([]);
  });

  test('holds at least 12 alloys and 35 processes', () => {
    expect(catalog.materials.length).toBeGreaterThanOrEqual(12);
    expect(catalog.processes.length).toBeGreaterThanOrEqual(35);
  });

  test('has a property for every table of the schema', () => {
    for (const [name, property] of Object.entries(tableProperties))
      expect(catalog[property].length, name).toBeGreaterThan(0);
    expect(Object.keys(tableProperties)).toEqual(expect.arrayContaining(Object.keys(tableSchemas)));
  });
});

describe('lookups', () => {
  test('find rows by key', () => {
    expect(processById(catalog, 'honing').family).toBe('fine-finishing');
    expect(threadByDesignation(catalog, 'M10x1.25')).toMatchObject({ majorMm: 10, coarse: false });
    expect(currencyByCode(catalog, 'KWD').minorDigits).toBe(3);
  });

  test('name what would be accepted', () => {
    const [problem] = problemsOf(() => materialById(catalog, 's31604'));
    expect(problem).toMatchObject({ code: 'unknown-id', value: 's31604' });
    expect(problem?.accept).toContain('s31603, s17400');
  });

  test('see the rows of a merged catalogue, not those of the default one', () => {
    expect(workCentreById(catalog, 'saw').ratePerH).not.toBe(61);
    const merged = merge('work-centres', 'id,rate_per_h\nsaw,61').catalog;
    expect(workCentreById(merged, 'saw').ratePerH).toBe(61);
  });

  test('put the schedule meant for planning first', () => {
    const kinds = schedulesFor(catalog, 'n07718', 'stress-relief').map(
      (row) => row.planningDefault,
    );
    expect(kinds).toEqual([true, false, false]);
    expect(schedulesFor(catalog, 's17400', 'age:H900').map((row) => row.temperatureC)).toEqual([
      482,
    ]);
    expect(schedulesFor(catalog, 'n06625', 'age')).toEqual([]);
  });

  test('fall back from alloy and condition to any alloy for the change of size', () => {
    expect(dimensionChangeOf(catalog, 's17400', 'age', 'H1150').changePerMm).toBe(-0.0009);
    expect(dimensionChangeOf(catalog, 'n07718', 'age', 'aged (AMS 5663)').changePerMm).toBe(
      -0.0008,
    );
    expect(dimensionChangeOf(catalog, 'r56400', 'hip', 'HIP').changePerMm).toBe(-0.000333);
    const bare: Catalog = { ...catalog, dimensionChanges: [] };
    expect(problemsOf(() => dimensionChangeOf(bare, 'r56400', 'hip', 'HIP'))).toHaveLength(1);
  });
});

function merge(
  table: ShopTable['table'],
  text: string,
  base: Catalog = catalog,
): ReturnType<typeof mergeShop> {
  const cells = text.split('\n').map((line) => line.split(','));
  return mergeShop(base, [{ table, file: 'shop.csv', cells }]);
}

const newMaterialHeader = Object.entries(tableSchemas.materials.columns)
  .filter(([name, column]) => column.optional !== true && !/_(source|confidence)$/.test(name))
  .map(([name]) => name);

describe('merging a shop', () => {
  test('changes only the columns of the file', () => {
    const { catalog: merged, problems } = merge('work-centres', 'id,rate_per_h\nlathe,99.5');
    expect(problems).toEqual([]);
    expect(workCentreById(merged, 'lathe')).toEqual({
      ...workCentreById(catalog, 'lathe'),
      ratePerH: 99.5,
      source: expect.stringMatching(/^shop table shop\.csv \(rate_per_h\); rest: /),
      confidence: 'given',
    });
    expect(merged.workCentres).toHaveLength(catalog.workCentres.length);
    expect(workCentreById(catalog, 'lathe').ratePerH).not.toBe(99.5);
  });

  test('adds a row whose key is new, tagged as given', () => {
    const values = newMaterialHeader.map((name) => {
      const column = tableSchemas.materials.columns[name];
      if (name === 'id') return 'n07001';
      if (column?.type === 'enum') return 'nickel';
      if (column?.type === 'number') return String(column.min ?? 1);
      return 'text';
    });
    const { catalog: merged, problems } = merge(
      'materials',
      `${newMaterialHeader.join(',')}\n${values.join(',')}`,
    );
    expect(problems).toEqual([]);
    expect(merged.materials).toHaveLength(catalog.materials.length + 1);
    expect(materialById(merged, 'n07001')).toMatchObject({
      densityKgM3: 500,
      densitySource: 'shop table shop.csv',
      densityConfidence: 'given',
    });
    expect(merged.shopRows['materials: n07001']).toMatchObject({ file: 'shop.csv', line: 2 });
  });

  test('an empty cell clears an optional value', () => {
    const { catalog: merged, problems } = merge('materials', 'id,uns,solidus_c\nr56400,,1600');
    expect(problems).toEqual([]);
    expect(materialById(merged, 'r56400').uns).toBeUndefined();
    expect(materialById(merged, 'r56400').solidusC).toBe(1600);
    expect(materialById(merged, 'r56400').liquidusC).toBe(1660);
  });

  test('reports every bad cell with line and column and leaves the table out', () => {
    const text = [
      'id,rate_per_h,reach,colour',
      'lathe,fast,one,red',
      '',
      'saw,-4,six-sides,red',
      'saw,12,one,red',
    ].join('\n');
    const { catalog: merged, problems } = merge('work-centres', text);
    const where = problems.map(({ code, place }) => [code, place.line, place.column]);
    expect(where).toEqual([
      ['unknown-field', 1, 'colour'],
      ['bad-number', 2, 'rate_per_h'],
      ['not-one-of', 4, 'reach'],
      ['out-of-range', 4, 'rate_per_h'],
      ['duplicate-id', 5, 'id'],
    ]);
    expect(problems.every((problem) => problem.place.file === 'shop.csv')).toBe(true);
    expect(problems[2]?.accept).toContain('five-sides');
    expect(merged).toEqual(catalog);
  });

  test('uses the line numbers of the reader', () => {
    const { problems } = mergeShop(catalog, [
      {
        table: 'planning-defaults',
        file: 'p.csv',
        cells: [['id', 'value'], [''], ['ramp', 'quick']],
        lines: [3, 4, 9],
      },
    ]);
    expect(problems.map(({ place }) => place)).toEqual([
      { file: 'p.csv', line: 9, column: 'value' },
    ]);
  });

  test('a new row needs every column that is not optional', () => {
    const { problems } = merge('planning-defaults', 'id,value\nramp,5\nown-default,2');
    expect(problems.map(({ code, place }) => [code, place.line, place.column])).toEqual([
      ['missing-field', 3, 'unit'],
      ['missing-field', 3, 'what'],
    ]);
  });

  test('a file without header is named', () => {
    const { problems } = mergeShop(catalog, [{ table: 'methods', file: 'm.csv', cells: [] }]);
    expect(problems).toMatchObject([{ code: 'csv-header', place: { file: 'm.csv', line: 1 } }]);
  });

  test('a missing key column is named', () => {
    const { problems } = merge('work-centres', 'rate_per_h\n50');
    expect(problems).toMatchObject([{ code: 'missing-field', place: { line: 1, column: 'id' } }]);
  });

  test('one bad table does not keep the others out', () => {
    const { catalog: merged, problems } = mergeShop(catalog, [
      {
        table: 'methods',
        file: 'm.csv',
        cells: [
          ['id', 'rate_per_h'],
          ['calliper', 'x'],
        ],
      },
      {
        table: 'work-centres',
        file: 'w.csv',
        cells: [
          ['id', 'rate_per_h'],
          ['saw', '51'],
        ],
      },
    ]);
    expect(problems).toHaveLength(1);
    expect(workCentreById(merged, 'saw').ratePerH).toBe(51);
  });

  test('the order of the rows of a file does not matter', () => {
    const ids = catalog.workCentres.map((row) => row.id);
    const rates = fc.array(fc.integer({ min: 0, max: 500 }), {
      minLength: ids.length,
      maxLength: ids.length,
    });
    fc.assert(
      fc.property(
        rates,
        fc.shuffledSubarray(
          ids.map((_, i) => i),
          { minLength: ids.length },
        ),
        (rate, order) => {
          const line = (i: number): string => `${ids[i]},${rate[i]}`;
          const plain = merge(
            'work-centres',
            ['id,rate_per_h', ...ids.map((_, i) => line(i))].join('\n'),
          );
          const mixed = merge('work-centres', ['id,rate_per_h', ...order.map(line)].join('\n'));
          expect(mixed.problems).toEqual([]);
          expect(mixed.catalog.workCentres).toEqual(plain.catalog.workCentres);
        },
      ),
      { seed: 20260301, numRuns: 50 },
    );
  });

  test('every row of the default catalogue merges onto itself', () => {
    const { catalog: merged, problems } = merge(
      'currencies',
      [
        'code,minor_digits,name,source,confidence',
        ...catalog.currencies.map((row) =>
          [row.code, row.minorDigits, row.name, row.source, row.confidence].join(','),
        ),
      ].join('\n'),
    );
    expect(problems).toEqual([]);
    expect(merged.currencies).toEqual(catalog.currencies);
  });
});

describe('provenance', () => {
  test('follows the group of the column', () => {
    expect(provenance(catalog, 'materials', 'n07718', 'density_kg_m3')).toMatchObject({
      value: 8220,
      confidence: 'read',
    });
    expect(provenance(catalog, 'materials', 'n07718', 'conductivity_w_m_k')).toMatchObject({
      value: 11.4,
      confidence: 'memory',
    });
    expect(provenance(catalog, 'processes', 'lapping', 'ra_low_um').confidence).toBe('read');
    expect(provenance(catalog, 'processes', 'lapping', 'stock_min_mm').confidence).toBe('practice');
  });

  test('takes the weaker tag where two apply', () => {
    // set point read, soak from memory: the pressure counts as from memory
    expect(provenance(catalog, 'treatments', 'r56400-hip-2', 'pressure_mpa_min')).toMatchObject({
      value: 200,
      confidence: 'memory',
    });
  });

  test('knows which columns a shop gave', () => {
    const { catalog: merged } = merge('work-centres', 'id,rate_per_h\nlathe,99.5');
    expect(provenance(merged, 'work-centres', 'lathe', 'rate_per_h')).toMatchObject({
      value: 99.5,
      confidence: 'given',
    });
    expect(provenance(merged, 'work-centres', 'lathe', 'setup_min')).toMatchObject({
      value: 40,
      confidence: 'invented',
    });
  });

  test('names unknown rows and columns', () => {
    const [row] = problemsOf(() => provenance(catalog, 'threads', 'M9.5', 'pitch_mm'));
    expect(row).toMatchObject({ code: 'unknown-id', value: 'M9.5' });
    const [column] = problemsOf(() => provenance(catalog, 'threads', 'M8', 'pitch'));
    expect(column?.accept).toContain('pitch_mm');
  });
});

describe('checks of a catalogue', () => {
  type Change = (base: Catalog) => Catalog;
  /** Replaces the first row for which `pick` holds. */
  function change<P extends Exclude<keyof Catalog, 'shopRows'>>(
    property: P,
    pick: (row: Catalog[P][number]) => boolean,
    patch: Partial<Catalog[P][number]>,
  ): Change {
    return (base) => {
      const rows: readonly Catalog[P][number][] = base[property];
      const at = rows.findIndex(pick);
      if (at < 0) throw new Error(`no such row in ${property}`);
      return { ...base, [property]: rows.map((row, i) => (i === at ? { ...row, ...patch } : row)) };
    };
  }
  const any = (): boolean => true;
  const id =
    (wanted: string) =>
    (row: { readonly id: string }): boolean =>
      row.id === wanted;

  const cases: readonly [string, Change, string, string | undefined, string][] = [
    [
      'treatment of an unknown alloy',
      change('treatments', id('c10100-hip-1'), { material: 'x1' }),
      'treatments.csv',
      'material',
      'x1',
    ],
    [
      'size change of an unknown alloy',
      change('dimensionChanges', any, { material: 'x2' }),
      'dimension-changes.csv',
      'material',
      'x2',
    ],
    [
      'size change for a condition that no schedule reaches',
      change('dimensionChanges', (row) => row.condition === 'H900', { condition: 'H901' }),
      'dimension-changes.csv',
      'condition',
      'H901',
    ],
    [
      'route for an unknown family',
      change('thermalRoutes', id('relief'), { appliesTo: ['zinc'] }),
      'thermal-routes.csv',
      'applies_to',
      'zinc',
    ],
    [
      'route with a step that is no treatment',
      change('thermalRoutes', id('relief'), { steps: ['bake'] }),
      'thermal-routes.csv',
      'steps',
      'bake',
    ],
    [
      'route with a step that an alloy has no schedule for',
      change('thermalRoutes', id('relief'), { appliesTo: ['c10100'], steps: ['age'] }),
      'thermal-routes.csv',
      'steps',
      'age',
    ],
    [
      'route with more plate steps than steps',
      change('thermalRoutes', id('relief'), { onPlateSteps: 3 }),
      'thermal-routes.csv',
      'on_plate_steps',
      '3',
    ],
    [
      'needs of an unknown process',
      change('processNeeds', any, { process: 'x3' }),
      'process-needs.csv',
      'process',
      'x3',
    ],
    [
      'needs with an unknown family',
      change('processNeeds', any, { families: ['zinc'] }),
      'process-needs.csv',
      'families',
      'zinc',
    ],
    [
      'rate of an unknown process',
      change('removalRates', any, { process: 'x4' }),
      'removal-rates.csv',
      'process',
      'x4',
    ],
    [
      'surface of an unknown process',
      change('surfaceLayers', any, { state: 'x5' }),
      'surface-layers.csv',
      'state',
      'x5',
    ],
    [
      'printed surface of an unknown alloy',
      change('asBuilt', any, { material: 'x6' }),
      'as-built.csv',
      'material',
      'x6',
    ],
    [
      'work centre with an unknown process',
      change('workCentres', id('saw'), { processes: ['cut-off-band-saw', 'x7'] }),
      'work-centres.csv',
      'processes',
      'x7',
    ],
    [
      'caution for nothing',
      change('cautions', any, { appliesTo: ['x8'] }),
      'cautions.csv',
      'applies_to',
      'x8',
    ],
    [
      'process that no work centre runs',
      change('workCentres', id('saw'), { processes: [] }),
      'processes.csv',
      undefined,
      'cut-off-band-saw',
    ],
    [
      'grades out of order',
      change('processes', id('honing'), { itBest: 5 }),
      'processes.csv',
      'it_economic',
      '4',
    ],
    [
      'Ra out of order',
      change('processes', id('honing'), { raLowUm: 2 }),
      'processes.csv',
      'ra_high_um',
      '0.8',
    ],
    [
      'stock out of order',
      change('processes', id('honing'), { stockMinMm: 1 }),
      'processes.csv',
      'stock_max_mm',
      '0.05',
    ],
    [
      'effect out of order',
      change('processes', id('lapping'), { effectLowUm: 11 }),
      'processes.csv',
      'effect_typical_um',
      '10',
    ],
    [
      'days out of order',
      change('processes', id('lapping'), { leadDaysLow: 11 }),
      'processes.csv',
      'lead_days_high',
      '10',
    ],
    [
      'set point below its minimum',
      change('treatments', id('s17400-age-1'), { minimumC: 490 }),
      'treatments.csv',
      'temperature_c',
      '482',
    ],
    [
      'set point above its maximum',
      change('treatments', id('s17400-age-1'), { maximumC: 480 }),
      'treatments.csv',
      'maximum_c',
      '480',
    ],
    [
      'soak out of order',
      change('treatments', id('s17400-age-1'), { soakMinMin: 80 }),
      'treatments.csv',
      'soak_max_min',
      '75',
    ],
    [
      'schedule that melts the alloy',
      change('materials', id('alsi10mg'), { solidusC: 525 }),
      'treatments.csv',
      'maximum_c',
      '530',
    ],
    [
      'melting range out of order',
      change('materials', id('r56400'), { liquidusC: 1600 }),
      'materials.csv',
      'liquidus_c',
      '1600',
    ],
    [
      'size change out of order',
      change('dimensionChanges', any, { highPerMm: -1 }),
      'dimension-changes.csv',
      'high_per_mm',
      '-1',
    ],
    [
      'process rate out of order',
      change('processNeeds', any, { rateLow: 1e6 }),
      'process-needs.csv',
      'rate_high',
      '60',
    ],
    [
      'removal rate out of order',
      change('removalRates', any, { rateLow: 1e6 }),
      'removal-rates.csv',
      'rate_high',
      '500',
    ],
    [
      'roughness height out of order',
      change('surfaceLayers', any, { rzLowUm: 1e6 }),
      'surface-layers.csv',
      'rz_high_um',
      '90',
    ],
    [
      'defect layer out of order',
      change('surfaceLayers', any, { layerLowUm: 1e6 }),
      'surface-layers.csv',
      'layer_high_um',
      '250',
    ],
    [
      'printed value out of order',
      change('asBuilt', any, { low: 1 }),
      'as-built.csv',
      'typical',
      '0.1',
    ],
    [
      'size step out of order',
      change('iso286Grades', (row) => row.overMm === 30, { upToMm: 20 }),
      'iso286-grades.csv',
      'up_to_mm',
      '20',
    ],
  ];

  test.each(cases)('%s', (_name, apply, file, column, value) => {
    const problems = checkCatalog(apply(catalog));
    const found = problems.find(
      ({ place, value: seen, message }) =>
        place.file === `data/${file}` &&
        place.column === column &&
        (seen === value || (seen === undefined && message.startsWith(value))),
    );
    expect(found, JSON.stringify(problems, null, 1)).toBeDefined();
    expect(found?.place.path).not.toBe('');
    expect(found?.accept).toBeTruthy();
  });

  test('process without needs or surface', () => {
    const problems = checkCatalog({
      ...catalog,
      processNeeds: catalog.processNeeds.filter((row) => row.process !== 'honing'),
      surfaceLayers: catalog.surfaceLayers.filter((row) => row.state !== 'honing'),
    });
    expect(problems.map(({ place, message }) => [place.path, message])).toEqual([
      ['honing', 'honing: no row of process-needs.csv is for this process'],
      ['honing', 'honing: no row of surface-layers.csv is for this process'],
    ]);
  });

  test('value without source', () => {
    const processes = catalog.processes.map((row) => {
      if (row.id !== 'honing') return row;
      const { raSource: _source, raConfidence: _confidence, ...rest } = row;
      return rest;
    });
    const problems = checkCatalog({ ...catalog, processes });
    expect(problems.map(({ place }) => [place.path, place.column])).toEqual([
      ['honing', 'ra_source'],
      ['honing', 'ra_confidence'],
    ]);
  });

  test('a bad row of a shop is named with the file and line of the shop', () => {
    const { catalog: merged, problems } = merge('processes', 'id,it_best\nreaming,6\nhoning,5');
    expect(problems).toEqual([]);
    expect(checkCatalog(merged).map(({ place }) => place)).toEqual([
      { file: 'shop.csv', line: 3, column: 'it_economic', path: 'honing' },
    ]);
  });
});
