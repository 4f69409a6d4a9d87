import { formatShort } from '../quantity/format.js';
import { parseFitCode, readFit } from './fits.js';
import type { SizeLimits } from './types.js';

// Enough for every length that the readers keep: they round to the picometre.
const decimals = 9;

const mm = (valueMm: number): string => formatShort(valueMm, decimals);

const signed = (um: number): string => {
  const value = formatShort(um / 1000, decimals);
  return um > 0 ? `+${value}` : value;
};

const shapeSymbols = {
  radius: 'R',
  'spherical-diameter': 'S⌀',
  'spherical-radius': 'SR',
  square: '□',
} as const;

/**
 * Prints a size in mm as `parseSize` reads it: `4x ⌀8 H7`, `12 ±0.05`, `40 +0.1/0`, `19.95-20.05`,
 * `max 5`. A size with a general tolerance prints its nominal alone.
 *
 * @example
 * formatSize(parseSize('0.8 in ±0.002').value.size) // -> "20.32 ±0.0508"
 */
export function formatSize(size: SizeLimits): string {
  const count = size.count === undefined ? '' : `${size.count}x `;
  const symbol = size.shape === undefined ? (size.diametral ? '⌀' : '') : shapeSymbols[size.shape];
  const modifiers = (size.modifiers ?? []).map((modifier) => ` (${modifier})`).join('');
  return `${count}${body(size, symbol)}${modifiers}`;
}

const figures = ({ upperDeviationUm, lowerDeviationUm }: SizeLimits): string =>
  `${signed(upperDeviationUm)}/${signed(lowerDeviationUm)}`;

/** The code, with the figures behind it when the table cannot give them. */
function fit(size: SizeLimits): string {
  const text = size.fit ?? '';
  const code = parseFitCode(text);
  const known = code !== undefined && readFit(size.nominalMm, code).ok;
  return known ? text : `${text} (${figures(size)})`;
}

function body(size: SizeLimits, symbol: string): string {
  const nominal = `${symbol}${mm(size.nominalMm)}`;
  switch (size.origin) {
    case 'fit':
      return `${nominal} ${fit(size)}`;
    case 'plus-minus':
      return `${nominal} ±${mm(size.upperDeviationUm / 1000)}`;
    case 'deviations':
      return `${nominal} ${figures(size)}`;
    case 'limits':
      return `${symbol}${mm(size.lowerMm)}-${mm(size.upperMm)}`;
    case 'one-sided':
      return `${size.open === 'below' ? 'max' : 'min'} ${nominal}`;
    case 'theoretical':
      return `[${nominal}]`;
    case 'reference':
      return `(${nominal})`;
    default:
      return nominal;
  }
}
