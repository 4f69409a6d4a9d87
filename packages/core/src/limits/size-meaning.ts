import type { Finding } from '../problems/finding.js';
import { scaleDecimal } from '../quantity/decimal.js';
import { formatShort } from '../quantity/format.js';
import { type Fault, fault, type Reading, read } from '../quantity/reading.js';
import { type LengthUnit, lengthUnits } from '../quantity/units.js';
import { readFit } from './fits.js';
import { generalTolerance2768 } from './general-tolerance.js';
import { limitsFromDeviations, tidyMm, tidyUm } from './size-limits.js';
import { type Measure, type SignedMeasure, type SizeSyntax, sizeAccept } from './size-syntax.js';
import type { Deviations, GeneralTolerance, SizeLimits } from './types.js';

/** Largest size that is read, mm: no printed part comes near it. */
export const largestSizeMm = 100_000;

export interface SizeContext {
  readonly defaultUnit: LengthUnit;
  readonly general?: Pick<GeneralTolerance, 'linear'>;
}

type Meaning = Reading<Omit<SizeLimits, 'text' | 'count'>>;

const mainUnits: readonly LengthUnit[] = ['mm', 'cm', 'm', 'in'];
const isMain = (unit: LengthUnit | undefined): unit is LengthUnit =>
  unit !== undefined && mainUnits.includes(unit);

/**
 * The unit of each number. A unit holds for the bare numbers of the same tolerance; mm, cm, m and in
 * hold for the whole size too. Small units do not: `25 ±20 µm` is 25 of the default unit.
 */
function resolveUnits(
  nominal: LengthUnit | undefined,
  tolerance: readonly (LengthUnit | undefined)[],
  defaultUnit: LengthUnit,
): { readonly nominal: LengthUnit; readonly tolerance: readonly LengthUnit[] } {
  const nominalUnit = nominal ?? tolerance.find(isMain) ?? defaultUnit;
  let following = tolerance.filter((unit) => unit !== undefined).at(-1) ?? nominalUnit;
  const units = [...tolerance].reverse().map((unit) => {
    following = unit ?? following;
    return following;
  });
  return { nominal: nominalUnit, tolerance: units.reverse() };
}

const toMm = ({ decimal }: Measure, unit: LengthUnit): number =>
  tidyMm(scaleDecimal(decimal, lengthUnits.factors[unit]));

const toUm = ({ decimal }: Measure, unit: LengthUnit): number => {
  const { numerator, denominator } = lengthUnits.factors[unit];
  return tidyUm(scaleDecimal(decimal, { numerator: numerator * 1000, denominator }));
};

const signedUm = (measure: SignedMeasure, unit: LengthUnit): number =>
  (measure.sign === '-' ? -1 : 1) * toUm(measure, unit) + 0;

const swapped = (what: string): Finding => ({
  id: 'size-swapped',
  severity: 'note',
  message: `${what} stood in reverse order and were swapped`,
});

function pair(first: number, second: number, findings: Finding[]): Deviations {
  if (first >= second) return { upperDeviationUm: first, lowerDeviationUm: second };
  findings.push(swapped('the deviations'));
  return { upperDeviationUm: second, lowerDeviationUm: first };
}

/** Turns the parts of a size text into limits, or says what is wrong with them. */
export function meaningOfSize(syntax: SizeSyntax, context: SizeContext): Meaning {
  const { nominal, tolerance, shape, status, bound } = syntax;
  const findings: Finding[] = syntax.modifiers.map((modifier) => ({
    id: 'size-modifier-not-used',
    severity: 'note',
    message: `the size modifier ${modifier} is kept but does not change the limits`,
    source: 'ISO 14405-1',
  }));
  const common = {
    diametral: shape === 'diameter' || shape === 'spherical-diameter',
    ...(shape === undefined || shape === 'diameter' ? {} : { shape }),
    ...(syntax.modifiers.length === 0 ? {} : { modifiers: syntax.modifiers }),
  };
  const toleranced = bound !== undefined || tolerance !== undefined;
  if (status !== undefined && toleranced)
    return fault(
      nominal.column,
      `a ${status} size carries no tolerance`,
      status === 'theoretical' ? '[25]' : '(25)',
    );
  if (bound !== undefined && tolerance !== undefined)
    return fault(
      nominal.column,
      `${bound} and a tolerance contradict each other`,
      'max 5, min 3, or limits such as 3..5',
    );
  if (tolerance?.form === 'limits' || loneNumberIsLimit(syntax))
    return limitsMeaning(syntax, context, findings, common);
  const inTolerance = toleranceMeasures(syntax);
  const units = resolveUnits(
    nominal.unit ?? syntax.trailingUnit,
    inTolerance.map(({ unit }) => unit),
    context.defaultUnit,
  );
  const nominalMm = toMm(nominal, units.nominal);
  const bad = checkNominal(nominal, nominalMm);
  if (bad !== undefined) return bad;
  const finish = (
    origin: SizeLimits['origin'],
    deviations: Deviations,
    extra: Pick<SizeLimits, 'open' | 'fit'> = {},
  ): Meaning => {
    const size = limitsFromDeviations(nominalMm, deviations, {
      origin,
      ...extra,
      ...common,
      text: '',
    });
    const { text: _text, ...rest } = size;
    return checkLimits(syntax, rest) ?? read(rest, findings);
  };
  const none: Deviations = { upperDeviationUm: 0, lowerDeviationUm: 0 };
  if (status !== undefined) return finish(status, none);
  if (bound === 'max')
    return finish(
      'one-sided',
      { upperDeviationUm: 0, lowerDeviationUm: tidyUm(-nominalMm * 1000) },
      { open: 'below' },
    );
  if (bound === 'min')
    return finish(
      'one-sided',
      { upperDeviationUm: tidyUm(nominalMm * 1000), lowerDeviationUm: 0 },
      { open: 'above' },
    );
  const unitAt = (index: number): LengthUnit => units.tolerance[index] ?? units.nominal;
  switch (tolerance?.form) {
    case 'plus-minus': {
      const value = toUm(tolerance.value, unitAt(0));
      return finish('plus-minus', { upperDeviationUm: value, lowerDeviationUm: -value + 0 });
    }
    case 'signed': {
      const first = signedUm(tolerance.first, unitAt(0));
      if (tolerance.second !== undefined)
        return finish('deviations', pair(first, signedUm(tolerance.second, unitAt(1)), findings));
      findings.push({
        id: 'size-one-deviation',
        severity: 'warning',
        message: 'only one deviation is written: the other is taken as 0',
      });
      return finish('deviations', {
        upperDeviationUm: Math.max(first, 0),
        lowerDeviationUm: Math.min(first, 0),
      });
    }
    case 'fit': {
      const reading = fitDeviations(syntax, tolerance, nominalMm, unitAt, findings);
      if (!reading.ok) return reading;
      findings.push(...reading.findings);
      return finish('fit', reading.value, { fit: tolerance.text });
    }
    default:
      return untoleranced(nominalMm, syntax, context, findings, finish, none);
  }
}

const toleranceMeasures = ({ tolerance, fitFigures }: SizeSyntax): readonly Measure[] => {
  if (tolerance?.form === 'plus-minus') return [tolerance.value];
  const signed = tolerance?.form === 'signed' ? tolerance : fitFigures;
  if (signed === undefined) return [];
  return signed.second === undefined ? [signed.first] : [signed.first, signed.second];
};

function untoleranced(
  nominalMm: number,
  { shape }: SizeSyntax,
  { general }: SizeContext,
  findings: Finding[],
  finish: (origin: SizeLimits['origin'], deviations: Deviations) => Meaning,
  none: Deviations,
): Meaning {
  const linear = general?.linear;
  if (linear === undefined) return finish('untoleranced', none);
  const characteristic = shape === 'radius' ? 'radius-chamfer' : 'linear';
  const value = generalTolerance2768(characteristic, linear, nominalMm)?.value;
  if (value === undefined) {
    findings.push({
      id: 'general-tolerance-not-defined',
      severity: 'warning',
      message: `ISO 2768-${linear} gives no tolerance for ${formatShort(nominalMm, 6)} mm: the size has none`,
      source: 'ISO 2768-1',
    });
    return finish('untoleranced', none);
  }
  const um = tidyUm(value * 1000);
  return finish('general', { upperDeviationUm: um, lowerDeviationUm: -um });
}

/** Deviations of a fit from the table; figures behind it must agree or stand in for the table. */
function fitDeviations(
  { fitFigures }: SizeSyntax,
  fit: Extract<SizeSyntax['tolerance'], { form: 'fit' }>,
  nominalMm: number,
  unitAt: (index: number) => LengthUnit,
  findings: Finding[],
): Reading<Deviations> {
  const table = readFit(nominalMm, fit.code);
  if (fitFigures === undefined) return table.ok ? table : { ...table, column: fit.column };
  const figures = pair(
    signedUm(fitFigures.first, unitAt(0)),
    signedUm(fitFigures.second, unitAt(1)),
    findings,
  );
  if (!table.ok) {
    findings.push({
      id: 'fit-from-figures',
      severity: 'note',
      message: `${fit.text} is not in the table: the deviations in figures are used`,
    });
    return read(figures);
  }
  // Figures on drawings are rounded to a micrometre; from 0.0005 in they are off by half of one.
  const differs = (a: number, b: number): boolean => Math.abs(a - b) > 1;
  if (
    differs(figures.upperDeviationUm, table.value.upperDeviationUm) ||
    differs(figures.lowerDeviationUm, table.value.lowerDeviationUm)
  )
    return fault(
      fitFigures.first.column,
      `the deviations do not belong to ${fit.text}`,
      `${printSigned(table.value.upperDeviationUm)}/${printSigned(table.value.lowerDeviationUm)} mm, or one of the two alone`,
    );
  return table;
}

const printSigned = (um: number): string => `${um > 0 ? '+' : ''}${formatShort(um / 1000, 4)}`;

/** `19.95-20.05`: a lone minus number at least half as large as the nominal is a second limit. */
function loneNumberIsLimit({ nominal, tolerance }: SizeSyntax): boolean {
  return (
    tolerance?.form === 'signed' &&
    tolerance.second === undefined &&
    tolerance.first.sign === '-' &&
    tolerance.first.decimal.value > nominal.decimal.value / 10
  );
}

function limitsMeaning(
  syntax: SizeSyntax,
  { defaultUnit }: SizeContext,
  findings: Finding[],
  common: Pick<SizeLimits, 'diametral' | 'shape' | 'modifiers'>,
): Meaning {
  const { nominal, tolerance } = syntax;
  const second = tolerance?.form === 'limits' ? tolerance.second : undefined;
  const other = second ?? (tolerance?.form === 'signed' ? tolerance.first : nominal);
  const slash = tolerance?.form === 'limits' && tolerance.slash;
  const otherUnit = other.unit ?? syntax.trailingUnit ?? nominal.unit ?? defaultUnit;
  const a = toMm(nominal, nominal.unit ?? otherUnit);
  const b = toMm(other, otherUnit);
  const bad = checkNominal(nominal, a) ?? checkNominal(other, b);
  if (bad !== undefined) return bad;
  if (slash && nominal.decimal.decimals === 0 && other.decimal.decimals === 0)
    return fault(
      nominal.column,
      'this may be a fraction or two limits',
      'the decimal number (0.5), or limits with two dots (1..2)',
    );
  if (b < a / 2)
    return fault(
      other.column,
      'this may be a deviation or a limit',
      'both deviations with signs (5 0/-2) or limits with two dots (2..5)',
    );
  // With a slash the upper limit stands first, as it stands on top on a drawing.
  if (b < a && !slash) findings.push(swapped('the limits'));
  const lowerMm = Math.min(a, b);
  const upperMm = Math.max(a, b);
  const nominalMm = tidyMm((lowerMm + upperMm) / 2);
  const size = {
    nominalMm,
    lowerMm,
    upperMm,
    origin: 'limits',
    upperDeviationUm: tidyUm((upperMm - nominalMm) * 1000),
    lowerDeviationUm: tidyUm((lowerMm - nominalMm) * 1000),
    ...common,
  } as const;
  return checkLimits(syntax, size) ?? read(size, findings);
}

function checkNominal({ column }: Measure, valueMm: number): Fault | undefined {
  return valueMm > 0 && valueMm <= largestSizeMm
    ? undefined
    : fault(column, 'the size is out of range', `over 0 mm up to ${largestSizeMm} mm`);
}

function checkLimits(
  { nominal }: SizeSyntax,
  { lowerMm, upperMm, origin, open }: Pick<SizeLimits, 'lowerMm' | 'upperMm' | 'origin' | 'open'>,
): Fault | undefined {
  if (lowerMm < 0 || upperMm > 2 * largestSizeMm)
    return fault(
      nominal.column,
      'the tolerance is wider than the size',
      `a lower limit of at least 0 mm; ${sizeAccept}`,
    );
  const carriesNone =
    origin === 'untoleranced' || origin === 'theoretical' || origin === 'reference';
  if (upperMm <= lowerMm && !carriesNone && open === undefined)
    return fault(nominal.column, 'the tolerance has no width', 'an upper limit above the lower');
  return undefined;
}
