import { type Scanner, take } from '../quantity/scanner.js';
import type { GeometricKind } from './geometric-types.js';

/** Symbol of ISO 1101 for each characteristic. */
export const geometricSymbols: Readonly<Record<GeometricKind, string>> = {
  position: '⌖',
  flatness: '⏥',
  straightness: '⏤',
  roundness: '○',
  cylindricity: '⌭',
  perpendicularity: '⟂',
  parallelism: '∥',
  angularity: '∠',
  'profile-line': '⌒',
  'profile-surface': '⌓',
  coaxiality: '◎',
  symmetry: '⌯',
  runout: '↗',
  'total-runout': '⌰',
};

/** Words and three-letter codes for plain keyboards, longest first where one begins another. */
const names: readonly (readonly [GeometricKind, string])[] = [
  ['total-runout', 'total[ -]?run-?out|circular and total run-?out|TRO'],
  ['runout', '(?:circular[ -])?run-?out|CRO|RUN'],
  ['profile-line', 'line[ -]profile|profile[ -](?:of )?(?:a |any )?line|PRL'],
  ['profile-surface', 'surface[ -]profile|profile(?:[ -](?:of )?(?:a |any )?surface)?|PRF|PRS'],
  ['position', '(?:true )?position|POS'],
  ['flatness', 'flatness|flat|FLT|FLA'],
  ['straightness', 'straightness|STR'],
  ['roundness', 'roundness|circularity|ROU|CIR'],
  ['cylindricity', 'cylindricity|CYL'],
  ['perpendicularity', 'perpendicularity|squareness|perp|PER'],
  ['parallelism', 'parallelism|parallel|PAR'],
  ['angularity', 'angularity|ANG'],
  ['coaxiality', 'coaxiality|concentricity|COA|CON'],
  ['symmetry', 'symmetry|SYM'],
];

const otherSymbols: readonly (readonly [GeometricKind, string])[] = [
  ['roundness', '◯'],
  ['perpendicularity', '⊥'],
  ['parallelism', '//'],
  ['symmetry', '≡'],
];

const patterns: readonly (readonly [GeometricKind, RegExp])[] = [
  ...Object.entries(geometricSymbols).map(
    ([kind, symbol]) => [kind as GeometricKind, new RegExp(symbol, 'uy')] as const,
  ),
  ...otherSymbols.map(([kind, symbol]) => [kind, new RegExp(symbol, 'uy')] as const),
  ...names.map(([kind, words]) => [kind, new RegExp(`(?:${words})(?![A-Za-z])`, 'iy')] as const),
];

/** The characteristic named or drawn at the position. */
export function takeKind(scanner: Scanner): GeometricKind | undefined {
  return patterns.find(([, pattern]) => take(scanner, pattern) !== undefined)?.[0];
}
