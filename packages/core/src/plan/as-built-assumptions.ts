import type { PrintErrorsRow } from '../catalog/generated/print-errors.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { Chain } from '../route/chain.js';

/**
 * Writes the rows of the tables of print errors, printed roughness and surface layers that the chosen
 * chains rest on down as assumptions, each with the features that use it.
 */
export function noteAsBuilt(chains: readonly Chain[], context: PlanningContext): void {
  const users = new Map<
    string,
    { readonly tell: (features: string) => void; features: string[] }
  >();
  const use = (key: string, chain: Chain, tell: (features: string) => void): void => {
    const known = users.get(key) ?? { tell, features: [] };
    known.features.push(chain.feature.id);
    users.set(key, known);
  };
  for (const chain of chains) {
    const { size, place, roughness } = chain.start.rows;
    const asPrinted = chain.locating.setUp === undefined;
    if (!chain.printedSolid)
      use(`size ${size.featureClass}`, chain, (features) =>
        context.assume({
          what: `print error, ${words(size.featureClass)} (${features})`,
          value: errorText(size),
          source: size.source,
          confidence: size.confidence,
        }),
      );
    if (asPrinted && chain.feature.geometric.some((entry) => entry.datums.length > 0))
      use(`place ${place.featureClass}`, chain, (features) =>
        context.assume({
          what: `print error, place of a feature (${features})`,
          value: errorText(place),
          source: place.source,
          confidence: place.confidence,
        }),
      );
    if (roughness !== undefined && chain.steps.length === 0)
      use(`Ra ${roughness.material} ${roughness.surfaceClass ?? ''}`, chain, (features) =>
        context.assume({
          what: `roughness as printed, ${roughness.surfaceClass ?? 'any face'} (${features})`,
          value: `Ra ${chain.start.raUm} µm${roughness.low === undefined || roughness.high === undefined ? '' : ` (${roughness.low} to ${roughness.high})`}`,
          source: roughness.source,
          confidence: roughness.confidence,
        }),
      );
    const layer = context.catalog.surfaceLayers.find((row) => row.state === chain.start.layerState);
    if (layer !== undefined && chain.steps.length > 0 && !chain.printedSolid)
      use(`layer ${layer.state}`, chain, (features) =>
        context.assume({
          what: `skin that the first cut takes off, ${words(layer.state)} (${features})`,
          value: `Rz ${layer.rzLowUm} to ${layer.rzHighUm} µm, defect layer ${layer.layerLowUm} to ${layer.layerHighUm} µm`,
          source: layer.source,
          confidence: layer.confidence,
        }),
      );
  }
  for (const { tell, features } of users.values()) tell(features.join(', '));
}

function words(id: string): string {
  return id.replaceAll('-', ' ');
}

function errorText(row: PrintErrorsRow): string {
  const part = (fixedMm: number, perMm: number): string =>
    perMm === 0
      ? `${fixedMm} mm`
      : `${fixedMm} mm and ${Number((perMm * 1000).toPrecision(4))} µm per mm of size`;
  return `mean ${part(row.meanMm, row.meanPerMm)}; standard deviation ${part(row.sdMm, row.sdPerMm)}`;
}
