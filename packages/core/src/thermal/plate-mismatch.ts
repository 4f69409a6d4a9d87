import type { MaterialsRow } from '../catalog/generated/materials.js';

/** What the build plate does to the part while both cool from a hold. */
export interface PlateMismatch {
  /** Strain that the plate imposes on the part, + pulls it, mm/mm. */
  readonly strain: number;
  /** That strain as stress on a stiff plate, capped by the yield strength, MPa. */
  readonly stressMPa: number;
  /** The elastic stress would pass 0.3 of the yield strength. */
  readonly notable: boolean;
}

const notableShare = 0.3;

/**
 * Strain that a plate of another metal puts back into the part on cooling: at the hold the part has
 * no stress left, then (alpha_part - alpha_plate)(T_hold - T_room) is imposed. A warning, not a
 * stress calculation: which way it helps depends on the part.
 *
 * @param partExpansion expansion of the part, um/(m K); likewise `plateExpansion`
 * @param yieldMPa yield strength of the part after the hold
 * @example
 * plateMismatch({ partExpansion: 18.5, plateExpansion: 14, holdC: 700, roomC: 20, modulusGPa: 190, yieldMPa: 300 }).strain // -> ~0.00306
 */
export function plateMismatch(input: {
  readonly partExpansion: number;
  readonly plateExpansion: number;
  readonly holdC: number;
  readonly roomC: number;
  readonly modulusGPa: number;
  readonly yieldMPa: number;
}): PlateMismatch {
  const strain = (input.partExpansion - input.plateExpansion) * 1e-6 * (input.holdC - input.roomC);
  const elastic = Math.abs(strain) * input.modulusGPa * 1000;
  return {
    strain,
    stressMPa: Math.sign(strain) * Math.min(elastic, input.yieldMPa),
    notable: elastic > notableShare * input.yieldMPa,
  };
}

type Family = MaterialsRow['family'];

/** What melts together with titanium, and from about where on, C. */
const meltsWithTitanium: Partial<Record<Family, readonly [metal: string, eutecticC: number]>> = {
  'stainless-austenitic': ['steel', 1085],
  'stainless-ph': ['steel', 1085],
  maraging: ['steel', 1085],
  'tool-steel': ['steel', 1085],
  nickel: ['nickel alloy', 940],
  cobalt: ['cobalt alloy', 1020],
  copper: ['copper', 880],
};

/** Distance kept from a temperature at which something melts, K. */
const keepAwayK = 60;

/**
 * Why a part may not be heated on a plate of another metal, or undefined when nothing is known
 * against it: the plate's own solidus, and the low-melting pairs of titanium with iron, nickel,
 * cobalt and copper. Source: binary phase diagrams (from memory).
 *
 * @param holdC hottest temperature of the cycle, C
 * @param pressed gas pressure holds the metals together, as in HIP
 * @example
 * plateObjection({ part: 'titanium', plate: 'stainless-austenitic', plateSolidusC: 1380, holdC: 920, pressed: true }) // -> "titanium and steel bond under pressure at 920 °C and melt together from about 1085 °C"
 */
export function plateObjection(input: {
  readonly part: Family;
  readonly plate: Family;
  readonly plateSolidusC: number | undefined;
  readonly holdC: number;
  readonly pressed: boolean;
}): string | undefined {
  const { part, plate, plateSolidusC, holdC, pressed } = input;
  if (plateSolidusC !== undefined && holdC > plateSolidusC - keepAwayK)
    return `the plate starts to melt at ${plateSolidusC} °C, the cycle holds ${holdC} °C`;
  const pair =
    part === 'titanium'
      ? meltsWithTitanium[plate]
      : plate === 'titanium'
        ? meltsWithTitanium[part]
        : undefined;
  if (pair === undefined) return undefined;
  const [metal, eutecticC] = pair;
  if (pressed)
    return `titanium and ${metal} bond under pressure at ${holdC} °C and melt together from about ${eutecticC} °C`;
  if (holdC > eutecticC - keepAwayK)
    return `titanium and ${metal} melt together from about ${eutecticC} °C, the cycle holds ${holdC} °C`;
  return undefined;
}
