import type { BarsBlock, Block, Field, Sheet, TableBlock } from '@offplate/core';
import type { Style } from './style.js';
import { indented, textTable } from './table.js';
import { displayWidth, pad, printable, wrapText } from './width.js';

/** Where a value is written in by hand. */
const blank = '__________';
const barWidth = 40;

/** A sheet as text: what stands on the printed one, in the same order. */
export function sheetText(sheet: Sheet, style: Style): string {
  return [
    style.bold(printable(`${sheet.title} · ${sheet.identity}`)),
    ...wrapText(printable(sheet.subject), style.width),
    '',
    ...fieldLines(sheet.header, style),
    ...sheet.blocks.flatMap((block) => ['', ...blockLines(block, style)]),
    '',
  ].join('\n');
}

function blockLines(block: Block, style: Style): readonly string[] {
  switch (block.type) {
    case 'heading':
      return wrapText(printable(block.text), style.width).map((line) => style.bold(line));
    case 'paragraph':
      return wrapText(printable(block.text), style.width);
    case 'list':
      return [style.bold(printable(block.title)), ...itemLines(block.items, style)];
    case 'fields':
      return [
        ...(block.title === undefined ? [] : [style.bold(printable(block.title))]),
        ...fieldLines(block.fields, style),
      ];
    case 'table':
      return block.form ? [] : tableLines(block, style);
    case 'box':
      return [style.warning(printable(block.title)), ...itemLines(block.items, style)];
    case 'sign-off':
      return fieldLines(
        block.boxes.map((label) => ({ label, value: '' })),
        style,
      );
    case 'route-strip':
      return wrapText(block.stops.map(({ operation }) => operation).join(' > '), style.width);
    case 'bars':
      return barLines(block, style);
    case 'curve':
    case 'drawing':
      return wrapText(printable(block.inWords), style.width);
    case 'operation':
      return [
        style.bold(printable(`${block.number} ${block.title} · ${block.workCentre}`)),
        ...block.blocks.flatMap((inner) => blockLines(inner, style)),
      ];
  }
}

function itemLines(items: readonly string[], style: Style): readonly string[] {
  return items.flatMap((item) =>
    indented(printable(item), 2, style.width).map((line, index) =>
      index === 0 ? `-${line.slice(1)}` : line,
    ),
  );
}

function fieldLines(fields: readonly Field[], style: Style): readonly string[] {
  const width = Math.max(0, ...fields.map(({ label }) => displayWidth(label)));
  return fields.flatMap(({ label, value }) =>
    indented(value === '' ? blank : printable(value), width + 2, style.width).map((line, index) =>
      index === 0 ? `${pad(printable(label), width)}  ${line.trimStart()}` : line,
    ),
  );
}

/** Columns for entries by hand have no use on a screen. */
function tableLines(block: TableBlock, style: Style): readonly string[] {
  const kept = block.columns.flatMap(({ entryWidthMm }, index) =>
    entryWidthMm === undefined ? [index] : [],
  );
  if (kept.length === 0) return [];
  const title = wrapText(printable(block.title), style.width).map((line) => style.bold(line));
  return [
    ...title,
    ...textTable(
      kept.map((index) => {
        const column = block.columns[index];
        const decimal = column?.align === 'decimal';
        return {
          title: wrapText(column?.title ?? '', decimal ? 10 : 24),
          align: decimal ? ('decimal' as const) : ('left' as const),
          wraps: !decimal,
        };
      }),
      block.rows.map((row) => ({
        cells: kept.map((index) => (row[index] ?? '').replaceAll('\n', '; ')),
      })),
      style,
    ),
  ];
}

function barLines({ title, legend, bars }: BarsBlock, style: Style): readonly string[] {
  const most = Math.max(0, ...bars.flatMap(({ segments }) => segments.map(({ to }) => to)));
  const cells = (value: number): number => (most === 0 ? 0 : Math.round((value / most) * barWidth));
  return [
    style.bold(printable(title)),
    ...(legend === undefined ? [] : [`# ${legend.dark}, - ${legend.light}`]),
    ...textTable(
      [
        { title: [''], align: 'left', wraps: true },
        { title: [''], align: 'left' },
        { title: [''], align: 'decimal' },
      ],
      bars.map(({ label, value, segments }) => {
        const start = cells(segments[0]?.from ?? 0);
        const drawn = segments.map(({ from, to, tone }) =>
          (tone === 'dark' ? '#' : '-').repeat(cells(to) - cells(from)),
        );
        return { cells: [label, `${' '.repeat(start)}${drawn.join('')}`, value] };
      }),
      style,
    ).slice(1),
  ];
}
