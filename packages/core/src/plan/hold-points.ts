import type { Operation } from './types.js';

/**
 * A hold point stands where a later operation hides the evidence or cannot be undone.
 *
 * @param hollow whether powder can stay in the part
 */
export function withHoldPoints(
  operations: readonly Operation[],
  hollow: boolean,
): readonly Operation[] {
  return operations.map((operation, index) => {
    const later = operations.slice(index + 1);
    const holds = [own(operation, later, hollow), hidden(operation, later[0])].filter(
      (text) => text !== undefined,
    );
    return holds.length === 0 ? operation : { ...operation, holdPoint: holds.join(' ') };
  });
}

/** What has to be accepted after the operation itself. */
function own(
  { kind, process, title }: Operation,
  later: readonly Operation[],
  hollow: boolean,
): string | undefined {
  if (kind === 'powder-removal')
    return hollow && later.some((entry) => entry.kind === 'thermal')
      ? 'Channels proven empty by weight or scan, on record, before the furnace.'
      : undefined;
  if (process === 'hip') return 'HIP chart and density coupon accepted before any cutting.';
  if (process === 'age') return 'Hardness of the coupons in its window before finish operations.';
  if (kind === 'testing')
    return `Result of the ${title.toLowerCase()} accepted and recorded for every part before it goes on.`;
  if (kind === 'thermal' && later[0]?.kind === 'cut-off')
    return 'Furnace chart accepted before the part leaves the plate.';
  return undefined;
}

/** What the next operation would hide. */
function hidden(operation: Operation, next: Operation | undefined): string | undefined {
  if (next === undefined || operation.kind === 'thermal') return undefined;
  if (next.kind !== 'coating' && next.process !== 'shot-peening') return undefined;
  return `Sizes and surface flaws checked and recorded before ${next.title.toLowerCase()} hides them.`;
}
