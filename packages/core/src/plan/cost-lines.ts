import type { Charge } from '../cost/charges.js';
import { type CostInput, givenInput, productOf } from '../cost/inputs.js';
import { formatMoney } from '../cost/money.js';
import type { SolvedJob } from './solve-job.js';
import type { CostLine, Operation } from './types.js';

/** Every money line, in the order of the operations; model lines add up to the objective. */
export function costLines(
  solved: SolvedJob,
  operations: readonly Operation[],
): readonly CostLine[] {
  const { chosen, planning, inspection, inspectionVisit } = solved;
  const ids = new Map<string, number>();
  const line = (charge: Charge, from: CostLine['from'], operation?: number): CostLine => {
    const id = operation === undefined ? charge.id : `${operation}.${charge.id}`;
    const count = (ids.get(id) ?? 0) + 1;
    ids.set(id, count);
    const { id: _, kind, label, amount, formula, inputs, source } = charge;
    return {
      id: count === 1 ? id : `${id}.${count}`,
      ...(operation === undefined ? {} : { operation }),
      label,
      kind,
      amount,
      from,
      formula,
      rule: productOf(inputs),
      inputs,
      source,
    };
  };
  const works = chosen.works.flatMap((work, index) => {
    const charges =
      work.kind === 'part'
        ? [
            ...work.work.cost.charges,
            ...chosen.chains.flatMap((chain) =>
              chain.masked
                .filter((entry) => entry.finish.process.id === work.work.finish?.process.id)
                .flatMap((entry) => entry.cost.charges),
            ),
          ]
        : [
            ...(planning.setUps.get(work.setUp.id)?.cost.charges ?? []),
            ...work.chains.flatMap((chain) =>
              chain.steps
                .filter((step) => step.setUp.id === work.setUp.id)
                .flatMap((step) => step.cost.charges),
            ),
          ];
    return charges.map((charge) => line(charge, 'model', operations[index]?.seq ?? 0));
  });
  const last = operations[operations.length - 1]?.seq ?? 0;
  const inspected = [
    ...inspectionVisit.charges,
    ...inspection.stations.flatMap((entry) => entry.cost.charges),
    ...inspection.characteristics.flatMap((entry) => entry.cost.charges),
  ].map((charge) => line(charge, 'constant', last));
  return [...works, ...inspected, ...additions(solved).map((charge) => line(charge, 'constant'))];
}

/** Contingency on all that comes before it, margin on that and the contingency. */
function additions({ totals, context }: SolvedJob): readonly Charge[] {
  const { contingencyPercent, marginPercent } = context.job.policy;
  const cost = totals.model + totals.inspection;
  const list = [
    ['contingency', contingencyPercent, cost, totals.contingency, 'sum of the lines above'],
    [
      'margin',
      marginPercent,
      cost + totals.contingency,
      totals.margin,
      totals.contingency === 0
        ? 'sum of the lines above'
        : 'sum of the lines above, contingency included',
    ],
  ] as const;
  const digits = Math.round(Math.log10(context.minorPerMajor));
  return list
    .filter(([, , , amount]) => amount !== 0)
    .map(([kind, percent, base, amount, name]): Charge => {
      const sum: CostInput = {
        name,
        value: base / context.minorPerMajor,
        unit: context.job.order.currency,
        source: 'the plan',
        confidence: 'computed',
      };
      return {
        id: kind,
        kind,
        label: kind,
        amount,
        formula: `${percent} % of ${formatMoney(base, digits)}`,
        inputs: [givenInput(kind, percent, '%'), sum],
        source: 'policy of the job',
      };
    });
}
