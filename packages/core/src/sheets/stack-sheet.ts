import type { StackReport } from '../stack/stack-report.js';
import { chainDrawing } from './chain-drawing.js';
import { shortest } from './print-numbers.js';
import { issuedField } from './sheet-frame.js';
import { distributionBlocks } from './stack-distribution.js';
import { contributorBlocks, methodBlocks, percent, tightenBlocks } from './stack-tables.js';
import type { Block, Field, Sheet, SheetOptions } from './types.js';

/**
 * The report of one stack: verdict, the chain as a drawing, the distribution with the limits, who
 * contributes how much, all methods side by side with what each takes for granted, and what to
 * tighten first. In the unit of the stack, printed ready to read. The distribution is drawn when the
 * stack was reckoned with `quantiles: stackProbabilities`. It throws nothing.
 *
 * @example
 * stackSheet(stackReport({ name: 'gap', requirement: { lower: 0.9, upper: 1.2 }, contributors: [{ id: 'a', nominal: 3, plus: 0.1, minus: 0.1 }, { id: 'b', nominal: 2, plus: 0.1, minus: 0.1, coefficient: -1 }] }), { format: 'A4' }).header[2].value // -> "0.9 to 1.2 mm"
 */
export function stackSheet(report: StackReport, options: SheetOptions): Sheet {
  const { name, contributors, notes } = report;
  const subject = name ?? `Stack of ${contributors.length} contributors`;
  return {
    schema: 'sheet/1',
    kind: 'stack',
    format: options.format,
    title: 'Stack report',
    subject,
    identity: options.order ?? '',
    footNote: ['Stack report', options.issuedOn === undefined ? '' : `issued ${options.issuedOn}`]
      .filter((part) => part !== '')
      .join(' · '),
    header: headerFields(report, options),
    blocks: [
      ...verdictBlocks(report),
      { type: 'heading', text: 'Chain' },
      ...(report.function === undefined
        ? chainDrawing(report)
        : [{ type: 'paragraph' as const, text: `result = ${report.function}` }]),
      ...distributionBlocks(report),
      ...contributorBlocks(report),
      ...methodBlocks(report),
      ...tightenBlocks(report),
      ...(notes.length === 0 ? [] : [{ type: 'list' as const, title: 'Notes', items: notes }]),
      { type: 'sign-off', boxes: ['Made by', 'Checked by', 'Date'] },
    ],
  };
}

function headerFields(report: StackReport, options: SheetOptions): readonly Field[] {
  const { contributors, requirement, unit } = report;
  return [
    { label: 'Contributors', value: String(contributors.length) },
    { label: 'Unit', value: unit },
    {
      label: 'Requirement',
      value: requirement === undefined ? 'none' : `${limitsText(requirement)} ${unit}`,
    },
    issuedField(options),
  ];
}

function limitsText({ lower, upper }: NonNullable<StackReport['requirement']>): string {
  if (lower !== undefined && upper !== undefined)
    return `${shortest(lower, 9)} to ${shortest(upper, 9)}`;
  return lower === undefined
    ? `at most ${shortest(upper ?? 0, 9)}`
    : `at least ${shortest(lower, 9)}`;
}

function verdictBlocks({ verdict, worst }: StackReport): readonly Block[] {
  if (verdict === undefined) return [];
  const { by, inLimits, minimum, holds } = verdict;
  const how = by === 'exact' ? 'exact distribution' : 'Monte Carlo';
  return [
    {
      type: 'box',
      tone: 'notice',
      title: holds ? 'The requirement holds' : 'The requirement does not hold',
      items: [
        `In limits ${percent(inLimits)} % (${how}), wanted ${shortest(100 * minimum, 4)} %.`,
        worst.holds === true
          ? 'In the worst case it holds too.'
          : 'In the worst case it does not hold.',
      ],
    },
  ];
}
