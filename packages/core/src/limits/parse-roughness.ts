import type { Finding } from '../problems/finding.js';
import { scaleDecimal } from '../quantity/decimal.js';
import { type Fault, fault, type NumberOptions, type Reading, read } from '../quantity/reading.js';
import {
  atEnd,
  atNumber,
  faultHere,
  peek,
  type Scanner,
  scannerOf,
  take,
  takeDecimal,
} from '../quantity/scanner.js';
import { checkLength } from '../quantity/text.js';
import { findUnit, type RoughnessUnit, roughnessUnits } from '../quantity/units.js';
import { roughnessGradeRaUm } from './roughness-grades.js';
import type { RoughnessLimits } from './types.js';

const accept = 'Ra 1.6, Rz 10, Ra 0.8-3.2, N7, or Ra 1.6 Rz 10';

export interface RoughnessOptions extends NumberOptions {
  /** Unit of numbers without a unit; um when absent. */
  readonly defaultUnit?: RoughnessUnit;
}

type Parameter = 'Ra' | 'Rz';

/** Heights over this are no surface texture of a metal part, um. */
const roughestUm = 2000;

interface Height {
  readonly parameter: Parameter;
  readonly maxUm: number;
  readonly minUm?: number;
}

function takeUnit(scanner: Scanner): RoughnessUnit | undefined {
  const word = peek(scanner, /[A-Za-zµ]+(?![\w])/y)?.[0];
  const unit = word === undefined ? undefined : findUnit(roughnessUnits, word);
  if (unit !== undefined) take(scanner, /[A-Za-zµ]+/y);
  return unit;
}

function takeHeight(
  scanner: Scanner,
  parameter: Parameter,
  options: RoughnessOptions,
  findings: Finding[],
): Height | Fault {
  const column = scanner.at + 1;
  if (!atNumber(scanner)) return faultHere(scanner, 'a number is expected here', accept);
  const first = takeDecimal(scanner, options);
  if ('ok' in first) return first;
  let unit = takeUnit(scanner);
  const ranged = take(scanner, /-|\.{2,3}|to(?![A-Za-z])/y) !== undefined;
  const second = ranged ? takeDecimal(scanner, options) : undefined;
  if (second !== undefined && 'ok' in second) return second;
  if (ranged) unit = takeUnit(scanner) ?? unit;
  const factor = roughnessUnits.factors[unit ?? options.defaultUnit ?? 'um'];
  const heights = [first, ...(second === undefined ? [] : [second])].map((decimal) =>
    scaleDecimal(decimal, factor),
  );
  const maxUm = Math.max(...heights);
  const minUm = Math.min(...heights);
  if (!(minUm > 0 && maxUm <= roughestUm))
    return fault(column, 'the roughness is out of range', `over 0 um up to ${roughestUm} um`);
  if (second === undefined) return { parameter, maxUm };
  if (heights[0] !== minUm)
    findings.push({
      id: 'roughness-swapped',
      severity: 'note',
      message: `the limits of ${parameter} stood in reverse order and were swapped`,
    });
  return { parameter, maxUm, minUm };
}

function takeGrade(scanner: Scanner): Height | Fault | undefined {
  const column = scanner.at + 1;
  const found = take(scanner, /N\s?(\d{1,2})(?![\d.])/y);
  if (found === undefined) return undefined;
  const raUm = roughnessGradeRaUm(Number(found[1]));
  return raUm === undefined
    ? fault(column, 'there is no such roughness grade', 'N1 to N12')
    : { parameter: 'Ra', maxUm: raUm };
}

/**
 * Reads a surface texture: `Ra 1.6`, `Rz 10`, `Ra 0.8-3.2`, `N7` (ISO 1302:1978), `√ 1.6`, or both
 * parameters. One number is the upper limit. A number without a parameter is taken as Ra, with a
 * finding. Ra and Rz are never converted into each other.
 *
 * @returns heights in um
 * @example
 * parseRoughness('Ra 0.8-3.2').value // -> {"raMaxUm":3.2,"raMinUm":0.8}
 */
export function parseRoughness(
  text: string,
  options: RoughnessOptions = {},
): Reading<RoughnessLimits> {
  const tooLong = checkLength(text);
  if (tooLong !== undefined) return tooLong;
  const scanner = scannerOf(text);
  if (atEnd(scanner)) return faultHere(scanner, 'the roughness is empty', accept);
  const findings: Finding[] = [];
  const heights = new Map<Parameter, Height>();
  while (!atEnd(scanner)) {
    take(scanner, /[√✓⌵]/y);
    take(scanner, /U(?=\s*R[az])/y);
    if (peek(scanner, /L(?=\s*R[az])/y))
      return faultHere(scanner, 'a lower limit alone is not read', 'both limits: Ra 0.8-3.2');
    const column = scanner.at + 1;
    const height = takeGrade(scanner) ?? takeNamed(scanner, options, findings);
    if ('ok' in height) return height;
    if (heights.has(height.parameter))
      return fault(column, `${height.parameter} is given twice`, accept);
    heights.set(height.parameter, height);
    take(scanner, /[,;/|]/y);
  }
  const ra = heights.get('Ra');
  const rz = heights.get('Rz');
  return read(
    {
      ...(ra === undefined ? {} : { raMaxUm: ra.maxUm }),
      ...(ra?.minUm === undefined ? {} : { raMinUm: ra.minUm }),
      ...(rz === undefined ? {} : { rzMaxUm: rz.maxUm }),
      ...(rz?.minUm === undefined ? {} : { rzMinUm: rz.minUm }),
    },
    findings,
  );
}

function takeNamed(
  scanner: Scanner,
  options: RoughnessOptions,
  findings: Finding[],
): Height | Fault {
  const named = take(scanner, /R\s?([az])(?:\s?max\.?|\s?1?max\.?)?(?:\s*[=:≤]|\s*<=)?/iy);
  if (named !== undefined)
    return takeHeight(scanner, named[1]?.toLowerCase() === 'z' ? 'Rz' : 'Ra', options, findings);
  if (peek(scanner, /R[a-z]/iy))
    return faultHere(scanner, 'this roughness parameter is not read', `Ra or Rz: ${accept}`);
  take(scanner, /max\.?(?![A-Za-z])/iy);
  const column = scanner.at + 1;
  const height = takeHeight(scanner, 'Ra', options, findings);
  if (!('ok' in height))
    findings.push({
      id: 'roughness-parameter-assumed',
      severity: 'note',
      message: `the number in column ${column} names no parameter: taken as Ra`,
      source: 'common practice, no source',
    });
  return height;
}
