import { formatFixed, formatShort, type MeshReport } from '@offplate/core';
import { counted } from './numbers.js';
import { findingLines } from './plan-remarks.js';
import type { Style } from './style.js';
import { type TextColumn, textTable } from './table.js';

/** What a mesh measures as text. */
export function meshText(report: MeshReport, style: Style): string {
  const { file, format, title, part, candidates, findings } = report;
  const formats = { 'stl-binary': 'STL, binary', 'stl-text': 'STL, text', '3mf': '3MF' };
  return [
    style.bold(title === '' ? file : `${title} · ${file}`),
    `${formats[format]} · ${counted(part.triangles, 'triangle')} · ${part.closed ? 'closed' : 'not closed'} · ${counted(part.shells.length, 'skin')}`,
    '',
    ...textTable(
      [
        { title: ['figure'], align: 'left' },
        { title: ['value'], align: 'decimal' },
        { title: ['unit'], align: 'left' },
        { title: ['remark'], align: 'left', wraps: true },
      ],
      figures(report).map((cells) => ({ cells })),
      style,
    ),
    ...(candidates.length === 0
      ? []
      : [
          '',
          style.bold('Candidate features'),
          ...textTable(
            candidateColumns,
            candidates.map((each) => ({
              cells: [
                each.id,
                each.kind,
                each.name,
                String(each.count),
                each.sizeMm === undefined ? '' : formatShort(each.sizeMm, 2),
                each.lengthMm === undefined
                  ? ''
                  : `${formatShort(each.lengthMm, 2)} x ${formatShort(each.widthMm ?? 0, 2)}`,
                each.depthMm === undefined ? '' : formatShort(each.depthMm, 2),
                each.facing,
                each.access.join(' '),
                each.note,
              ],
            })),
            style,
          ),
        ]),
    ...(findings.length === 0 ? [] : ['', ...findingLines(findings, style)]),
    '',
  ].join('\n');
}

const candidateColumns: readonly TextColumn[] = [
  { title: ['id'], align: 'left' },
  { title: ['kind'], align: 'left' },
  { title: ['name'], align: 'left' },
  { title: ['count'], align: 'decimal' },
  { title: ['dia.', 'mm'], align: 'decimal' },
  { title: ['extents', 'mm'], align: 'left' },
  { title: ['depth', 'mm'], align: 'decimal' },
  { title: ['facing'], align: 'left' },
  { title: ['access'], align: 'left' },
  { title: ['where, mm'], align: 'left', wraps: true },
];

function figures({ part }: MeshReport): readonly (readonly string[])[] {
  const { facing, thickness, plateSection, largestSection, cavities, lowMm, centreMm } = part;
  const [x, y, z] = part.boxMm;
  const number = (value: number, decimals: number): string => formatFixed(value, decimals);
  const at = (point: readonly number[] | undefined): string =>
    point === undefined ? '' : `at ${point.map((each) => formatShort(each, 1)).join(' ')}`;
  const over = (height: number): string =>
    `${formatShort(height - lowMm[2], 3)} mm above the plate`;
  const rows: (readonly string[])[] = [
    [
      'box',
      `${formatShort(x, 2)} x ${formatShort(y, 2)} x ${formatShort(z, 2)}`,
      'mm',
      'x, y and up',
    ],
    [
      'volume',
      number(part.volumeMm3 / 1000, 2),
      'cm3',
      part.closed ? '' : 'the skin has gaps: estimate',
    ],
    ['skin', number(part.surfaceAreaMm2 / 100, 2), 'cm2', ''],
    ['foot on the plate', number(plateSection.areaMm2 / 100, 2), 'cm2', over(plateSection.zMm)],
    ['largest section', number(largestSection.areaMm2 / 100, 2), 'cm2', over(largestSection.zMm)],
    ['height over width', number(part.slenderness, 2), '', ''],
    ['centre of mass', number(centreMm[2] - lowMm[2], 2), 'mm', 'above the plate'],
    [
      'overhang',
      number(facing.overhangMm2 / 100, 2),
      'cm2',
      'faces down flatter than 45 deg, off the plate: estimate of what supports carry',
    ],
  ];
  const spread = `${thickness.samples} points, ${formatShort(thickness.spacingMm, 2)} mm apart`;
  for (const [what, value, point] of [
    ['thickest section', thickness.thickestMm, thickness.thickestAtMm],
    ['thinnest wall', thickness.thinnestWallMm, thickness.thinnestWallAtMm],
    ['narrowest gap', thickness.narrowestGapMm, thickness.narrowestGapAtMm],
  ] as const)
    if (value !== undefined)
      rows.push([what, number(value, 2), 'mm', `${at(point)}; from ${spread}`]);
  for (const [index, { volumeMm3 }] of cavities.slice(0, 5).entries())
    rows.push([
      `closed cavity ${index + 1}`,
      number(volumeMm3 / 1000, 3),
      'cm3',
      'no opening: powder stays in',
    ]);
  return rows;
}
