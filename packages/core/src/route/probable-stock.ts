import {
  type CleanUpInput,
  cleanUpProbability,
  stockForProbability,
} from '../allowance/clean-up.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { AsBuiltState } from './as-built-state.js';
import type { Chain, Growth } from './chain.js';
import { nominalOf } from './chain-demand.js';

/** What the first cut of a feature meets. */
export interface FirstCut {
  readonly start: AsBuiltState;
  readonly twoSided: boolean;
  readonly nominalMm: number;
  readonly growth: Growth;
  /** Total tolerance of the size that the cut makes, mm. */
  readonly toleranceMm: number;
  /** Error of clamping on printed faces, 1 sigma, mm. */
  readonly settingSigmaMm: number;
}

/** Points drawn; the scatter that they leave is below 0.01 mm. */
const blanks = 1024;
const seed = 1;
/** Depth of a hollow below the mean plane of a face over its form error. */
const hollowShare = 0.5;
/** One standard deviation of the form error over the form error. */
const formSpread = 0.3;

/**
 * Mean stock per side with which the first cut cleans a printed surface up with the wanted
 * probability. The model carries the printer's mean error, so print error has no mean here; a hole or
 * pin is also displaced by the place at which it was printed. A face's deepest hollow is taken as half
 * of its form error, within 30 % (one standard deviation; common practice, no source).
 */
export function probableStockMm(cut: FirstCut, target: number, context: PlanningContext): number {
  return stockForProbability(cleanUpInput(cut, context), target, { seed, blanks }).stockMm;
}

/**
 * Probability that the stock of a chain takes all of the printed skin off; undefined for a feature
 * that stays as printed, is printed closed, or whose first tool follows the surface.
 */
export function chainCleanUp(chain: Chain, context: PlanningContext): number | undefined {
  const [first] = chain.steps;
  if (first === undefined || chain.printedSolid || first.process.needs.allowanceRule !== 'full')
    return undefined;
  const input = cleanUpInput(
    {
      start: chain.start,
      twoSided: chain.geometry.twoSided,
      nominalMm: nominalOf(chain.feature, chain.geometry),
      growth: chain.context.growth,
      toleranceMm: chain.demand.usualTolerancesMm[0] ?? 0,
      settingSigmaMm: first.setUp.centre.roughRelocationUm / 1000,
    },
    context,
  );
  return cleanUpProbability(input, chain.stockPerSideMm, { seed, blanks });
}

function cleanUpInput(cut: FirstCut, context: PlanningContext): CleanUpInput {
  const { start, twoSided, nominalMm, growth } = cut;
  const layer = context.catalog.surfaceLayers.find((row) => row.state === start.layerState);
  if (layer === undefined) throw new RangeError(`surface-layers has no row ${start.layerState}`);
  const hollow = start.surface.formMm * hollowShare;
  return {
    sides: twoSided ? 2 : 1,
    size: [
      { name: 'print error', meanMm: 0, sigmaMm: start.sizeSigmaMm },
      { name: 'change of size in heat', meanMm: 0, sigmaMm: growth.sigmaPerMm * nominalMm },
      { name: 'tolerance of the cut', meanMm: 0, sigmaMm: cut.toleranceMm / 6 },
    ],
    shift: [
      { name: 'setting', meanMm: 0, sigmaMm: cut.settingSigmaMm },
      ...(twoSided
        ? [{ name: 'place of the print', meanMm: 0, sigmaMm: start.locationSigmaMm }]
        : []),
    ],
    form: [{ name: 'form', meanMm: hollow, sigmaMm: formSpread * hollow }],
    skinLowMm: (layer.rzLowUm + layer.layerLowUm) / 1000,
    skinHighMm: (layer.rzHighUm + layer.layerHighUm) / 1000,
  };
}
