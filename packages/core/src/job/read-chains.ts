import { nearMatch } from '../problems/near-match.js';
import type { ReadFeature } from './check-features.js';
import type { Loose } from './check-schema.js';
import type { JobInput } from './input.js';
import { readLengthMm } from './measures.js';
import type { WrittenFeature } from './read-feature.js';
import type { PlaceAt } from './read-part.js';
import type { ReadingLog } from './reading-log.js';
import type { PartChain } from './types.js';

type ChainInput = NonNullable<JobInput['chains']>[number];

/**
 * Reads the dimension chains; every feature that they name must exist and have a size.
 *
 * @param lost features too faulty to be read: they exist, or one without an id may be the one named
 */
export function readChains(
  chains: readonly (Loose<ChainInput> | undefined)[],
  features: readonly ReadFeature[],
  lost: readonly WrittenFeature[],
  units: 'mm' | 'in',
  placeAt: PlaceAt,
  log: ReadingLog,
): readonly PartChain[] {
  const seen = new Set<string>();
  const byId = new Map(features.map((each) => [each.feature.id, each]));
  return chains.flatMap((chain, index) => {
    const id = chain?.id;
    if (chain === undefined || id === undefined) return [];
    const at: PlaceAt = (path) => placeAt(['chains', index, ...path]);
    if (seen.has(id))
      log.problem('duplicate-id', at(['id']), 'the id stands twice', id, 'each id once');
    seen.add(id);
    const lowerMm = readLengthMm(chain.lower, { unit: units }, 'any', at(['lower']), log);
    const upperMm = readLengthMm(chain.upper, { unit: units }, 'any', at(['upper']), log);
    if (lowerMm !== undefined && upperMm !== undefined && lowerMm >= upperMm) {
      const accept = `more than the lower limit, ${chain.lower}`;
      log.problem('inconsistent', at(['upper']), 'the limits are reversed', chain.upper, accept);
    }
    if (chain.terms === undefined && chain.expression === undefined)
      log.problem('missing-field', at([]), 'the chain has no terms', id, 'terms or expression');
    if (chain.terms !== undefined && chain.expression !== undefined)
      log.problem(
        'inconsistent',
        at([]),
        'the chain has both terms and expression',
        id,
        'one of the two',
      );
    const terms = (chain.terms ?? []).flatMap((text, term): PartChain['terms'] => {
      if (text === undefined) return [];
      const feature = text.replace(/^[+-]/, '');
      requireSize(feature, byId, lost, at(['terms', term]), log);
      return [{ feature, sign: text.startsWith('-') ? -1 : 1 }];
    });
    for (const name of namesIn(chain.expression ?? ''))
      requireSize(name, byId, lost, at(['expression']), log);
    if (lowerMm === undefined || upperMm === undefined) return [];
    const { expression } = chain;
    return [{ id, terms, ...(expression === undefined ? {} : { expression }), lowerMm, upperMm }];
  });
}

/** Words of an expression that are neither functions nor constants. */
function namesIn(expression: string): readonly string[] {
  const words = expression.match(/(?<![\w.])[A-Za-z_][A-Za-z0-9_]*(?!\s*\(|[A-Za-z0-9_])/g) ?? [];
  return [...new Set(words)].filter((word) => word !== 'pi' && word !== 'e');
}

function requireSize(
  id: string,
  features: ReadonlyMap<string, ReadFeature>,
  lost: readonly WrittenFeature[],
  place: ReturnType<PlaceAt>,
  log: ReadingLog,
): void {
  const found = features.get(id);
  if (found === undefined) {
    if (lost.some(({ input }) => input.id === undefined || input.id === id)) return;
    const ids = [...features.keys()];
    const near = nearMatch(id, ids.slice(0, 300));
    const message = `no such feature${near === undefined ? '' : `; did you mean ${near}?`}`;
    const some = ids.slice(0, 20).join(', ');
    log.problem('unknown-id', place, message, id, ids.length > 20 ? `${some} ...` : some);
    return;
  }
  const { feature, written } = found;
  const absent = written.input.size === undefined && !written.faulty.has('size');
  if (feature.size === undefined && (absent || feature.thread !== undefined))
    log.problem(
      'inconsistent',
      place,
      `feature ${id} has no size to add up`,
      id,
      'a feature with a size',
    );
}
