/**
 * Curvature that a straight part takes when it is cut off the plate, 1/mm: stress rising evenly from
 * -sigma at the plate to +sigma at the top, slender beam, elastic release: 2 sigma / (E h). Positive
 * curvature lifts the free ends away from the plate. Source: elementary beam theory; checked on the
 * AMB2018-01 bridge (N06625), where the shape is right to 0.01 mm and the size to about 25 %.
 *
 * @param stressMPa stress at the top face, MPa
 * @param modulusMPa as `beamModulusMPa` gives it
 * @param heightMm height without legs and separate ridges
 * @example
 * curlCurvature(300, 207000, 5) // -> ~0.00057971
 */
export function curlCurvature(stressMPa: number, modulusMPa: number, heightMm: number): number {
  return (2 * stressMPa) / (modulusMPa * heightMm);
}

/**
 * Modulus that bending meets, MPa: E for a beam up to five times as wide as high, the plate modulus
 * E / (1 - nu) beyond (equal stress in both directions).
 *
 * @example
 * beamModulusMPa(114, 0.32, 60, 10) // -> ~167647
 */
export function beamModulusMPa(
  modulusGPa: number,
  poisson: number,
  widthMm: number,
  heightMm: number,
): number {
  const modulus = modulusGPa * 1000;
  return widthMm < 5 * heightMm ? modulus : modulus / (1 - poisson);
}

/**
 * Where the bending begins when one end stays on the plate, mm: the plate-side material under the
 * edge gives way, which counts as 1.4 heights more of free length. Source: fitted to the AMB2018-01
 * bridge (7.1 mm for a height of 5 mm); other parts unproven, the edge itself is the lower bound.
 *
 * @param edgeMm edge of what stays on the plate
 * @example
 * curlRootMm(56, 5) // -> 63
 */
export function curlRootMm(edgeMm: number, heightMm: number): number {
  return edgeMm + 1.4 * heightMm;
}

/**
 * Lift at a place of a part held at one end, mm: kappa/2 (root - x)^2 on the free side.
 *
 * @param rootMm as `curlRootMm` gives it, on the same axis as `atMm`
 * @example
 * curlLiftMm(0.000647, 63.08, 0.5) // -> ~1.2669
 */
export function curlLiftMm(curvaturePerMm: number, rootMm: number, atMm: number): number {
  return (curvaturePerMm / 2) * Math.max(0, rootMm - atMm) ** 2;
}

/**
 * Deviation from straight of a part that is free at both ends, mm: kappa L^2 / 8.
 *
 * @example
 * curlSagMm(0.00010909, 100) // -> ~0.13636
 */
export function curlSagMm(curvaturePerMm: number, lengthMm: number): number {
  return (Math.abs(curvaturePerMm) * lengthMm ** 2) / 8;
}

/**
 * Curvature of a plate under a thin stressed layer, 1/mm: 6 sigma t (1 - nu) / (E h^2), layer much
 * thinner than the plate. For coatings, peened skins, recast. Source: Stoney 1909 (from memory).
 *
 * @example
 * thinLayerCurvature(500, 1, 110000, 0, 25) // -> ~0.000043636
 */
export function thinLayerCurvature(
  stressMPa: number,
  layerMm: number,
  modulusMPa: number,
  poisson: number,
  heightMm: number,
): number {
  return (6 * stressMPa * layerMm * (1 - poisson)) / (modulusMPa * heightMm ** 2);
}

/**
 * Curvature of stressed stock after machining, 1/mm, for the self-balanced stress
 * sigma (6u^2 - 6u + 1) through the height (tension sigma at both faces): net moment of what stays,
 * over E I. Equal cuts on both faces leave it straight; -6 sigma d / (E h^2) for one cut of depth d.
 * Source: elementary beam theory.
 *
 * @param stressMPa stress at the faces, MPa
 * @param heightMm height before cutting
 * @param topMm depth cut from the top
 * @param bottomMm depth cut from the bottom
 * @example
 * machiningCurvature(100, 110000, 5, 0.5, 0) // -> ~-0.00010909
 */
export function machiningCurvature(
  stressMPa: number,
  modulusMPa: number,
  heightMm: number,
  topMm: number,
  bottomMm: number,
): number {
  const from = bottomMm / heightMm;
  const to = 1 - topMm / heightMm;
  if (!(to > from)) throw new RangeError('the cuts leave nothing of the height');
  const middle = (from + to) / 2;
  // antiderivative of (6u^2 - 6u + 1)(u - middle)
  const moment = (u: number): number =>
    1.5 * u ** 4 - 2 * (1 + middle) * u ** 3 + (0.5 + 3 * middle) * u ** 2 - middle * u;
  const inertia = (to - from) ** 3 / 12;
  return (stressMPa * (moment(to) - moment(from))) / (modulusMPa * heightMm * inertia);
}
