import { formatMoney } from '../cost/money.js';
import type { CostLine, CostPlan, Plan } from '../plan/types.js';
import { axisFromZero, quantityAxis } from './axis.js';
import { fixed, shortest } from './print-numbers.js';
import type { Block } from './types.js';

type Currency = Pick<CostPlan, 'currency' | 'minorDigits'>;

/** `1234.56 EUR`. */
export function money(minor: number, cost: Currency): string {
  return `${amount(minor, cost)} ${cost.currency}`;
}

function amount(minor: number, { minorDigits }: Currency): string {
  return formatMoney(minor, minorDigits).replace('-', '−');
}

type Share = 'once' | 'work' | 'charge' | 'inspection';

/** Groups of money lines that a reader tells apart. */
const shareOf: Readonly<Record<CostLine['kind'], Share>> = {
  'set-up': 'once',
  programming: 'once',
  run: 'work',
  load: 'work',
  furnace: 'work',
  'lot-charge': 'charge',
  'unit-charge': 'charge',
  relation: 'charge',
  inspection: 'inspection',
  contingency: 'charge',
  margin: 'charge',
};

const shares: readonly Share[] = ['once', 'work', 'charge', 'inspection'];

/** Bars and a table of the lot's cost by operation; the printed lines add up to the printed total. */
export function costBlocks(plan: Plan): readonly Block[] {
  const { cost, operations } = plan;
  if (cost.lines.length === 0) return [];
  const rows = [
    ...operations.map((operation) => ({
      number: String(operation.seq),
      title: operation.title,
      lines: cost.lines.filter((line) => line.operation === operation.seq),
    })),
    {
      number: '',
      title: 'Margin and other',
      lines: cost.lines.filter(
        (line) => !operations.some((operation) => operation.seq === line.operation),
      ),
    },
  ].filter((row) => row.lines.length > 0);
  const used = shares.filter((share) => cost.lines.some((line) => shareOf[line.kind] === share));
  const cells = (lines: readonly CostLine[]): readonly string[] => [
    ...used.map((share) => {
      const some = lines.filter((line) => shareOf[line.kind] === share);
      return some.length === 0 ? '' : amount(sumOf(some), cost);
    }),
    amount(sumOf(lines), cost),
    cost.perLot === 0 ? '' : fixed((100 * sumOf(lines)) / cost.perLot, 1),
  ];
  return [
    { type: 'heading', text: 'Cost by operation' },
    {
      type: 'bars',
      title: `The lot, ${cost.currency}`,
      legend: { dark: 'set-up and programming, paid once a lot', light: 'all other' },
      bars: rows.map(({ number, title, lines }) => {
        const once = sumOf(lines.filter((line) => shareOf[line.kind] === 'once'));
        const all = sumOf(lines);
        return {
          label: `${number} ${title}`.trim(),
          value: amount(all, cost),
          segments: [
            { from: 0, to: once, tone: 'dark' as const },
            { from: once, to: all, tone: 'light' as const },
          ],
        };
      }),
    },
    {
      type: 'table',
      title: `Lines of the lot, ${cost.currency}`,
      columns: [
        { title: 'Op', align: 'decimal' },
        { title: 'Operation', align: 'left' },
        ...used.map((share) => ({ title: shareTitles[share], align: 'decimal' as const })),
        { title: 'The lot', align: 'decimal' },
        { title: '% of all', align: 'decimal' },
      ],
      rows: [
        ...rows.map(({ number, title, lines }) => [number, title, ...cells(lines)]),
        ['', 'Total', ...cells(cost.lines)],
      ],
    },
  ];
}

const shareTitles: Readonly<Record<Share, string>> = {
  once: 'Set-up and programming',
  work: 'Run, load and furnace',
  charge: 'Charges and margin',
  inspection: 'Inspection',
};

function sumOf(lines: readonly CostLine[]): number {
  return lines.reduce((sum, line) => sum + line.amount, 0);
}

/** Price a part over the quantity, as a curve when there are several, and as a table. */
export function breakBlocks({ cost }: Plan): readonly Block[] {
  if (cost.breaks.length === 0) return [];
  const priced = cost.breaks.filter((entry) => entry.feasible);
  const major = 10 ** cost.minorDigits;
  const most = Math.max(0, ...priced.map((entry) => entry.perPart)) / major;
  const points = priced
    .map((entry) => [Math.log2(entry.quantity), entry.perPart / major] as const)
    .sort(([left], [right]) => left - right);
  return [
    { type: 'heading', text: 'Price at other quantities' },
    ...(new Set(points.map(([x]) => x)).size < 2
      ? []
      : [
          {
            type: 'curve' as const,
            title: `A part, ${cost.currency}`,
            x: quantityAxis(
              'Parts in the lot; each doubling is as wide as the next',
              priced.map((entry) => entry.quantity),
            ),
            y: axisFromZero(cost.currency, most, 4),
            points,
            marks: priced.map((entry) => ({
              x: Math.log2(entry.quantity),
              y: entry.perPart / major,
              text: amount(entry.perPart, cost),
            })),
            inWords: `Price of a part: ${priced
              .map((entry) => `${money(entry.perPart, cost)} at ${entry.quantity}`)
              .join('; ')}`,
          },
        ]),
    {
      type: 'table',
      title: 'Planned anew at each quantity',
      columns: [
        { title: 'Parts', align: 'decimal' },
        { title: `A part, ${cost.currency}`, align: 'decimal' },
        { title: `The lot, ${cost.currency}`, align: 'decimal' },
        { title: 'Working days', align: 'decimal' },
        { title: 'Change of the route', align: 'left' },
      ],
      rows: cost.breaks.map((entry) =>
        entry.feasible
          ? [
              String(entry.quantity),
              amount(entry.perPart, cost),
              amount(entry.perLot, cost),
              shortest(entry.days, 1),
              entry.routeChanges.length === 0 ? 'none' : entry.routeChanges.join('; '),
            ]
          : [String(entry.quantity), '', '', '', 'cannot be made at this quantity'],
      ),
    },
  ];
}
