import type { Factor } from './decimal.js';

/** The units of one kind of quantity: every accepted spelling and its exact factor. */
export interface UnitTable<Name extends string> {
  readonly what: string;
  /** Ready to print in an error. */
  readonly accept: string;
  readonly factors: Readonly<Record<Name, Factor>>;
  /** Other spellings of the names. */
  readonly aliases: Readonly<Record<string, Name>>;
}

const over = (numerator: number, denominator = 1): Factor => ({ numerator, denominator });

export type LengthUnit = 'mm' | 'cm' | 'm' | 'um' | 'nm' | 'in' | 'thou';

/** Length to mm. 1 in = 25.4 mm exactly (ISO 31-1, 1992). */
export const lengthUnits: UnitTable<LengthUnit> = {
  what: 'length',
  accept: 'mm, cm, m, um, nm, in, thou or mil',
  factors: {
    mm: over(1),
    cm: over(10),
    m: over(1000),
    um: over(1, 1000),
    nm: over(1, 1_000_000),
    in: over(127, 5),
    thou: over(127, 5000),
  },
  aliases: {
    MM: 'mm',
    IN: 'in',
    In: 'in',
    'in.': 'in',
    inch: 'in',
    Inch: 'in',
    INCH: 'in',
    inches: 'in',
    '"': 'in',
    mil: 'thou',
    mils: 'thou',
  },
};

export type AngleUnit = 'deg' | 'rad' | 'arcmin';

/** Angle to degrees. */
export const angleUnits: UnitTable<AngleUnit> = {
  what: 'angle',
  accept: 'deg, rad or arcmin',
  factors: { deg: over(1), rad: over(180, Math.PI), arcmin: over(1, 60) },
  aliases: { '°': 'deg', degrees: 'deg', degree: 'deg', "'": 'arcmin', '′': 'arcmin' },
};

export type TemperatureUnit = 'C' | 'F' | 'K';

/** Temperature to degrees Celsius: 0 C = 273.15 K, 32 F. */
export const temperatureUnits: UnitTable<TemperatureUnit> = {
  what: 'temperature',
  accept: 'C, degC, F, degF or K',
  factors: {
    C: over(1),
    F: { numerator: 5, denominator: 9, offsetNumerator: -32 },
    K: { numerator: 1, denominator: 1, offsetNumerator: -27315, offsetDenominator: 100 },
  },
  aliases: { '°C': 'C', degC: 'C', '℃': 'C', '°F': 'F', degF: 'F', '℉': 'F', degK: 'K' },
};

/** Temperature difference to kelvin. A difference has no zero point, so 9 F are 5 K. */
export const temperatureDifferenceUnits: UnitTable<TemperatureUnit> = {
  what: 'temperature difference',
  accept: 'K, C, degC, F or degF',
  factors: { C: over(1), F: over(5, 9), K: over(1) },
  aliases: temperatureUnits.aliases,
};

export type TimeUnit = 's' | 'min' | 'h' | 'd';

/** Time to minutes. */
export const timeUnits: UnitTable<TimeUnit> = {
  what: 'time',
  accept: 's, min, h or d',
  factors: { s: over(1, 60), min: over(1), h: over(60), d: over(1440) },
  aliases: {
    sec: 's',
    second: 's',
    seconds: 's',
    mins: 'min',
    minute: 'min',
    minutes: 'min',
    hr: 'h',
    hrs: 'h',
    hour: 'h',
    hours: 'h',
    day: 'd',
    days: 'd',
  },
};

export type MassUnit = 'kg' | 'g' | 'lb';

/** Mass to kg. 1 lb = 0.45359237 kg exactly. */
export const massUnits: UnitTable<MassUnit> = {
  what: 'mass',
  accept: 'kg, g or lb',
  factors: { kg: over(1), g: over(1, 1000), lb: over(45_359_237, 100_000_000) },
  aliases: { lbs: 'lb' },
};

export type PressureUnit = 'MPa' | 'bar' | 'psi' | 'ksi';

/** Pressure or stress to MPa. 1 psi = 0.45359237 x 9.80665 / 0.0254^2 Pa exactly. */
export const pressureUnits: UnitTable<PressureUnit> = {
  what: 'pressure',
  accept: 'MPa, bar, psi or ksi',
  factors: {
    MPa: over(1),
    bar: over(1, 10),
    psi: over(44_482_216_152_605, 64_516e11),
    ksi: over(44_482_216_152_605, 64_516e8),
  },
  aliases: { 'N/mm2': 'MPa' },
};

export type AreaUnit = 'mm2' | 'cm2' | 'm2' | 'in2';

/** Area to mm2. */
export const areaUnits: UnitTable<AreaUnit> = {
  what: 'area',
  accept: 'mm2, cm2, m2 or in2',
  factors: { mm2: over(1), cm2: over(100), m2: over(1_000_000), in2: over(16_129, 25) },
  aliases: { sqin: 'in2' },
};

export type VolumeUnit = 'mm3' | 'cm3' | 'm3' | 'ml' | 'l' | 'in3';

/** Volume to mm3. */
export const volumeUnits: UnitTable<VolumeUnit> = {
  what: 'volume',
  accept: 'mm3, cm3, m3, ml, l or in3',
  factors: {
    mm3: over(1),
    cm3: over(1000),
    m3: over(1_000_000_000),
    ml: over(1000),
    l: over(1_000_000),
    in3: over(2_048_383, 125),
  },
  aliases: { L: 'l', mL: 'ml', cc: 'cm3', cuin: 'in3' },
};

export type RoughnessUnit = 'um' | 'nm' | 'uin';

/** Roughness to um. */
export const roughnessUnits: UnitTable<RoughnessUnit> = {
  what: 'roughness',
  accept: 'um, nm or uin',
  factors: { um: over(1), nm: over(1, 1000), uin: over(127, 5000) },
  aliases: {},
};

/**
 * The unit that a word names, or undefined. Letter case counts (MPa is not mPa); `µ`, `²`, `^2` and
 * spaces inside (`deg C`) have their plain spellings.
 */
export function findUnit<Name extends string>(
  table: UnitTable<Name>,
  word: string,
): Name | undefined {
  const plain = word
    .replaceAll('µ', 'u')
    .replaceAll('²', '2')
    .replaceAll('³', '3')
    .replace(/[\s^]/g, '');
  if (Object.hasOwn(table.factors, plain)) return plain as Name;
  return Object.hasOwn(table.aliases, plain) ? table.aliases[plain] : undefined;
}
