import type { PlannedFeature } from '../plan/types.js';

/** A feature by its id, its name, how many there are and the datum that it carries. */
export function featureText(feature: PlannedFeature): string {
  const count = feature.count > 1 ? ` (${feature.count}×)` : '';
  const name = feature.name === undefined ? '' : ` ${feature.name}`;
  const datum = feature.datum === undefined ? '' : `, datum ${feature.datum}`;
  return `${feature.id}${name}${count}${datum}`;
}

/** The same by the id; an id that names no feature stands for itself. */
export function featureTexts(features: readonly PlannedFeature[]): (id: string) => string {
  const byId = new Map(features.map((feature) => [feature.id, featureText(feature)]));
  return (id) => byId.get(id) ?? id;
}
