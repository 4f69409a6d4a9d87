/** Layers of equal shrinkage on an elastic plate of the part's own modulus. */
export interface PlateStress {
  /** Mean stress in the part on the plate over the stress of a fresh layer. */
  readonly meanShare: number;
  /** Curvature after the full cut, times part height times modulus over the stress of a layer. */
  readonly curvatureNumber: number;
}

/**
 * Stress that layer-by-layer building leaves in a block on an elastic plate, closed form: each new
 * layer arrives with the same stress, plate and part bend and stretch together as one beam. An
 * upper-trend model for solid blocks; legs and lattice under the part are outside of it. Source:
 * assumptions of Mercelis and Kruth 2006, Rapid Prototyping J. 12(5), 254 (from memory), closed form
 * derived.
 *
 * @example
 * blockOnPlate(25, 30).curvatureNumber // -> ~1.7278
 */
export function blockOnPlate(plateMm: number, partMm: number): PlateStress {
  const b = plateMm / (plateMm + partMm);
  const stretch = 3 * b - 3 * b ** 2 + 2 * b * Math.log(b);
  const moment = 2 * b ** 2 - 2 * b ** 3 + b ** 2 * Math.log(b) - ((1 + b) / 2) * stretch;
  return { meanShare: stretch / (1 - b), curvatureNumber: (12 * moment) / (1 - b) ** 2 };
}

/**
 * Stress in the block at a height over the stress of a fresh layer: -5 + 6 zeta - 2 ln zeta, the
 * height counted from the underside of the plate in units of plate plus part.
 *
 * @param aboveMm height above the plate, 0 to `partMm`
 * @example
 * blockStressShare(25, 30, 30) // -> 1
 */
export function blockStressShare(plateMm: number, partMm: number, aboveMm: number): number {
  const zeta = (plateMm + aboveMm) / (plateMm + partMm);
  return -5 + 6 * zeta - 2 * Math.log(zeta);
}

export interface LayeredBlock {
  readonly plateMm: number;
  readonly partMm: number;
  readonly plateModulusGPa: number;
  readonly partModulusGPa: number;
  /** How many layers the part is cut into; up to 5000. */
  readonly layers: number;
}

/**
 * The same layer by layer, for a plate of another modulus than the part.
 *
 * @throws RangeError for a layer count that is not a whole number from 1 to 5000
 * @example
 * layeredOnPlate({ plateMm: 25, partMm: 30, plateModulusGPa: 207, partModulusGPa: 110, layers: 400 }).curvatureNumber // -> ~1.419
 */
export function layeredOnPlate(block: LayeredBlock): PlateStress {
  const { plateMm, partMm, plateModulusGPa: plate, partModulusGPa: part, layers } = block;
  if (!Number.isInteger(layers) || layers < 1 || layers > 5000)
    throw new RangeError(`layers ${layers}: a whole number from 1 to 5000`);
  const thickness = partMm / layers;
  // Strain and curvature that later layers add to all earlier ones, summed from the top down.
  const strains = new Float64Array(layers);
  const curvatures = new Float64Array(layers);
  const centres = new Float64Array(layers);
  for (let j = 0; j < layers; j++) {
    const height = (j + 1) * thickness;
    const area = plate * plateMm + part * height;
    const centre =
      (plate * plateMm * (plateMm / 2) + part * height * (plateMm + height / 2)) / area;
    const inertia =
      plate * (plateMm ** 3 / 12 + plateMm * (plateMm / 2 - centre) ** 2) +
      part * (height ** 3 / 12 + height * (plateMm + height / 2 - centre) ** 2);
    const layerMid = plateMm + (j + 0.5) * thickness;
    strains[j] = -thickness / area;
    curvatures[j] = (-thickness * (layerMid - centre)) / inertia;
    centres[j] = centre;
  }
  let strain = 0;
  let curvature = 0;
  let force = 0;
  let moment = 0;
  const middle = plateMm + partMm / 2;
  for (let j = layers - 1; j >= 0; j--) {
    const own = curvatures[j] ?? 0;
    strain += (strains[j] ?? 0) - own * (centres[j] ?? 0);
    curvature += own;
    const z = plateMm + (j + 0.5) * thickness;
    const stress = 1 + part * (strain + curvature * z);
    force += stress * thickness;
    moment += stress * thickness * (z - middle);
  }
  return {
    meanShare: force / partMm,
    curvatureNumber: (12 * moment) / partMm ** 2,
  };
}

/**
 * Curl of plate and part together when the plate is unbolted, 1/mm, the plate covered all over:
 * 6 sigma/E (1/h_plate - 1/(h_plate + h_part)).
 *
 * @param strain stress of a fresh layer over the modulus
 * @param covered covered share of the plate, 0 to 1; a rough factor
 * @example
 * unboltedCurvature(0.003, 25, 30, 1) // -> ~0.00039273
 */
export function unboltedCurvature(
  strain: number,
  plateMm: number,
  partMm: number,
  covered: number,
): number {
  return 6 * strain * covered * (1 / plateMm - 1 / (plateMm + partMm));
}
