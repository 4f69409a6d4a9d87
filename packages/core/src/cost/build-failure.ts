/** What the chance of failure in each layer means for a build. */
export interface BuildFailure {
  /** Chance that a build comes through. */
  readonly success: number;
  /** Builds started for one that comes through, each run to the end. */
  readonly buildsPerSuccess: number;
  /** Build time spent for one success, relative to one build, when a failed build stops at once. */
  readonly timeFactor: number;
}

/**
 * Failure of a build whose layers fail independently with one chance: success = (1 - p)^n, builds for
 * one success 1 / success, time factor (1 - success) / (n p success) when a build stops at the layer
 * that failed.
 *
 * @param layers whole number from 1
 * @param chancePerLayer from 0 to below 1
 * @throws RangeError when a number is out of range
 *
 * Source: cost model with a failure chance per layer, after Baumers et al. (from memory); the time
 * factor is the mean of the geometric distribution cut off at n.
 *
 * @example
 * buildFailure(2500, 1e-5).success // -> ~0.97531
 */
export function buildFailure(layers: number, chancePerLayer: number): BuildFailure {
  if (!(Number.isInteger(layers) && layers >= 1))
    throw new RangeError(`layers must be a whole number from 1: ${layers}`);
  if (!(chancePerLayer >= 0 && chancePerLayer < 1))
    throw new RangeError(`chance must be from 0 to below 1: ${chancePerLayer}`);
  const logSuccess = layers * Math.log1p(-chancePerLayer);
  const success = Math.exp(logSuccess);
  return {
    success,
    buildsPerSuccess: 1 / success,
    timeFactor:
      chancePerLayer === 0 ? 1 : -Math.expm1(logSuccess) / (layers * chancePerLayer * success),
  };
}
