import { formatFixed, type PlanComparison } from '@offplate/core';
import { amountText, counted, moneyText } from './numbers.js';
import type { Style } from './style.js';
import { textTable } from './table.js';
import { printable, wrapText } from './width.js';

type Side = PlanComparison['a'];
type ComparedOperation = PlanComparison['operations'][number];

/** Two plans side by side as text. */
export function comparisonText(report: PlanComparison, style: Style): string {
  const { a, b, operations } = report;
  const differing = operations.filter(({ change }) => change !== 'same');
  const same = operations.length - differing.length;
  return [
    ...sideTable(report, style),
    '',
    ...verdictLines(report, style),
    ...section('What differs at the start', causeLines(report, style), style),
    ...section(
      `Operations, amounts a part in ${a.currency}`,
      a.planned && b.planned && differing.length > 0
        ? operationLines(differing, report, style)
        : [],
      style,
    ),
    ...(same > 0 && differing.length > 0
      ? [style.faint(`${counted(same, 'operation')} the same on both sides`)]
      : []),
    ...section('Where the money moves, the lot', moneyLines(report, style), style),
    '',
  ].join('\n');
}

function section(title: string, lines: readonly string[], style: Style): readonly string[] {
  return lines.length === 0 ? [] : ['', style.bold(title), ...lines];
}

function sideTable({ a, b }: PlanComparison, style: Style): readonly string[] {
  const row = (name: string, side: Side): readonly string[] => [
    name,
    printable(`${side.part} · ${side.number}-${side.revision}`),
    String(side.quantity),
    side.planned ? amountText(side.perPart, side) : '',
    side.planned ? amountText(side.perLot, side) : '',
    side.planned ? formatFixed(side.days, 1) : '',
    side.planned ? `${side.readyOn ?? ''}${side.lateDays > 0 ? ', late' : ''}` : 'no route',
  ];
  return textTable(
    [
      { title: [''], align: 'left' },
      { title: ['part'], align: 'left', wraps: true },
      { title: ['quantity'], align: 'decimal' },
      { title: ['a part', a.currency], align: 'decimal' },
      { title: ['the lot', a.currency], align: 'decimal' },
      { title: ['working', 'days'], align: 'decimal' },
      { title: ['ready'], align: 'left' },
    ],
    [{ cells: row('A', a) }, { cells: row('B', b) }],
    style,
  );
}

function verdictLines(
  { a, b, difference, operations }: PlanComparison,
  style: Style,
): readonly string[] {
  if (difference === undefined) {
    const reason =
      a.currency !== b.currency
        ? `A is in ${a.currency}, B in ${b.currency}: their money is not compared`
        : `${[a.planned ? '' : 'A', b.planned ? '' : 'B'].filter((side) => side !== '').join(' and ')} cannot be made as it stands`;
    return [style.warning(reason)];
  }
  const { perPart, perLot, days } = difference;
  const money =
    perPart === 0 && perLot === 0
      ? 'costs the same'
      : `costs ${moneyText(Math.abs(perPart), a)} ${perPart < 0 ? 'less' : 'more'} a part, ${moneyText(Math.abs(perLot), a)} ${perLot < 0 ? 'less' : 'more'} the lot`;
  const time =
    Math.abs(days) < 0.05
      ? 'takes as long'
      : `takes ${formatFixed(Math.abs(days), 1)} working days ${days < 0 ? 'less' : 'more'}`;
  const count = (change: string): number =>
    operations.filter((operation) => operation.change === change).length;
  const route = `${count('in')} in, ${count('out')} out, ${count('changed')} changed`;
  const partial = [a, b].flatMap((side, index) =>
    side.feasible
      ? []
      : wrapText(
          `${index === 0 ? 'A' : 'B'} leaves out what cannot be met: it is no plan for the whole job`,
          style.width,
        ).map((line) => style.warning(line)),
  );
  return [...wrapText(`B ${money} and ${time}; operations: ${route}`, style.width), ...partial];
}

const kinds = {
  requirement: 'requirement',
  feature: 'feature',
  job: 'job',
  policy: 'policy',
  default: 'default',
  table: 'table',
} as const;

function causeLines({ causes, unusedRows }: PlanComparison, style: Style): readonly string[] {
  const table =
    causes.length === 0
      ? []
      : textTable(
          [
            { title: ['from'], align: 'left' },
            { title: ['what'], align: 'left', wraps: true },
            { title: ['A'], align: 'left', wraps: true },
            { title: ['B'], align: 'left', wraps: true },
          ],
          causes.map(({ kind, what, feature, a, b }) => ({
            cells: [
              kinds[kind],
              kind === 'feature' ? `${feature ?? ''} ${what}` : what,
              a === '' ? 'none' : a,
              b === '' ? 'none' : b,
            ],
          })),
          style,
        );
  const rest =
    unusedRows === 0
      ? []
      : wrapText(
          `${counted(unusedRows, 'more table row')} differ${unusedRows === 1 ? 's' : ''} that neither route uses`,
          style.width,
        ).map((line) => style.faint(line));
  return [...table, ...rest];
}

function operationLines(
  operations: readonly ComparedOperation[],
  report: PlanComparison,
  style: Style,
): readonly string[] {
  const { a } = report;
  return textTable(
    [
      { title: [''], align: 'left' },
      { title: ['op A'], align: 'decimal' },
      { title: ['op B'], align: 'decimal' },
      { title: ['operation'], align: 'left', wraps: true },
      { title: ['A'], align: 'decimal' },
      { title: ['B'], align: 'decimal' },
      { title: ['B - A'], align: 'decimal' },
      { title: ['days'], align: 'decimal' },
    ],
    operations.map((entry) => ({
      cells: [
        entry.change,
        entry.seqA === undefined ? '' : String(entry.seqA),
        entry.seqB === undefined ? '' : String(entry.seqB),
        nameOf(entry),
        entry.seqA === undefined ? '' : amountText(entry.perPartA, a),
        entry.seqB === undefined ? '' : amountText(entry.perPartB, a),
        amountText(entry.perPartB - entry.perPartA, a),
        formatFixed(entry.days, 1),
      ],
      notes: entry.because,
    })),
    style,
  );
}

function nameOf({ title, workCentreA, workCentreB }: ComparedOperation): string {
  const centre =
    workCentreA === undefined || workCentreB === undefined || workCentreA === workCentreB
      ? (workCentreB ?? workCentreA ?? '')
      : `${workCentreA} -> ${workCentreB}`;
  return `${title}, ${centre}`;
}

function moneyLines({ a, difference, money }: PlanComparison, style: Style): readonly string[] {
  const moved = money.filter((entry) => entry.difference !== 0);
  if (difference === undefined || moved.length === 0) return [];
  return textTable(
    [
      { title: ['kind'], align: 'left' },
      { title: ['A', a.currency], align: 'decimal' },
      { title: ['B', a.currency], align: 'decimal' },
      { title: ['B - A', a.currency], align: 'decimal' },
    ],
    moved.map((entry) => ({
      cells: [
        entry.kind,
        amountText(entry.a, a),
        amountText(entry.b, a),
        amountText(entry.difference, a),
      ],
    })),
    style,
  );
}
