import { boxMesh, InputError, measurePart, type Problem, writeStl } from '@offplate/core';
import { readMesh } from '@offplate/core/mesh-file';
import { describe, expect, test } from 'vitest';
import { prismMesh, textStl } from '../fixtures/meshes.js';
import { file3mf, meshXml, modelXml, relationships } from '../fixtures/model-3mf.js';

// 2,000 damaged files from numbered seeds. Each is either refused with located problems or read as
// what its bytes still say; nothing else is thrown, and time and memory stay within bounds.

/** Small seeded generator (mulberry32). */
function randomFrom(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

type Pick = (below: number) => number;
type Damage = (bytes: Uint8Array, pick: Pick) => Uint8Array;

const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);

const cutOff: Damage = (bytes, pick) => bytes.slice(0, pick(bytes.length));
const flipBits: Damage = (bytes, pick) => {
  const out = bytes.slice();
  for (let k = 0; k <= pick(12); k++) {
    const at = pick(out.length);
    out[at] = (out[at] ?? 0) ^ (1 << pick(8));
  }
  return out;
};
const overwrite: Damage = (bytes, pick) => {
  const out = bytes.slice();
  const at = pick(out.length);
  out.fill([0, 0xff, 0x7f, 0x20][pick(4)] ?? 0, at, at + 1 + pick(64));
  return out;
};
const insert: Damage = (bytes, pick) => {
  const at = pick(bytes.length);
  const extra = Uint8Array.from({ length: 1 + pick(40) }, () => pick(256));
  return Uint8Array.from([...bytes.subarray(0, at), ...extra, ...bytes.subarray(at)]);
};
const removePiece: Damage = (bytes, pick) => {
  const at = pick(bytes.length);
  return Uint8Array.from([...bytes.subarray(0, at), ...bytes.subarray(at + 1 + pick(80))]);
};
const doubleUp: Damage = (bytes, pick) =>
  Uint8Array.from([...bytes, ...bytes.subarray(pick(bytes.length))]);

const general = [cutOff, flipBits, overwrite, insert, removePiece, doubleUp];

/** What only a binary STL can suffer. */
const hugeCount: Damage = (bytes, pick) => {
  const out = bytes.slice();
  new DataView(out.buffer).setUint32(
    80,
    [0, 1, 0xffffffff, 0x7fffffff, pick(1e9)][pick(5)] ?? 0,
    true,
  );
  return out;
};
const badFloat: Damage = (bytes, pick) => {
  const out = bytes.slice();
  const facet = pick(Math.floor((out.length - 84) / 50));
  const at = 84 + 50 * facet + 12 + 4 * pick(9);
  new DataView(out.buffer).setUint32(
    at,
    [0x7fc00000, 0x7f800000, 0xff800000, 0x7f7fffff, 1][pick(5)] ?? 0,
    true,
  );
  return out;
};

/** What only a text can suffer: a word is swapped for another one. */
const words = [
  'nan',
  'inf',
  '1e999',
  '-',
  '0x1F',
  '1,5',
  'facet',
  'endsolid',
  '\u0000',
  '\ufffd',
  '9'.repeat(400),
  'loop loop',
  '',
];
const swapWord = (text: string, pick: Pick): string => {
  const parts = text.split(/(\s+|"|<|>)/);
  parts[pick(parts.length)] = words[pick(words.length)] ?? '';
  return parts.join('');
};

const prism = prismMesh(7, 12, 5);
const object = `<object id="1">${meshXml(prism)}</object>`;
const model = modelXml(object, '<item objectid="1"/>');

/** Archives with as many entries as are allowed, and with some more. */
const crowded = (entries: number): Uint8Array =>
  file3mf(model, Object.fromEntries(Array.from({ length: entries }, (_, k) => [`e${k}`, ''])));
const crowds = [crowded(9_900), crowded(10_050)] as const;

/** What only a 3MF file can suffer. */
const hostile: readonly ((pick: Pick) => Uint8Array)[] = [
  (pick) => file3mf(swapWord(model, pick)),
  (pick) => file3mf(model, { '_rels/.rels': swapWord(relationships(), pick) }),
  (pick) =>
    file3mf(model, { [['../up', '/root', 'c:\\x', 'a/../../b', 'x\\..\\y'][pick(5)] ?? '']: 'x' }),
  (pick) =>
    file3mf(model, {
      '_rels/.rels': relationships(
        ['/../x.model', 'file:///etc/passwd', '//host/x', '/3D//x', '\\\\host\\x', '/.'][pick(6)],
      ),
    }),
  (pick) =>
    file3mf(
      model.replace(
        '<model',
        `<!DOCTYPE m [${`<!ENTITY a${pick(9)} "&b;&b;">`.repeat(1 + pick(5))}]><model`,
      ),
    ),
  (pick) => file3mf(model.replace('A part', `&a${pick(9)};`)),
  (pick) => file3mf(model.replace('<build>', `<build>${' '.repeat(2_000_000 + pick(1_000_000))}`)),
  (pick) => file3mf(model.replace('<resources>', `<resources>${'<x>'.repeat(60 + pick(5000))}`)),
  (pick) => {
    const levels = 5 + pick(60);
    const steps = Array.from(
      { length: levels },
      (_, k) =>
        `<object id="${k + 2}"><components>${`<component objectid="${k + 1}"/>`.repeat(2 + pick(3))}</components></object>`,
    );
    return file3mf(modelXml(object + steps.join(''), `<item objectid="${levels + 1}"/>`));
  },
  (pick) => {
    // the sizes that the archive declares, in its directory and before its entries
    const bytes = file3mf(model);
    const view = new DataView(bytes.buffer);
    for (let at = 0; at + 30 < bytes.length; at++) {
      const mark = view.getUint32(at, true);
      const size = mark === 0x04034b50 ? 18 : mark === 0x02014b50 ? 20 : 0;
      if (size > 0)
        view.setUint32(at + size + 4 * pick(2), [0, 1, 0xffffffff, pick(1e9)][pick(4)] ?? 0, true);
    }
    return bytes;
  },
  (pick) => crowds[pick(2)] ?? crowds[0],
];

const sound = {
  binary: writeStl(prism),
  text: bytesOf(textStl(prism)),
  '3mf': file3mf(model),
} as const;

function damaged(seed: number): Uint8Array {
  const random = randomFrom(seed);
  const pick: Pick = (below) => Math.floor(random() * below);
  const harm = (bytes: Uint8Array, ways: readonly Damage[]): Uint8Array => {
    let out = bytes;
    for (let k = 0; k <= pick(3) && out.length > 200; k++)
      out = (ways[pick(ways.length)] ?? cutOff)(out, pick);
    return out;
  };
  switch (seed % 4) {
    case 0:
      return harm(sound.binary, [...general, hugeCount, badFloat, badFloat]);
    case 1:
      return pick(2) === 0 ? harm(sound.text, general) : bytesOf(swapWord(textStl(prism), pick));
    case 2:
      return harm(sound['3mf'], general);
    default:
      return (hostile[pick(hostile.length)] ?? (() => sound['3mf']))(pick);
  }
}

/** Code or place of what was said; undefined when the bytes were read. */
function outcome(bytes: Uint8Array): readonly Problem[] | undefined {
  try {
    const { mesh } = readMesh(bytes, { file: 'part' });
    const part = measurePart(mesh, { thicknessSamples: 5, layers: 3 });
    expect(Number.isFinite(part.volumeMm3 + part.surfaceAreaMm2 + part.facing.overhangMm2)).toBe(
      true,
    );
    return undefined;
  } catch (error) {
    if (error instanceof InputError) return error.problems;
    throw error;
  }
}

describe('2,000 damaged mesh files', () => {
  test('the sound ones are read', () => {
    for (const bytes of Object.values(sound)) expect(outcome(bytes)).toBeUndefined();
  });
  test.each([0, 1, 2, 3])('seeds of rest %i: a located message or a mesh, and soon', (rest) => {
    const said = new Map<string, number>();
    let refused = 0;
    let slowest = 0;
    for (let seed = rest; seed < 2000; seed += 4) {
      const bytes = damaged(seed);
      const start = process.cpuUsage();
      const problems = outcome(bytes);
      const { user } = process.cpuUsage(start);
      slowest = Math.max(slowest, user / 1e6);
      if (problems === undefined) continue;
      refused++;
      expect(problems.length, `seed ${seed}`).toBeGreaterThan(0);
      for (const { place, message, code } of problems) {
        expect(place.file, `seed ${seed}`).toBe('part');
        expect(message.length, `seed ${seed}`).toBeGreaterThan(8);
        said.set(code, (said.get(code) ?? 0) + 1);
      }
    }
    // bits flipped in a coordinate make another part, not a fault: most others are refused
    expect(refused).toBeGreaterThan(200);
    expect(said.size).toBeGreaterThan(1);
    expect(slowest).toBeLessThan(5);
  });
  test('what an archive declares is never allocated unseen', () => {
    const before = process.memoryUsage().arrayBuffers;
    for (let seed = 3; seed < 400; seed += 4) outcome(damaged(seed));
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(500e6);
  });
});

test('a file of random bytes is refused', () => {
  for (let seed = 0; seed < 200; seed++) {
    const random = randomFrom(seed);
    const bytes = Uint8Array.from(
      { length: 1 + Math.floor(random() * 3000) },
      () => random() * 256,
    );
    expect(outcome(bytes)?.length).toBeGreaterThan(0);
  }
  expect(outcome(writeStl(boxMesh(1, 1, 1)))).toBeUndefined();
});
