import { parseGeometricTolerance } from '../limits/parse-geometric.js';
import { parseRoughness } from '../limits/parse-roughness.js';
import { parseSize } from '../limits/parse-size.js';
import type { GeneralTolerance, SizeLimits } from '../limits/types.js';
import type { Finding } from '../problems/finding.js';
import type { Place } from '../problems/problem.js';
import type { Fault } from '../quantity/reading.js';
import { type AreaUnit, findUnit, lengthUnits, roughnessUnits } from '../quantity/units.js';
import type { Loose } from './check-schema.js';
import type { accessWords } from './feature-schema.js';
import type { FeatureField } from './feature-table.js';
import type { FeatureInput } from './input.js';
import { readAreaMm2, readLengthMm, readRoughnessUm } from './measures.js';
import type { ReadingLog } from './reading-log.js';
import type { Direction, Feature, FeatureKind, GeometricTolerance } from './types.js';

/** One feature as it came from JSON or from a table row, with the places of its values. */
export interface WrittenFeature {
  readonly input: Loose<FeatureInput>;
  /** Fields already reported: they are wrong, not absent. */
  readonly faulty: ReadonlySet<string>;
  readonly extra: Readonly<Record<string, string>>;
  /** Unit that the column header gives to bare numbers. */
  unitOf(field: FeatureField): string | undefined;
  placeOf(field?: FeatureField, index?: number): Place;
}

/** What holds for all features of a job. */
export interface FeatureContext {
  readonly units: 'mm' | 'in';
  readonly decimalComma: boolean;
  readonly general?: GeneralTolerance;
}

type Size = Pick<Feature, 'size' | 'thread'> & { readonly count?: number };

/**
 * Turns a feature as written into mm and um. Undefined when its id or kind is not usable; every
 * other fault is in the log and only leaves its field out.
 */
export function readFeature(
  written: WrittenFeature,
  context: FeatureContext,
  log: ReadingLog,
): Feature | undefined {
  const { input, placeOf } = written;
  const { id, kind } = input;
  if (id === undefined || kind === undefined) return undefined;
  const length = (field: 'length' | 'width' | 'depth' | 'location'): number | undefined => {
    const unit = findUnit(lengthUnits, written.unitOf(field) ?? context.units) ?? context.units;
    const notation = { unit, decimalComma: context.decimalComma };
    const bound = field === 'location' ? 'from-zero' : 'positive';
    return readLengthMm(input[field], notation, bound, placeOf(field), log);
  };
  const areaUnit = (written.unitOf('area') ?? `${context.units}2`) as AreaUnit;
  const areaNotation = { unit: areaUnit, decimalComma: context.decimalComma };
  const { count: sizeCount, ...size } = readSize(written, id, kind, context, log);
  const optional = {
    name: input.name,
    raMaxUm: readRoughness('ra', written, id, context, log),
    rzMaxUm: readRoughness('rz', written, id, context, log),
    lengthMm: length('length'),
    widthMm: length('width'),
    depthMm: length('depth'),
    areaMm2: readAreaMm2(input.area, areaNotation, 'positive', placeOf('area'), log),
    facing: input.facing,
    angleDeg: input.angle,
    datum: input.datum,
    locationMm: length('location'),
    allowedFinishes: input.finishes === undefined ? undefined : present(input.finishes),
    note: input.note,
  };
  const { file, line, path } = placeOf();
  return {
    id,
    kind,
    count: readCount(written, sizeCount, log),
    ...size,
    ...withoutAbsent(optional),
    supported: input.supported ?? false,
    ...(input.onAxis === undefined ? {} : { onAxis: input.onAxis }),
    ...(input.concave === undefined ? {} : { concave: input.concave }),
    access: directionsOf(present(input.access ?? [])),
    geometric: readTolerances(written, id, context, log),
    extra: written.extra,
    place: withoutAbsent({ file, line, path }),
  };
}

function present<T>(items: readonly (T | undefined)[]): readonly T[] {
  return items.filter((item) => item !== undefined);
}

type Present<T> = { [Key in keyof T]?: Exclude<T[Key], undefined> };

function withoutAbsent<T extends object>(fields: T): Present<T> {
  return Object.fromEntries(
    Object.entries(fields).filter(([, value]) => value !== undefined),
  ) as Present<T>;
}

function reportFault(
  fault: Fault,
  code: 'bad-size' | 'bad-tolerance' | 'bad-quantity',
  place: Place,
  value: string | number,
  log: ReadingLog,
): void {
  log.problem(code, place, `${fault.message} (character ${fault.column})`, value, fault.accept);
}

function keepFindings(findings: readonly Finding[], id: string, log: ReadingLog): void {
  for (const finding of findings) log.findings.push({ about: id, ...finding });
}

function readSize(
  written: WrittenFeature,
  id: string,
  kind: FeatureKind,
  context: FeatureContext,
  log: ReadingLog,
): Size {
  const value = written.input.size;
  if (value === undefined) return {};
  const place = written.placeOf('size');
  const headerUnit = written.unitOf('size');
  const unit = headerUnit === undefined ? context.units : headerUnit === 'in' ? 'in' : 'mm';
  const text = String(value);
  // a bare number on a radius is an R dimension: it has a general tolerance of its own
  const asRadius = kind === 'radius' && /^\s*\d/.test(text);
  const reading = parseSize(asRadius ? `R${text}` : text, {
    defaultUnit: unit,
    decimalComma: context.decimalComma && typeof value === 'string',
    ...(context.general === undefined ? {} : { general: context.general }),
  });
  if (!reading.ok) {
    const column = Math.max(1, reading.column - (asRadius ? 1 : 0));
    reportFault({ ...reading, column }, 'bad-size', place, value, log);
    return {};
  }
  keepFindings(reading.findings, id, log);
  const { value: drawn } = reading;
  if ((drawn.form === 'thread') !== (kind === 'thread')) {
    const accept = kind === 'thread' ? 'a thread such as M8-6H' : 'a size, or the kind thread';
    log.problem('inconsistent', place, `the size does not suit a ${kind}`, value, accept);
    return {};
  }
  if (drawn.form === 'thread')
    return { thread: drawn.thread, ...(drawn.count === 1 ? {} : { count: drawn.count }) };
  const size: SizeLimits = {
    ...drawn.size,
    text: text.trim(),
    diametral: drawn.size.diametral || kind === 'bore' || kind === 'shaft',
  };
  checkFitLetter(size, kind, place, log);
  return { size, ...(size.count === undefined ? {} : { count: size.count }) };
}

/** Capital letters are for holes, small ones for shafts (ISO 286-1). */
function checkFitLetter(
  { fit, text }: SizeLimits,
  kind: FeatureKind,
  place: Place,
  log: ReadingLog,
): void {
  if (fit === undefined) return;
  const hole = /^[A-Z]/.test(fit);
  const wantsHole = kind === 'bore' || kind === 'slot' || kind === 'channel';
  if (wantsHole ? hole : kind !== 'shaft' || !hole) return;
  const accept = wantsHole ? 'a capital letter such as H7' : 'a small letter such as h7';
  log.problem('inconsistent', place, `${fit} is not a fit for a ${kind}`, text, accept);
}

function readCount(
  written: WrittenFeature,
  sizeCount: number | undefined,
  log: ReadingLog,
): number {
  const { count } = written.input;
  if (count !== undefined && sizeCount !== undefined && count !== sizeCount)
    log.problem(
      'inconsistent',
      written.placeOf('count'),
      `the count differs from the ${sizeCount}x in the size`,
      count,
      `${sizeCount}, or a size without a count`,
    );
  return count ?? sizeCount ?? 1;
}

function readRoughness(
  field: 'ra' | 'rz',
  written: WrittenFeature,
  id: string,
  context: FeatureContext,
  log: ReadingLog,
): number | undefined {
  const value = written.input[field];
  const place = written.placeOf(field);
  const unit = findUnit(roughnessUnits, written.unitOf(field) ?? 'um') ?? 'um';
  const notation = { unit, decimalComma: context.decimalComma };
  if (typeof value !== 'string' || /^\s*[-+\d.,]/.test(value))
    return readRoughnessUm(value, notation, 'positive', place, log);
  const reading = parseRoughness(value, {
    defaultUnit: unit,
    decimalComma: context.decimalComma,
  });
  if (!reading.ok) {
    reportFault(reading, 'bad-quantity', place, value, log);
    return undefined;
  }
  keepFindings(reading.findings, id, log);
  const maxUm = field === 'ra' ? reading.value.raMaxUm : reading.value.rzMaxUm;
  if (maxUm === undefined) {
    const name = field === 'ra' ? 'Ra' : 'Rz';
    log.problem('bad-quantity', place, `no ${name} in this text`, value, `1.6 or ${name} 1.6`);
  }
  return maxUm;
}

function readTolerances(
  written: WrittenFeature,
  id: string,
  context: FeatureContext,
  log: ReadingLog,
): readonly GeometricTolerance[] {
  return (written.input.tolerances ?? []).flatMap((text, index) => {
    if (text === undefined) return [];
    const reading = parseGeometricTolerance(text, {
      defaultUnit: context.units,
      decimalComma: context.decimalComma,
    });
    if (reading.ok) {
      keepFindings(reading.findings, id, log);
      return [reading.value];
    }
    reportFault(reading, 'bad-tolerance', written.placeOf('tolerances', index), text, log);
    return [];
  });
}

const allSides: readonly Direction[] = ['+x', '-x', '+y', '-y', '+z', '-z'];

/** In a fixed order and each once, whatever the order in the input. */
function directionsOf(words: readonly (typeof accessWords)[number][]): readonly Direction[] {
  const meant = new Set<string>(
    words.flatMap((word): readonly string[] => {
      if (word === 'all') return allSides;
      if (word === 'top') return ['+z'];
      if (word === 'bottom') return ['-z'];
      return word.length === 1 ? [`+${word}`, `-${word}`] : [word];
    }),
  );
  return allSides.filter((direction) => meant.has(direction));
}
