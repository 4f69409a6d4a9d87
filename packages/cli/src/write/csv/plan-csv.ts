import { itemSample, type Plan } from '@offplate/core';
import { type CsvCell, csvText, rounded } from './csv.js';

function money(minor: number, { cost }: Plan): number {
  return rounded(minor / 10 ** cost.minorDigits, cost.minorDigits);
}

/** One row an operation. */
export function operationsCsv(plan: Plan): string {
  return csvText(
    [
      'operation',
      'process',
      'title',
      'work_centre',
      'sourcing',
      'features',
      'setup_min',
      'run_min_lot',
      'cost_per_part',
      'cost_per_lot',
      'currency',
      'lead_days',
      'starts_on',
      'ends_on',
      'hold_point',
      'reasons',
    ],
    plan.operations.map((operation): readonly CsvCell[] => {
      const step = plan.schedule.steps.find((entry) => entry.operation === operation.seq);
      return [
        operation.seq,
        operation.process,
        operation.title,
        operation.workCentre.name,
        operation.workCentre.sourcing,
        operation.features.join(' '),
        rounded(operation.setupMinutes, 2),
        rounded(operation.runMinutes, 2),
        money(operation.costPerPart, plan),
        money(operation.costPerLot, plan),
        plan.cost.currency,
        rounded(operation.leadDays, 3),
        step?.startsOn,
        step?.endsOn,
        operation.holdPoint,
        operation.reasons.map(({ text }) => text).join('; '),
      ];
    }),
  );
}

/** One row a face, with the height off the plate as the last row. */
export function stockCsv({ stock }: Plan): string {
  const rows = stock.faces.map((face): readonly CsvCell[] => [
    face.feature,
    face.what,
    face.finishedMm === undefined ? undefined : rounded(face.finishedMm, 4),
    face.printedMm === null ? 'solid' : rounded(face.printedMm, 4),
    rounded(face.stockPerSideMm, 4),
    face.build.map(({ what, mm }) => `${what} ${rounded(mm, 4)}`).join('; '),
    face.why,
  ]);
  const parts = stock.heightOffPlateParts.map(({ what, mm }) => `${what} ${rounded(mm, 4)}`);
  const height = rounded(stock.heightOffPlateMm, 4);
  return csvText(
    ['feature', 'what', 'finished_mm', 'printed_mm', 'stock_per_side_mm', 'made_of_mm', 'why'],
    [
      ...rows,
      ['', 'height off the plate', undefined, undefined, height, parts.join('; '), undefined],
    ],
  );
}

/** One row a money line; the last rows are the sums. */
export function quoteCsv(plan: Plan): string {
  const { cost } = plan;
  const lines = cost.lines.map((line): readonly CsvCell[] => [
    line.id,
    line.operation,
    line.label,
    line.kind,
    money(line.amount, plan),
    cost.currency,
    line.formula,
    line.rule,
    line.source,
  ]);
  const sum = (
    label: string,
    kind: string,
    amount: number | undefined,
    remark?: string,
  ): readonly CsvCell[] => [
    undefined,
    undefined,
    label,
    kind,
    amount === undefined ? undefined : money(amount, plan),
    cost.currency,
    remark,
    undefined,
    undefined,
  ];
  return csvText(
    ['line', 'operation', 'label', 'kind', 'amount', 'currency', 'reckoned_as', 'rule', 'source'],
    [
      ...lines,
      sum('the lot', 'sum', cost.perLot),
      sum('a part', 'sum', cost.perPart),
      ...cost.breaks.map((entry) =>
        sum(
          `a part, lot of ${entry.quantity}`,
          'quantity-break',
          entry.feasible ? entry.perPart : undefined,
          entry.feasible ? entry.routeChanges.join('; ') : 'not feasible',
        ),
      ),
    ],
  );
}

/**
 * One row a characteristic; `finds_bad_in_lot` is the number of bad parts that the sample finds with
 * a probability of 90 %, and the last columns are filled in by the inspector.
 */
export function inspectionCsv(plan: Plan): string {
  const { inspection, job } = plan;
  const limit = (value: number | undefined): CsvCell =>
    value === undefined ? undefined : rounded(value, 4);
  return csvText(
    [
      'number',
      'feature',
      'requirement',
      'unit',
      'drawing_from',
      'drawing_to',
      'accept_from',
      'accept_to',
      'method',
      'uncertainty_um',
      'sample',
      'lot',
      'accept_up_to_bad',
      'reject_from_bad',
      'finds_bad_in_lot',
      'least_found',
      'most_found',
      'ok',
    ],
    inspection.map((item): readonly CsvCell[] => {
      const { accept, reject, findsBadParts } = itemSample(item, plan);
      return [
        item.number,
        item.feature,
        item.text,
        item.unit,
        limit(item.lower),
        limit(item.upper),
        limit(item.acceptLower),
        limit(item.acceptUpper),
        item.methodName,
        limit(item.uncertaintyUm),
        item.sample,
        job.quantity,
        accept,
        reject,
        findsBadParts,
        undefined,
        undefined,
        undefined,
      ];
    }),
  );
}
