import { type CostInput, type CostLine, formatShort, type Plan } from '@offplate/core';
import { amountText, moneyText } from './numbers.js';
import { partLine } from './plan-head.js';
import type { Style } from './style.js';
import { indented, textTable } from './table.js';
import { wrapText } from './width.js';

/** Money lines with all that they were reckoned from, for a person at a terminal. */
export function costExplanation(plan: Plan, lines: readonly CostLine[], style: Style): string {
  return [
    partLine(plan, style),
    ...lines.flatMap((line) => ['', ...explainLine(plan, line, style)]),
    ...(lines.length < 2 ? [] : ['', sumOf(plan, lines)]),
    '',
  ].join('\n');
}

function explainLine(plan: Plan, line: CostLine, style: Style): readonly string[] {
  const { cost, job } = plan;
  const operation = plan.operations.find(({ seq }) => seq === line.operation);
  const place =
    operation === undefined
      ? 'on the whole lot'
      : `operation ${operation.seq}, ${operation.title}, ${operation.workCentre.name}`;
  const share =
    job.quantity === 1 ? '' : `, ${amountText(line.amount / job.quantity, cost)} a part`;
  return [
    style.bold(line.id),
    ...wrapText(
      `${line.label}${line.label === line.kind ? '' : `: ${line.kind}`}, ${place}`,
      style.width,
    ),
    ...indented(`${moneyText(line.amount, cost)} the lot${share}`, 2, style.width),
    ...indented(`= ${line.rule}${hourly(line) ? ', 60 min to the hour' : ''}`, 2, style.width),
    ...inputTable(line.inputs, style),
    ...wrapText(
      line.from === 'model'
        ? 'part of what the choice of the route weighs'
        : 'outside the choice of the route',
      style.width,
    ),
  ];
}

function hourly({ inputs }: CostLine): boolean {
  return (
    inputs.some(({ unit }) => unit.endsWith('/h')) && inputs.some(({ unit }) => unit === 'min')
  );
}

function sumOf({ cost }: Plan, lines: readonly CostLine[]): string {
  const sum = lines.reduce((total, { amount }) => total + amount, 0);
  return `${lines.length} lines together: ${moneyText(sum, cost)} the lot`;
}

/** One row an input; what an input was reckoned from stands below it, further in. */
function inputTable(inputs: readonly CostInput[], style: Style): readonly string[] {
  return textTable(
    [
      { title: ['input'], align: 'left' },
      { title: ['value'], align: 'decimal' },
      { title: ['unit'], align: 'left' },
      { title: ['source'], align: 'left', wraps: true },
      { title: ['trust'], align: 'left' },
    ],
    inputs.flatMap((input) => inputRows(input, 0)),
    style,
  );
}

function inputRows(input: CostInput, depth: number): readonly { readonly cells: string[] }[] {
  const { name, value, unit, source, confidence, from } = input;
  return [
    {
      cells: [
        `${'· '.repeat(depth)}${name}`,
        formatShort(value, 4),
        unit === '1' ? '' : unitText(unit),
        from === undefined ? source : from.formula,
        confidence,
      ],
    },
    ...(from?.inputs ?? []).flatMap((under) => inputRows(under, depth + 1)),
  ];
}

function unitText(unit: string): string {
  return unit
    .replace('um', 'µm')
    .replace(/([cm]m)([23])/, (_, length, power) => `${length}${power === '2' ? '²' : '³'}`);
}
