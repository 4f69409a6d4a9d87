/**
 * Widths of bars and spaces of each symbol character, in modules, by value (ISO/IEC 15417:2007,
 * table 1, from memory; a decoder in the tests confirms it). 103 to 105 start, 106 stops.
 */
const patterns =
  '212222 222122 222221 121223 121322 131222 122213 122312 132212 221213 221312 231212 112232 122132 122231 113222 123122 123221 223211 221132 221231 213212 223112 312131 311222 321122 321221 312212 322112 322211 212123 212321 232121 111323 131123 131321 112313 132113 132311 211313 231113 231311 112133 112331 132131 113123 113321 133121 313121 211331 231131 213113 213311 213131 311123 311321 331121 312113 312311 332111 314111 221411 431111 111224 111422 121124 121421 141122 141221 112214 112412 122114 122411 142112 142211 241211 221114 413111 241112 134111 111242 121142 121241 114212 124112 124211 411212 421112 421211 212141 214121 412121 111143 111341 131141 114113 114311 411113 411311 113141 114131 311141 411131 211412 211214 211232 2331112'.split(
    ' ',
  );

const toCodeC = 99;
const toCodeB = 100;
const startB = 104;
const startC = 105;
const stop = 106;

/**
 * Values of a Code 128 symbol with start, check character (modulo 103) and stop; pairs of digits
 * take code set C where that is shorter. Undefined when the text is empty or holds a character
 * other than printable ASCII.
 */
export function code128Values(text: string): readonly number[] | undefined {
  if (!/^[ -~]+$/.test(text)) return undefined;
  const values: number[] = [];
  let set: 'B' | 'C' | undefined;
  for (let at = 0; at < text.length; ) {
    const run = /^\d*/.exec(text.slice(at))?.[0].length ?? 0;
    const atEdge = at === 0 || at + run === text.length;
    const pairs = set === 'C' ? run >= 2 : run % 2 === 0 && run >= (atEdge ? 4 : 6);
    if (pairs) {
      if (set !== 'C') values.push(set === undefined ? startC : toCodeC);
      set = 'C';
      values.push(Number(text.slice(at, at + 2)));
      at += 2;
    } else {
      if (set !== 'B') values.push(set === undefined ? startB : toCodeB);
      set = 'B';
      values.push(text.charCodeAt(at) - 32);
      at += 1;
    }
  }
  const check = values.reduce((sum, value, index) => sum + value * Math.max(1, index), 0) % 103;
  return [...values, check, stop];
}

/** Bars of a Code 128 symbol: first module and width of each, from 0, without the quiet zones. */
export interface BarSymbol {
  readonly modules: number;
  readonly bars: readonly { readonly at: number; readonly width: number }[];
}

export function code128Symbol(text: string): BarSymbol | undefined {
  const values = code128Values(text);
  if (values === undefined) return undefined;
  const widths = values.flatMap((value) => [...(patterns[value] ?? '')].map(Number));
  let at = 0;
  const bars = widths.flatMap((width, index) => {
    const bar = { at, width };
    at += width;
    // every pattern begins with a bar; all but the last end with a space
    return index % 2 === 0 ? [bar] : [];
  });
  return { modules: at, bars };
}
