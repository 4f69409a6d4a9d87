// Damages an input in the ways in which files really go bad and in which people attack readers.

/** Small seeded generator (mulberry32): a whole number below `below`. */
export function pickFrom(seed) {
  let state = seed | 0;
  return (below) => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return Math.floor((((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296) * below);
  };
}

const tokens = [
  ...[
    '__proto__',
    'constructor',
    'prototype',
    'toString',
    '"__proto__":{"a":1},',
    'hasOwnProperty',
  ],
  ...[
    '=1+1',
    '+cmd',
    '@SUM(A1)',
    '-1',
    '\t=1',
    '＝1',
    '../',
    '/etc/passwd',
    '..\\',
    '\0',
    '%2e%2e/',
  ],
  ...['NaN', 'Infinity', '-0', '1e999', '1e-999', '9007199254740993', '0x10', '1_000', '٣', '１'],
  ...[
    '\ufeff',
    '\u2028',
    '\u202e',
    '\ud800',
    '𝟙',
    'é',
    'ß',
    'İ',
    '±',
    '⌀',
    'µ',
    '°',
    'Ⓜ',
    '−',
    '’',
  ],
  ...[
    'null',
    'true',
    '{}',
    '[]',
    '{"a":',
    '[[[[[[',
    '((((((',
    '))))',
    '"',
    '""',
    "'",
    '\\',
    '\\u0000',
  ],
  ...[
    ',',
    ';',
    '\n',
    '\r\n',
    '\r',
    '\t',
    ' ',
    '.',
    '..',
    '/',
    '-',
    '+',
    '*',
    '^',
    '|',
    '#',
    '<!--',
  ],
  ...[
    'H7',
    'js6',
    'ZC18',
    'M8x1.25-6H',
    'IT18',
    '25',
    '0.000000001',
    '1e308',
    '4x',
    'max',
    'mm',
    'in',
  ],
  ...['<!ENTITY x "y">', '&x;', 'solid', 'facet normal', 'vertex nan nan nan', 'endsolid'],
];

/** A text of up to `maxLength` characters that was one of the seeds or parts of several. */
export function mutateText(pick, seeds, maxLength = 200_000) {
  const seed = () => seeds[pick(seeds.length)];
  let text = pick(40) === 0 ? noise(pick, pick(60)) : seed();
  for (let rounds = pick(4); rounds >= 0; rounds--) {
    const at = pick(text.length + 1);
    const length = pick(10) === 0 ? pick(text.length + 1) : pick(12);
    const [before, part, after] = [
      text.slice(0, at),
      text.slice(at, at + length),
      text.slice(at + length),
    ];
    switch (pick(9)) {
      case 0:
        text = before + after;
        break;
      case 1:
        text = before + part + part + after;
        break;
      case 2:
        text = before + tokens[pick(tokens.length)] + part + after;
        break;
      case 3:
        text = before + tokens[pick(tokens.length)] + after;
        break;
      case 4:
        text = before + part.repeat(1 + pick(pick(50) === 0 ? 400 : 8)) + after;
        break;
      case 5:
        text = before + noise(pick, pick(5)) + after;
        break;
      case 6: {
        const other = seed();
        const from = pick(other.length + 1);
        text = before + other.slice(from, from + 1 + pick(40)) + after;
        break;
      }
      case 7:
        text = before + [...part].reverse().join('') + after;
        break;
      default:
        text = before + (pick(2) === 0 ? part.toUpperCase() : part.toLowerCase()) + after;
    }
  }
  return text.slice(0, maxLength);
}

function noise(pick, length) {
  const kind = pick(3);
  const one = () => {
    if (kind === 0) return 32 + pick(95);
    return kind === 1 ? pick(256) : pick(0x10000);
  };
  return String.fromCharCode(...Array.from({ length }, one));
}

/** Bytes that were one of the seeds. */
export function mutateBytes(pick, seeds) {
  let bytes = seeds[pick(seeds.length)].slice();
  for (let rounds = pick(5); rounds >= 0; rounds--) {
    const at = pick(bytes.length + 1);
    const end = Math.min(bytes.length, at + 1 + pick(40));
    switch (pick(5)) {
      case 0:
        if (at < bytes.length) bytes[at] ^= 1 << pick(8);
        break;
      case 1:
        bytes.fill([0, 0xff, 0x7f, 0x20][pick(4)], at, end);
        break;
      case 2:
        bytes = joined(bytes.subarray(0, at), bytes.subarray(end));
        break;
      case 3:
        bytes = joined(bytes.subarray(0, end), bytes.subarray(at));
        break;
      default:
        bytes =
          pick(8) === 0
            ? bytes.slice(0, at)
            : joined(bytes.subarray(0, at), text(pick), bytes.subarray(at));
    }
  }
  return bytes;
}

const text = (pick) => new TextEncoder().encode(tokens[pick(tokens.length)]);

function joined(...parts) {
  const all = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}
