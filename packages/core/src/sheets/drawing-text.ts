import { geometricSymbols, takeKind } from '../limits/geometric-names.js';
import { parseGeometricTolerance } from '../limits/parse-geometric.js';
import type { Plan, PlannedFeature, Requirement } from '../plan/types.js';
import { scannerOf } from '../quantity/scanner.js';

const roundKinds: ReadonlySet<string> = new Set(['bore', 'shaft']);

/**
 * A requirement as a drawing writes it, with the symbols of ISO 1101 and ISO 129-1 for words and
 * plain-keyboard spellings: `position 0.05 (M) A B` becomes `⌖ 0.05 Ⓜ A B`, the size of a bore gets
 * its ⌀, `Ra 1.6` becomes `Ra ≤ 1.6 µm`. What is not understood stays as it is.
 */
export function drawingText(
  requirement: Pick<Requirement, 'kind' | 'text'>,
  featureKind: string,
): string {
  const { kind, text } = requirement;
  if (kind === 'geometric') return geometricText(text);
  if (kind === 'roughness') return text.replace(/^(R[az]) (\d+(?:\.\d+)?)$/, '$1 ≤ $2 µm');
  if (kind !== 'size') return text;
  const size = text.replace(/\+\/?-\s*/, '±');
  return roundKinds.has(featureKind) && /^\d/.test(size) ? `⌀${size}` : size;
}

function geometricText(text: string): string {
  const reading = parseGeometricTolerance(text);
  if (!reading.ok) return text;
  const scanner = scannerOf(text);
  const kind = takeKind(scanner);
  if (kind === undefined) return text;
  const zone = scanner.text
    .slice(scanner.at)
    .replace(/^[|:=]\s*/, '')
    .replace(/^dia(?:meter)?\.?\s*/i, '⌀')
    .replaceAll(/\s*\((M|L)\)/g, (_, letter: string) => (letter === 'M' ? ' Ⓜ' : ' Ⓛ'));
  return `${geometricSymbols[kind]} ${zone}`;
}

/** The drawing text of every requirement of a plan, by its id, and by feature and plain text. */
export interface DrawingTexts {
  of(requirement: Requirement): string;
  byId(id: string): string | undefined;
  byText(feature: string, text: string): string;
}

export function drawingTexts(features: Plan['features']): DrawingTexts {
  const kinds = new Map(features.map((feature) => [feature.id, feature.kind]));
  const requirements = features.flatMap((feature: PlannedFeature) => feature.requirements);
  const of = (requirement: Requirement): string =>
    drawingText(requirement, kinds.get(requirement.feature) ?? '');
  return {
    of,
    byId: (id) => {
      const found = requirements.find((requirement) => requirement.id === id);
      return found === undefined ? undefined : of(found);
    },
    byText: (feature, text) => {
      const found = requirements.find(
        (requirement) => requirement.feature === feature && requirement.text === text,
      );
      return found === undefined ? text : of(found);
    },
  };
}
