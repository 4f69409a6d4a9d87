import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { checkRouteModel, type Plan, type RouteModel, solveRouteModel } from '@offplate/core';
import { parse } from 'csv-parse/sync';
import { extractText } from 'unpdf';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { commands } from '../../packages/cli/src/commands/table.js';
import { runFake } from './fake-io.js';

const root = mkdtempSync(join(tmpdir(), 'offplate-run-'));
const job = join(root, 'starter');
const at = (...parts: readonly string[]): string => join(root, ...parts);
const read = (path: string): string => readFileSync(path, 'utf8');

let planned: Promise<Plan> | undefined;
/** The plan of the starter job, made once. */
function starterPlan(): Promise<Plan> {
  planned ??= runFake(['plan', job, '--json']).then(({ stdout }) => JSON.parse(stdout) as Plan);
  return planned;
}

/** A change of the starter job in a folder of its own. */
function variant(name: string, change: (json: Record<string, unknown>) => unknown): string {
  const folder = at(name);
  mkdirSync(folder);
  const changed = change(JSON.parse(read(join(job, 'job.json'))) as Record<string, unknown>);
  writeFileSync(join(folder, 'job.json'), JSON.stringify(changed));
  writeFileSync(join(folder, 'features.csv'), read(join(job, 'features.csv')));
  return folder;
}

beforeAll(async () => {
  const made = await runFake(['new', job]);
  expect(made.code).toBe(0);
});
afterAll(() => rmSync(root, { recursive: true }));

describe('help and version', () => {
  test('asked for, help is a result', async () => {
    const { code, stdout, stderr } = await runFake(['--help']);
    expect([code, stderr]).toEqual([0, '']);
    for (const verb of Object.keys(commands))
      expect(stdout).toMatch(new RegExp(`^ {2}${verb} `, 'm'));
    for (const exit of [0, 1, 2, 3, 4, 70, 130])
      expect(stdout).toMatch(new RegExp(`^ {2,4}${exit} {2}\\S`, 'm'));
  });

  test('without a command it is a message', async () => {
    const { code, stdout, stderr } = await runFake([]);
    expect([code, stdout]).toEqual([2, '']);
    expect(stderr).toContain('Commands');
  });

  test.each(Object.keys(commands))(
    '%s --help shows its operands, options and examples',
    async (verb) => {
      for (const argv of [
        [verb, '--help'],
        ['-h', verb],
        [verb, 'x', '-h'],
      ]) {
        const { code, stdout, stderr } = await runFake(argv);
        expect([code, stderr]).toEqual([0, '']);
        expect(stdout).toMatch(new RegExp(`^offplate ${verb} `));
        expect(stdout).toContain(`Examples\n  offplate ${verb}`);
        expect(stdout).toContain('-h, --help');
        for (const line of stdout.split('\n')) expect(line.length).toBeLessThanOrEqual(100);
      }
    },
  );

  test('the version is the one of the package', async () => {
    const { stdout } = await runFake(['--version']);
    const { version } = JSON.parse(
      read(new URL('../../packages/cli/package.json', import.meta.url).pathname),
    ) as { version: string };
    expect(stdout).toBe(`offplate ${version}\n`);
  });
});

describe('wrong usage ends with 2 and says what was meant', () => {
  test.each([
    [['plann', 'x'], 'there is no command "plann"; did you mean plan?'],
    [['constructor'], 'there is no command "constructor"; offplate --help lists them'],
    [['pla', 'x'], 'there is no command "pla"; did you mean plan?'],
    [['plan'], 'plan needs <job>'],
    [['plan', ''], '<job> is empty'],
    [['plan', 'a', 'b'], 'plan does not take "b"'],
    [['plan', 'a', '--quanttiy', '3'], 'plan has no option --quanttiy; did you mean --quantity?'],
    [['plan', 'a', '--quant', '3'], 'plan has no option --quant'],
    [['plan', 'a', '-x'], 'plan has no option -x'],
    [['plan', 'a', '--__proto__', 'x'], 'plan'],
    [['plan', 'a', '--json=yes'], '--json takes no value'],
    [['plan', 'a', '--no-json'], 'plan has no option --no-json'],
    [['plan', 'a', '--json', '--csv'], '--json and --csv exclude each other'],
    [['plan', 'a', '--out'], '--out needs a value: --out <file>'],
    [['plan', 'a', '--out='], '--out needs a value'],
    [['plan', 'a', '--quantity', '2', '--quantity=3'], '--quantity is given more than once'],
    [['plan', 'a', '--strict', '--strict'], '--strict is given more than once'],
    [['plan', 'a', '--quantity', 'many'], '--quantity cannot be "many"; accepted: a whole number'],
    [['plan', 'a', '--quantity', '0x10'], '--quantity cannot be "0x10"'],
    [['plan', 'a', '--quantity', '2.5'], '--quantity cannot be "2.5"'],
    [['plan', 'a', '--quantity', '1,000'], '--quantity cannot be "1,000"'],
    [['plan', 'a', '--quantity=0'], '--quantity cannot be "0"'],
    [['plan', 'a', '--quantity=-4'], '--quantity cannot be "-4"'],
    [['traveller', 'a'], 'traveller needs --out <file.pdf>'],
    [
      ['traveller', 'a', '--out', 'f.pdf', '--format', 'A3'],
      '--format cannot be "A3"; accepted: A4, Letter',
    ],
    [
      ['traveller', 'a', '--out', 'f.pdf', '--issued-on', '2027-02-30'],
      '--issued-on cannot be "2027-02-30"',
    ],
    [['limits', '25 H7', '--general', 'zz'], '--general cannot be "zz"'],
    [['limits', '-5'], '-5 looks like an option: put -- before'],
    [['catalog', 'matreials'], 'there is no table "matreials"; did you mean materials?'],
    [
      ['catalog', 'materials', 's1740'],
      'there is no row of materials "s1740"; did you mean s17400?',
    ],
    [['catalog', '--csv'], 'catalog --csv needs a table'],
    [['catalog', 'materials', '--check'], '--check looks at all tables'],
    [['--frobnicate'], '--frobnicate is no option before a command'],
  ])('%j', async (argv, message) => {
    const { code, stdout, stderr } = await runFake(argv);
    expect([code, stdout]).toEqual([2, '']);
    expect(stderr).toContain(message);
    expect(stderr).toContain('--help shows how');
    expect(stderr.split('\n').length).toBe(3);
  });

  test('a terminal is no standard input', async () => {
    const { code, stderr } = await runFake(['plan', '-'], { stdinIsTerminal: true });
    expect([code, stderr]).toEqual([2, expect.stringContaining('pipe one in')]);
    const pdf = await runFake(['traveller', job, '--out', '-'], { columns: 100 });
    expect([pdf.code, pdf.stderr]).toEqual([2, expect.stringContaining('redirect it')]);
  });
});

describe('limits', () => {
  test('a fit, with deviations and grade', async () => {
    const { code, stdout, stderr } = await runFake(['limits', '25 H7']);
    expect([code, stderr]).toEqual([0, '']);
    expect(stdout).toMatch(/upper limit +25\.021 .*\+21/);
    expect(stdout).toContain('IT7');
  });

  test('a size that begins with a minus, after --', async () => {
    const { code, stderr } = await runFake(['limits', '--', '-0.5 +0.1']);
    expect([code, stderr]).toEqual([3, expect.stringContaining('size:1: ')]);
  });

  test('JSON names its schema', async () => {
    const { stdout } = await runFake(['limits', '80', '--general', 'mK', '--json']);
    expect(JSON.parse(stdout)).toMatchObject({
      schema: 'limits/1',
      form: 'size',
      size: { lowerMm: 79.7, upperMm: 80.3, origin: 'general' },
    });
    const thread = await runFake(['limits', 'M8-6H', '--json']);
    expect(JSON.parse(thread.stdout)).toMatchObject({ form: 'thread', thread: { pitchMm: 1.25 } });
  });

  test('a bad size ends with 3, place, value and what is accepted', async () => {
    const { code, stdout, stderr } = await runFake(['limits', '25 H77']);
    expect([code, stdout]).toEqual([3, '']);
    expect(stderr).toMatch(/^size:4: .*\(found "25 H77"\); accepted: .*H7/);
  });

  test('what is read differently from how it is written is said', async () => {
    const { code, stderr } = await runFake(['limits', '20.05-19.95']);
    expect([code, stderr]).toEqual([0, expect.stringContaining('swapped')]);
  });
});

describe('new', () => {
  test('writes a job with its guide and keeps what is there', async () => {
    expect(readdirSync(job).sort()).toEqual(['features.csv', 'guide.md', 'job.json']);
    writeFileSync(join(job, 'job.json'), `${read(join(job, 'job.json'))}\n`);
    const mine = read(join(job, 'job.json'));
    const { code, stderr } = await runFake(['new', job]);
    expect([code, stderr]).toEqual([
      4,
      expect.stringContaining('job.json exists; --force replaces it'),
    ]);
    expect(read(join(job, 'job.json'))).toBe(mine);
    expect((await runFake(['new', job, '--force'])).code).toBe(0);
    expect(read(join(job, 'job.json'))).not.toBe(mine);
  });

  test('all or none: one file in the way, nothing is written', async () => {
    const folder = at('half');
    mkdirSync(folder);
    writeFileSync(join(folder, 'guide.md'), 'mine');
    const { code } = await runFake(['new', folder]);
    expect(code).toBe(4);
    expect(readdirSync(folder)).toEqual(['guide.md']);
    expect(read(join(folder, 'guide.md'))).toBe('mine');
  });

  test('a file in place of the folder', async () => {
    writeFileSync(at('plain'), '');
    const { code, stderr } = await runFake(['new', at('plain')]);
    expect([code, stderr]).toEqual([4, expect.stringContaining('plain')]);
  });

  test('every field of the guide is one of the job', async () => {
    const guide = read(join(job, 'guide.md'));
    const schema = read(new URL('../../schema/job.schema.json', import.meta.url).pathname);
    const fields = [...guide.matchAll(/^\| ([\w., ]+) \| .+ \|$/gm)]
      .flatMap(([, names = '']) => names.split(', '))
      .filter((name) => name !== 'field' && name !== 'column')
      .map((name) => name.split('.').at(-1) ?? name);
    expect(fields.length).toBeGreaterThan(30);
    for (const field of fields)
      expect(schema, field).toContain(
        `"${field === 'Ra' || field === 'Rz' ? field.toLowerCase() : field}"`,
      );
  });
});

describe('plan and its parts', () => {
  test('the starter job plans without a word on the standard error', async () => {
    const { code, stdout, stderr } = await runFake(['plan', job]);
    expect([code, stderr]).toEqual([0, '']);
    expect(stdout).toMatch(/^Starter bracket · ST-1-A\n12 parts/);
    for (const title of ['Route', 'Features', 'Heat treatment', 'Assumptions', 'Cautions'])
      expect(stdout).toContain(`\n${title}\n`);
    expect(stdout).not.toContain('\u001b[');
  });

  test('a job file and the standard input give the same plan as the folder', async () => {
    const options = ['--json', '--quantity', '3'];
    const folder = await runFake(['plan', job, ...options]);
    const file = await runFake(['plan', join(job, 'job.json'), ...options]);
    const plan = JSON.parse(folder.stdout) as Plan;
    expect(plan).toMatchObject({ schema: 'plan/1', feasible: true, job: { quantity: 3 } });
    expect(file.stdout).toBe(folder.stdout);
    const inline = JSON.parse(read(join(job, 'job.json'))) as Record<string, unknown>;
    inline.features = [
      { id: 'B1', kind: 'bore', size: '12 H7', depth: 18, facing: 'up', access: ['+z'] },
    ];
    const piped = await runFake(['plan', '-', '--json'], { stdin: JSON.stringify(inline) });
    expect([piped.code, piped.stderr]).toEqual([0, '']);
    expect((JSON.parse(piped.stdout) as Plan).features.map(({ id }) => id)).toEqual(['B1']);
  });

  test('colour on a terminal, not with --no-color', async () => {
    const shown = await runFake(['plan', job], { columns: 120 });
    expect(shown.stdout).toContain('\u001b[1mRoute\u001b[22m');
    const plain = await runFake(['plan', job, '--no-color'], { columns: 120 });
    expect(plain.stdout).toContain('\nRoute\n');
    expect(plain.stdout).not.toContain('\u001b');
  });

  test('--out writes a file, CSV with a byte order mark, and refuses to replace it', async () => {
    const path = at('operations.csv');
    const argv = ['plan', job, '--csv', '--out', path];
    const first = await runFake(argv);
    expect([first.code, first.stdout, first.stderr]).toEqual([0, '', `wrote ${path}\n`]);
    expect(read(path)).toMatch(/^\ufeffoperation,process,title,/);
    const rows = parse(read(path), { bom: true, columns: true }) as Record<string, string>[];
    expect(rows.map(({ operation }) => operation)).toContain('10');
    writeFileSync(path, 'mine');
    const second = await runFake(argv);
    expect([second.code, read(path)]).toEqual([4, 'mine']);
    expect(second.stderr).toBe(`offplate: ${path} exists; --force replaces it\n`);
    expect((await runFake([...argv, '--force'])).code).toBe(0);
    expect(read(path)).not.toBe('mine');
    const nowhere = await runFake(['plan', job, '--out', at('no', 'such', 'f.txt')]);
    expect([nowhere.code, nowhere.stderr]).toEqual([4, expect.stringContaining('no such folder')]);
    expect(existsSync(at('no'))).toBe(false);
  });

  test('late is a word of the text, and exit code 1 with --strict', async () => {
    const late = variant('late', (json) => ({
      ...json,
      order: { ...(json.order as object), startOn: '2027-03-01', dueOn: '2027-03-02' },
    }));
    const lenient = await runFake(['plan', late]);
    expect([lenient.code, lenient.stdout]).toEqual([
      0,
      expect.stringMatching(/due 2027-03-02, late by/),
    ]);
    expect((await runFake(['plan', late, '--strict'])).code).toBe(1);
    expect((await runFake(['quote', late, '--strict'])).code).toBe(1);
  });

  test('the parts agree with the plan and name their schemas', async () => {
    const plan = await starterPlan();
    const stock = JSON.parse((await runFake(['stock', job, '--json'])).stdout) as Plan;
    const quote = JSON.parse((await runFake(['quote', job, '--json'])).stdout) as Plan;
    expect(stock).toEqual({ schema: 'stock/1', job: plan.job, stock: plan.stock });
    expect(quote).toEqual({
      schema: 'quote/1',
      job: plan.job,
      cost: plan.cost,
      schedule: plan.schedule,
    });
    const stockText = await runFake(['stock', job]);
    expect([stockText.code, stockText.stderr]).toEqual([0, '']);
    expect(stockText.stdout).toMatch(/^height off the plate \d+\.\d\d mm/m);
    const rows = parse((await runFake(['stock', job, '--csv'])).stdout, { columns: true });
    expect(rows).toHaveLength(plan.stock.faces.length + 1);
    const quoteText = await runFake(['quote', job]);
    expect(quoteText.stdout).toContain('the rates of the built-in catalogue are invented');
    const lines = parse((await runFake(['quote', job, '--csv'])).stdout, { columns: true });
    expect(lines).toHaveLength(plan.cost.lines.length + 2 + plan.cost.breaks.length);
  });

  test('the model of the route has the objective of the plan', async () => {
    const { code, stdout } = await runFake(['model', job]);
    expect(code).toBe(0);
    const model = JSON.parse(stdout) as RouteModel;
    expect(model.schema).toBe('route-model/1');
    expect(checkRouteModel(model)).toEqual([]);
    const plan = await starterPlan();
    expect(solveRouteModel(model).objective).toBeCloseTo(plan.proof.objective, 6);
  });

  test('warnings of the reader go to the standard error', async () => {
    const folder = variant('spare', (json) => json);
    const csv = read(join(folder, 'features.csv')).split('\n');
    const wider = csv.map((line, row) =>
      line === '' ? '' : `${line},${row === 0 ? 'buyer' : 'x'}`,
    );
    writeFileSync(join(folder, 'features.csv'), wider.join('\n'));
    const { code, stderr } = await runFake(['stock', folder]);
    expect(code).toBe(0);
    expect(stderr).toMatch(/^warning: .*features\.csv:1: .*buyer/);
  });
});

describe('what cannot be met', () => {
  const impossible = (): string =>
    variant(`impossible-${readdirSync(root).length}`, (json) => ({
      ...json,
      features: [
        { id: 'C1', kind: 'channel', size: '3 ±0.3', ra: 0.05, length: 40, facing: 'side' },
        {
          id: 'P1',
          kind: 'plane',
          size: '28 ±0.1',
          ra: 3.2,
          length: 62,
          width: 40,
          facing: 'down',
          access: ['-z'],
        },
      ],
    }));

  test('the plan shows the conflict and ends with 1', async () => {
    const { code, stdout } = await runFake(['plan', impossible()]);
    expect(code).toBe(1);
    expect(stdout).toMatch(/^not feasible: \d conflicts?, listed below$/m);
    expect(stdout).toMatch(/\nConflicts\nC1: /);
    expect(stdout).toMatch(/^C1: Ra 0\.05\n {4}best reachable: /m);
  });

  test('a part of the plan says it on the standard error', async () => {
    const folder = impossible();
    for (const verb of ['stock', 'quote']) {
      const { code, stderr } = await runFake([verb, folder]);
      expect(code).toBe(1);
      expect(stderr).toMatch(/^the job cannot be made as it stands:\nC1: /);
    }
    const { code, stdout } = await runFake(['plan', folder, '--json']);
    expect([code, (JSON.parse(stdout) as Plan).feasible]).toEqual([1, false]);
  });

  test('no traveller, unless an incomplete one is asked for', async () => {
    const folder = impossible();
    const path = at('incomplete.pdf');
    const refused = await runFake(['traveller', folder, '--out', path]);
    expect([refused.code, existsSync(path)]).toEqual([1, false]);
    expect(refused.stderr).toContain('no traveller was written');
    const written = await runFake(['traveller', folder, '--out', path, '--incomplete']);
    expect([written.code, existsSync(path)]).toEqual([1, true]);
  });
});

describe('traveller', () => {
  test('the same job gives the same bytes, whatever the clock says', async () => {
    const first = await runFake(['traveller', job, '--out', '-']);
    const second = await runFake(['traveller', job, '--out', '-']);
    expect([first.code, first.stderr]).toEqual([0, '']);
    expect(Buffer.from(first.bytes.slice(0, 5)).toString()).toBe('%PDF-');
    expect(Buffer.compare(first.bytes, second.bytes)).toBe(0);
    const dated = await runFake(['traveller', job, '--out', '-'], {
      env: { SOURCE_DATE_EPOCH: '1800000000' },
    });
    expect(Buffer.compare(first.bytes, dated.bytes)).not.toBe(0);
  });

  test('page size, issue and part reach the sheet', async () => {
    const path = at('letter.pdf');
    const argv = ['traveller', job, '--out', path, '--format=Letter', '--issued-on', '2027-01-05'];
    const { code, stderr } = await runFake([...argv, '--issued-by', 'M. Arden']);
    expect([code, stderr]).toEqual([0, `wrote ${path}\n`]);
    const bytes = new Uint8Array(readFileSync(path));
    expect(Buffer.from(bytes).toString('latin1')).toMatch(/MediaBox \[0 0 612 792\]/);
    const { text } = await extractText(bytes, { mergePages: true });
    for (const word of ['Starter bracket', 'ST-1-A', '2027-01-05', 'M. Arden'])
      expect(text).toContain(word);
  });
});

describe('shop folder and catalogue', () => {
  test('lists tables, rows, one row with its sources', async () => {
    const list = await runFake(['catalog']);
    expect(list.stdout).toMatch(/^materials +\d+ +materials\.csv/m);
    const table = await runFake(['catalog', 'materials']);
    expect(table.stdout).toMatch(/^s17400 /m);
    const row = await runFake(['catalog', 'materials', 'S17400']);
    expect(row.stdout).toMatch(/^Density, kg\/m3 +7750 +read +\S/m);
    const json = JSON.parse((await runFake(['catalog', 'materials', 's17400', '--json'])).stdout);
    expect(json).toMatchObject({
      schema: 'catalog/1',
      table: 'materials',
      rows: [{ id: 's17400' }],
    });
    const index = JSON.parse((await runFake(['catalog', '--json'])).stdout) as {
      tables: unknown[];
    };
    expect(index.tables).toHaveLength(
      list.stdout
        .trimEnd()
        .split('\n')
        .filter((line) => /\.csv/.test(line)).length,
    );
  });

  test('--check is content with the built-in tables', async () => {
    const { code, stdout } = await runFake(['catalog', '--check']);
    expect([code, stdout]).toEqual([0, expect.stringMatching(/^sound: \d+ tables, \d+ rows\n$/)]);
  });

  test('a table printed as CSV is a shop table', async () => {
    const folder = at('shop-copy');
    mkdirSync(folder);
    for (const table of ['materials', 'work-centres', 'treatments', 'processes', 'process-needs']) {
      const path = join(folder, `${table}.csv`);
      expect((await runFake(['catalog', table, '--csv', '--out', path])).code).toBe(0);
    }
    const { code, stdout, stderr } = await runFake(['catalog', '--check', '--shop', folder]);
    expect([code, stderr]).toEqual([0, '']);
    expect(stdout).toMatch(/from the shop folder/);
  });

  test("the shop's rate changes the price", async () => {
    const folder = at('shop');
    mkdirSync(folder);
    const centres = (await runFake(['catalog', 'work-centres', '--csv'])).stdout;
    const ids = (parse(centres, { columns: true }) as Record<string, string>[]).map(({ id }) => id);
    const rows = ids.map((id) => `${id},500`).join('\n');
    writeFileSync(join(folder, 'work-centres.csv'), `id,rate_per_h\n${rows}\n`);
    const price = async (...more: readonly string[]): Promise<number> =>
      (JSON.parse((await runFake(['quote', job, '--json', ...more])).stdout) as Plan).cost.perLot;
    expect(await price('--shop', folder)).toBeGreaterThan((await starterPlan()).cost.perLot);
  });

  test('bad shop tables end with 3, each bad row named', async () => {
    const folder = at('bad-shop');
    mkdirSync(folder);
    writeFileSync(join(folder, 'work-centres.csv'), 'id,rate_per_h\nsaw,cheap\nnew-saw,40\n');
    writeFileSync(join(folder, 'work-centers.csv'), 'id\n');
    for (const argv of [
      ['catalog', '--check'],
      ['plan', job],
    ]) {
      const { code, stdout, stderr } = await runFake([...argv, '--shop', folder]);
      expect([code, stdout]).toEqual([3, '']);
      expect(stderr).toContain('work-centres.csv:2:rate_per_h');
      expect(stderr).toContain('did you mean work-centres.csv?');
    }
    const { code } = await runFake(['plan', job, '--shop', at('no-shop')]);
    expect(code).toBe(4);
  });
});

describe('files that cannot be read or written end with 4', () => {
  test('no such job', async () => {
    const { code, stdout, stderr } = await runFake(['plan', at('nothing')]);
    expect([code, stdout]).toEqual([4, '']);
    expect(stderr).toBe(
      `offplate: ${at('nothing')} cannot be read: there is no such file or folder\n`,
    );
  });

  test('a folder without a job', async () => {
    mkdirSync(at('empty'));
    const { code, stderr } = await runFake(['plan', at('empty')]);
    expect([code, stderr]).toEqual([4, expect.stringContaining('job.json cannot be read')]);
  });

  test('a features table that is not there is a fault of the job', async () => {
    const folder = variant('no-table', (json) => json);
    rmSync(join(folder, 'features.csv'));
    const { code, stderr } = await runFake(['plan', folder]);
    expect([code, stderr]).toEqual([
      3,
      expect.stringMatching(/job\.json:\d+:\d+ features: .*features\.csv/),
    ]);
  });

  test('a folder that may not be written', async () => {
    const folder = at('locked');
    mkdirSync(folder);
    chmodSync(folder, 0o500);
    const { code } = await runFake(['new', join(folder, 'job')]);
    // root may write everywhere
    expect(code).toBe(process.getuid?.() === 0 ? 0 : 4);
    chmodSync(folder, 0o700);
  });
});

describe('problems of the input', () => {
  const broken = JSON.stringify({ schemaVersion: 'job/1', part: { name: 5 }, features: [] });

  test('all at once, one a line, no trace', async () => {
    const { code, stdout, stderr } = await runFake(['plan', '-'], { stdin: broken });
    expect([code, stdout]).toEqual([3, '']);
    const lines = stderr.trimEnd().split('\n');
    expect(lines.length).toBeGreaterThan(5);
    expect(lines.at(-1)).toBe(
      `offplate: ${lines.length - 1} problems in the input; nothing was written`,
    );
    for (const line of lines.slice(0, -1)) expect(line).toMatch(/^<stdin>:\d+:\d+ /);
    expect(stderr).not.toMatch(/^\s+at /m);
  });

  test('with --json as one document on the standard error', async () => {
    const { code, stdout, stderr } = await runFake(['plan', '-', '--json'], { stdin: broken });
    expect([code, stdout]).toEqual([3, '']);
    const document = JSON.parse(stderr) as { schema: string; problems: { code: string }[] };
    expect(document.schema).toBe('problems/1');
    expect(document.problems.map(({ code }) => code)).toContain('wrong-type');
  });
});

describe('trouble with the outputs', () => {
  test('a reader that has left is no trouble', async () => {
    const { code, stderr } = await runFake(['limits', '25 H7'], { stdoutFails: 'EPIPE' });
    expect([code, stderr]).toEqual([0, '']);
  });

  test('what nobody foresaw ends with 70, without a trace unless asked for', async () => {
    const { code, stderr } = await runFake(['limits', '25 H7'], { stdoutFails: 'EWEIRD' });
    expect([code, stderr]).toEqual([
      70,
      expect.stringMatching(/^offplate: internal error: write failed\n/),
    ]);
    expect(stderr).not.toMatch(/^\s+at /m);
    const env = { OFFPLATE_DEBUG: '1' };
    const debug = await runFake(['limits', '25 H7'], { stdoutFails: 'EWEIRD', env });
    expect(debug.stderr).toMatch(/^\s+at /m);
  });
});
