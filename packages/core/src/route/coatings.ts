import type { Chain } from './chain.js';
import type { PlannedFinish } from './finishes.js';
import { reaches } from './masking.js';

/** Finishes that grow on a feature after its last cut: they reach it and it is not masked. */
export function actingCoatings({
  context,
  feature,
  steps,
  masked,
}: Pick<Chain, 'context' | 'feature' | 'steps' | 'masked'>): readonly PlannedFinish[] {
  return context.finishes.filter(
    (finish) =>
      finish.process.row.effect === 'growth' &&
      finish.placement !== 'before-machining' &&
      !masked.some((entry) => entry.finish.process.id === finish.process.id) &&
      reaches(finish, feature, steps.length === 0),
  );
}

/** The coatings as words in a text: `hard anodising`, `electroless nickel and ...`. */
export function coatingNames(coatings: readonly PlannedFinish[]): string {
  return coatings.map(({ process }) => process.row.name.toLowerCase()).join(' and ');
}
