import type { Plan } from '../plan/types.js';
import type { Block, Field, Sheet, SheetOptions } from './types.js';

/** The sheet around the blocks: part and revision, order and day of issue on every page. */
export function framedSheet(
  plan: Plan,
  options: SheetOptions,
  what: Pick<Sheet, 'kind' | 'title' | 'code' | 'header' | 'blocks'>,
): Sheet {
  const order = orderOf(plan, options);
  const foot = [
    what.title,
    order === undefined ? undefined : `order ${order}`,
    options.issuedOn === undefined ? undefined : `issued ${options.issuedOn}`,
  ];
  return {
    schema: 'sheet/1',
    kind: what.kind,
    format: options.format,
    title: what.title,
    subject: plan.job.part,
    identity: `${plan.job.number}-${plan.job.revision}`,
    footNote: foot.filter((part) => part !== undefined).join(' · '),
    ...(what.code === undefined ? {} : { code: what.code }),
    header: what.header,
    blocks: what.blocks,
  };
}

/** The shop's order number, else the job's own reference. */
export function orderOf(plan: Plan, options: SheetOptions): string | undefined {
  return options.order ?? plan.job.reference;
}

/** What every sheet says first about the part and the order. */
export function partFields(plan: Plan, options: SheetOptions): readonly Field[] {
  const { job } = plan;
  return [
    { label: 'Part number', value: job.number },
    { label: 'Revision', value: job.revision },
    { label: 'Order', value: orderOf(plan, options) ?? '' },
    { label: 'Quantity', value: String(job.quantity) },
    { label: 'Material', value: `${job.material.name} (${job.material.designation})` },
    { label: 'Condition at delivery', value: job.condition },
  ];
}

/** Day and name of the issue; a line to fill in when neither is known. */
export function issuedField(options: SheetOptions): Field {
  const issued = [options.issuedOn, options.issuedBy].filter((part) => part !== undefined);
  return { label: 'Issued', value: issued.join(', ') };
}

/** A box that a sheet of an impossible job begins with. */
export function notFeasibleBlocks(plan: Plan, consequence: string): readonly Block[] {
  if (plan.feasible) return [];
  return [
    {
      type: 'box',
      tone: 'notice',
      title: 'No route meets every requirement',
      items: [
        consequence,
        ...plan.conflicts.map(
          (conflict) =>
            `${conflict.feature ?? 'whole part'}: ${conflict.requirement}; best within reach: ${conflict.best}`,
        ),
      ],
    },
  ];
}
