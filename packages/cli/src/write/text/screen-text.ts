import {
  formatShort,
  type PrintScreen,
  type ScreenCheck,
  type ScreenCheckId,
  type ScreenLimit,
  type ScreenSubject,
  type ScreenVerdict,
  type ToleranceReality,
} from '@offplate/core';
import { unsourced } from './plan-remarks.js';
import type { Style } from './style.js';
import { textTable } from './table.js';
import { printable, wrapText } from './width.js';

const checkNames: Readonly<Record<ScreenCheckId, string>> = {
  wall: 'wall',
  pin: 'pin, boss',
  hole: 'open hole',
  gap: 'slot, gap',
  'lying-hole': 'lying hole',
  overhang: 'overhang',
  span: 'span',
  slenderness: 'slenderness',
  'free-standing': 'slender feature',
  'escape-hole': 'escape hole',
  'channel-length': 'channel length',
  'trapped-powder': 'trapped powder',
  'support-access': 'support access',
};

const verdictNames: Readonly<Record<ScreenVerdict, string>> = {
  within: 'within',
  care: 'care',
  outside: 'OUTSIDE',
  unknown: 'ask',
  none: 'none here',
};

/** Subjects of one check that are listed; the rest is counted. */
const subjectsShown = 4;

/** The screen as text: checks, what they change, tolerances, and the list for the talk. */
export function screenText(report: PrintScreen, style: Style): string {
  const { checks, tolerances, talk } = report;
  const changing = checks.filter(({ route }) => route !== undefined);
  const printed = tolerances.filter(({ asPrinted }) => asPrinted).length;
  return [
    style.bold(printable(`${report.part} · ${report.number}-${report.revision}`)),
    `${report.printer} · ${report.material.name} (${report.material.family})`,
    countsLine(checks),
    '',
    style.bold('What can be printed'),
    ...checkTable(checks, style),
    ...sourceLines(checks, style),
    ...(changing.length === 0
      ? []
      : [
          '',
          style.bold('What it changes in the route'),
          ...changing.flatMap(({ check, route }) =>
            hanging('- ', `${checkNames[check]}: ${route ?? ''}`, style),
          ),
        ]),
    ...(tolerances.length === 0
      ? []
      : [
          '',
          style.bold(`Tolerances: ${printed} of ${tolerances.length} features can stay as printed`),
          ...toleranceTable(tolerances, style),
          ...hanging(
            '  ',
            `printed: six standard deviations, with the mean error corrected in the build model (tables print-errors and as-built; confidence ${[...new Set(tolerances.map(({ confidence }) => confidence))].join(', ')}); geometric tolerances are not compared here`,
            style,
          ),
        ]),
    '',
    style.bold('For the talk with the customer'),
    ...talk.flatMap((text, index) => hanging(`${index + 1}. `, text, style)),
    '',
  ].join('\n');
}

/** `1 check outside, 3 want care, 0 to ask`. */
function countsLine(checks: readonly ScreenCheck[]): string {
  const count = (wanted: ScreenVerdict): number =>
    checks.filter(({ verdict }) => verdict === wanted).length;
  return `of ${checks.length} checks: ${count('outside')} outside, ${count('care')} to take care of, ${count('unknown')} to ask about`;
}

function checkTable(checks: readonly ScreenCheck[], style: Style): readonly string[] {
  return textTable(
    [
      { title: ['check'], align: 'left' },
      { title: [''], align: 'left' },
      { title: ['seen, worst first'], align: 'left', wraps: true },
      { title: ['wanted'], align: 'left' },
      { title: ['firm'], align: 'left' },
      { title: ['confidence'], align: 'left' },
    ],
    checks.map(({ check, verdict, limit, subjects }) => ({
      cells: [
        checkNames[check],
        verdictNames[verdict],
        seenText(subjects, limit),
        limit === undefined ? '' : limitText(limit.wanted, limit),
        limit === undefined ? '' : limitText(limit.firm, limit),
        limit === undefined ? '' : limit.confidence,
      ],
    })),
    style,
  );
}

function seenText(subjects: readonly ScreenSubject[], limit?: ScreenLimit): string {
  const shown = subjects.slice(0, subjectsShown).map(({ about, seen, verdict, note }) => {
    const value = seen === undefined || limit === undefined ? [] : [valueText(seen, limit)];
    const said = [about, ...value].join(' ');
    const words = verdict === 'unknown' && note === undefined ? 'the job does not say' : note;
    return words === undefined ? said : `${said} (${words})`;
  });
  const more = subjects.length - subjectsShown;
  return [...shown, ...(more > 0 ? [`${more} more`] : [])].join('; ');
}

function valueText(value: number, { unit }: ScreenLimit): string {
  const text = formatShort(value, unit === 'mm' ? 2 : unit === 'deg' ? 0 : 1);
  return unit === 'mm' ? `${text} mm` : unit === 'deg' ? `${text}°` : `${text}:1`;
}

function limitText(value: number, limit: ScreenLimit): string {
  return `${limit.sense === 'least' ? '≥' : '≤'} ${valueText(value, limit)}`;
}

/** Sources once each, with the checks that rest on them. */
function sourceLines(checks: readonly ScreenCheck[], style: Style): readonly string[] {
  const sources = new Map<string, string[]>();
  for (const { check, limit } of checks) {
    if (limit === undefined) continue;
    const names = sources.get(limit.source) ?? [];
    sources.set(limit.source, [...names, checkNames[check]]);
  }
  const common = sources.get(unsourced);
  sources.delete(unsourced);
  return [
    ...[...sources].flatMap(([source, names]) =>
      hanging('  ', `${names.join(', ')}: ${source}`, style),
    ),
    ...(common === undefined
      ? []
      : hanging(
          '  ',
          `${sources.size === 0 ? 'all limits' : 'other limits'}: ${unsourced}`,
          style,
        )),
  ];
}

function toleranceTable(tolerances: readonly ToleranceReality[], style: Style): readonly string[] {
  return textTable(
    [
      { title: ['feature'], align: 'left' },
      { title: ['name'], align: 'left', wraps: true },
      { title: ['size'], align: 'left', wraps: true },
      { title: ['width', 'mm'], align: 'decimal' },
      { title: ['printed', 'mm'], align: 'decimal' },
      { title: ['Ra', 'µm'], align: 'decimal' },
      { title: ['printed', 'µm'], align: 'decimal' },
      { title: ['so'], align: 'left', wraps: true },
    ],
    tolerances.map((each) => ({
      cells: [
        each.feature,
        each.name ?? '',
        each.size ?? '',
        each.toleranceMm === undefined ? '' : formatShort(each.toleranceMm, 3),
        each.toleranceMm === undefined ? '' : formatShort(each.printedMm, 2),
        each.raMaxUm === undefined ? '' : formatShort(each.raMaxUm, 1),
        formatShort(each.printedRaUm, 0),
        each.route,
      ],
    })),
    style,
  );
}

function hanging(mark: string, text: string, style: Style): readonly string[] {
  return wrapText(text, style.width - mark.length).map(
    (line, index) => `${index === 0 ? mark : ' '.repeat(mark.length)}${line}`,
  );
}
