import type { Catalog } from '../catalog/catalog.js';
import type { MaterialsRow } from '../catalog/generated/materials.js';
import { skinLayerById } from '../catalog/lookup.js';
import type { Confidence } from '../problems/finding.js';

const zeroC = 273.15;

/**
 * Diffusivity of oxygen from hardness profiles of Ti-6Al-4V heated in air: K against m2/s. Source:
 * Missouri S&T, Materials Science and Engineering faculty work 912, abstract (read).
 */
const oxygenDiffusivity: readonly (readonly [kelvin: number, m2PerS: number])[] = [
  [1050, 7.0e-14],
  [1150, 8.5e-14],
  [1250, 1.2e-13],
  [1340, 1.8e-13],
];

/**
 * Upper bound of the alpha case of titanium heated in oxygen or air, um: 2 sqrt(D t), log D
 * interpolated on 1/T between the four measured temperatures, 776.85 to 1066.85 C. The source's
 * own activation energy does not fit its values, so there is no extrapolation.
 *
 * @returns undefined outside the measured temperatures
 * @example
 * alphaCaseUm(877, 120) // -> ~49.5
 */
export function alphaCaseUm(temperatureC: number, minutes: number): number | undefined {
  const kelvin = temperatureC + zeroC;
  const above = oxygenDiffusivity.findIndex(([each]) => each >= kelvin - 1e-9);
  const high = oxygenDiffusivity[above];
  if (high === undefined) return undefined;
  const low = above === 0 ? high : (oxygenDiffusivity[above - 1] ?? high);
  if (kelvin < low[0] - 0.5) return undefined;
  const weight = low[0] === high[0] ? 0 : (1 / low[0] - 1 / kelvin) / (1 / low[0] - 1 / high[0]);
  const diffusivity = Math.exp(Math.log(low[1]) + weight * Math.log(high[1] / low[1]));
  return 2e6 * Math.sqrt(diffusivity * minutes * 60);
}

export type FurnaceGas = 'clean' | 'poor-argon' | 'air';

/** A skin that has to come off, or that nothing is known of. */
export interface HeatSkin {
  readonly what: string;
  /** Depth that planning takes, um; undefined when there is no figure to go by. */
  readonly depthUm: number | undefined;
  readonly source: string;
  readonly confidence: Confidence;
}

const airFactor = 1.25;

/**
 * Skin that a heat step leaves: alpha case on titanium, scale on the other metals; aluminium keeps
 * its skin. In air the alpha case is 1.25 times its upper bound (common practice, no source) and the
 * scale comes on top.
 *
 * @param gas `clean` is vacuum or clean dry argon
 * @example
 * heatSkin(defaultCatalog(), materialById(defaultCatalog(), 'r56400'), 'clean', 800, 120).depthUm // -> 10
 */
export function heatSkin(
  catalog: Catalog,
  material: MaterialsRow,
  gas: FurnaceGas,
  temperatureC: number,
  minutes: number,
): HeatSkin {
  if (material.family === 'aluminium')
    return {
      what: 'none',
      depthUm: 0,
      source: 'common practice, no source',
      confidence: 'practice',
    };
  if (material.family === 'titanium' && gas === 'air') {
    const bound = alphaCaseUm(temperatureC, minutes);
    const scale = skinLayerById(catalog, 'scale-air');
    return {
      what:
        bound === undefined
          ? `alpha case: no measured diffusivity at ${temperatureC} °C, section a witness piece`
          : 'alpha case and scale of titanium in air',
      depthUm: bound === undefined ? undefined : airFactor * bound + scale.typicalUm,
      source:
        'upper bound 2 sqrt(D t), D from hardness profiles of Ti-6Al-4V (read); factor and scale common practice, no source',
      confidence: 'practice',
    };
  }
  const skin = skinLayerById(
    catalog,
    material.family === 'titanium'
      ? gas === 'clean'
        ? 'alpha-clean'
        : 'alpha-poor-argon'
      : gas === 'air'
        ? 'scale-air'
        : 'scale-clean',
  );
  return {
    what: skin.what,
    depthUm: skin.typicalUm,
    source: skin.source,
    confidence: skin.confidence,
  };
}

const recastFactor = 2;

/**
 * Depth to take off a spark-eroded face that is loaded in fatigue or gets a coating, um: twice the
 * usual recast, so that the heat-affected layer goes with it (common practice, no source).
 *
 * @param cut `recast-wire-one-cut`, `recast-wire-two-skims`, `recast-wire-three-skims`, `recast-sinker-rough` or `recast-sinker-finish`
 * @throws InputError for another id
 * @example
 * recastRemovalUm(defaultCatalog(), 'recast-wire-two-skims') // -> 16
 */
export function recastRemovalUm(catalog: Catalog, cut: string): number {
  return recastFactor * skinLayerById(catalog, cut).typicalUm;
}
