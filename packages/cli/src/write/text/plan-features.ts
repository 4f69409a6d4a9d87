import {
  formatFixed,
  formatShort,
  type Plan,
  type PlannedFeature,
  type StockFace,
} from '@offplate/core';
import { percentText } from './numbers.js';
import type { Style } from './style.js';
import { textTable } from './table.js';
import { wrapText } from './width.js';

/** What the drawing asks of each feature, how that is reached and how surely. */
export function featureLines({ features, stock }: Plan, style: Style): readonly string[] {
  const table = featureTable(features, style);
  return stock.faces.length === 0 ? table : [...table, heightText(stock)];
}

function heightText({ heightOffPlateMm }: Plan['stock']): string {
  return `height off the plate ${formatFixed(heightOffPlateMm, 2)} mm`;
}

function featureTable(features: readonly PlannedFeature[], style: Style): readonly string[] {
  return textTable(
    [
      { title: ['feature'], align: 'left', wraps: true },
      { title: ['asked'], align: 'left', wraps: true },
      { title: ['done by'], align: 'left', wraps: true },
      { title: ['stock', 'mm/side'], align: 'decimal' },
      { title: ['print', 'mm'], align: 'decimal' },
      { title: ['IT'], align: 'decimal' },
      { title: ['Ra', 'µm'], align: 'decimal' },
      { title: ['all in', 'limits %'], align: 'decimal' },
    ],
    features.map((feature) => ({
      cells: [
        nameOf(feature),
        feature.requirements.map(({ text }) => text).join(', '),
        feature.chain.length === 0
          ? 'as printed'
          : feature.chain.map(({ operation, title }) => `${operation} ${title}`).join(', '),
        formatFixed(feature.stockPerSideMm, 2),
        printedText(feature.printedSizeMm, feature.printedNote),
        feature.predicted.grade === undefined ? '' : formatFixed(feature.predicted.grade, 1),
        feature.predicted.raUm === undefined ? '' : formatShort(feature.predicted.raUm, 1),
        percentText(feature.predicted.inLimits),
      ],
    })),
    style,
  );
}

function nameOf({ id, name, kind, count, datum }: PlannedFeature): string {
  const many = count === 1 ? '' : ` ×${count}`;
  const letter = datum === undefined ? '' : ` [${datum}]`;
  return `${id}${letter} ${name ?? kind}${many}`;
}

/** Size that the build model shows; `solid` for a hole that is not printed, empty without a size. */
function printedText(sizeMm: number | null, note: string | undefined): string {
  if (sizeMm !== null) return formatFixed(sizeMm, 2);
  return note?.includes('solid') === true ? 'solid' : '';
}

/** Distance from the plate and the faces with their stock, each with what it is made of. */
export function stockLines({ stock, features }: Plan, style: Style): readonly string[] {
  const notes = new Map(features.map(({ id, printedNote }) => [id, printedNote]));
  const parts = stock.heightOffPlateParts.map(({ what, mm }) => `${what} ${formatShort(mm, 2)}`);
  const height = heightText(stock);
  return [
    ...wrapText(parts.length === 0 ? height : `${height}: ${parts.join(' + ')}`, style.width),
    '',
    ...textTable(
      [
        { title: ['feature'], align: 'left' },
        { title: ['what'], align: 'left', wraps: true },
        { title: ['finished', 'mm'], align: 'decimal' },
        { title: ['print', 'mm'], align: 'decimal' },
        { title: ['stock', 'mm/side'], align: 'decimal' },
        { title: ['made of, mm'], align: 'left', wraps: true },
      ],
      stock.faces.map((face) => ({
        cells: [
          face.feature,
          face.what,
          face.finishedMm === undefined ? '' : formatFixed(face.finishedMm, 3),
          printedText(face.printedMm, notes.get(face.feature)),
          formatFixed(face.stockPerSideMm, 2),
          face.build.map(({ what, mm }) => `${what} ${formatShort(mm, 3)}`).join(' + '),
        ],
        notes: explains(face, notes.get(face.feature)) ? [face.why] : [],
      })),
      style,
    ),
  ];
}

/** The parts of the stock speak for themselves; a face without them needs its reason. */
function explains({ build, why }: StockFace, note: string | undefined): boolean {
  return why !== '' && (build.length === 0 || note?.includes('solid') === true);
}

/** Cycles in the order of working, and the thermal routes that were not taken. */
export function thermalLines({ thermal }: Plan, style: Style): readonly string[] {
  return [
    ...(thermal.reason === ''
      ? []
      : wrapText(`route ${thermal.route}: ${thermal.reason}`, style.width)),
    ...textTable(
      [
        { title: ['op'], align: 'decimal' },
        { title: ['treatment'], align: 'left', wraps: true },
        { title: ['', '°C'], align: 'left' },
        { title: ['soak', 'min'], align: 'decimal' },
        { title: ['total', 'min'], align: 'decimal' },
        { title: ['atmosphere'], align: 'left', wraps: true },
        { title: ['cooling'], align: 'left', wraps: true },
        { title: ['gives'], align: 'left', wraps: true },
        { title: ['confidence'], align: 'left' },
      ],
      thermal.cycles.map((cycle) => ({
        cells: [
          String(cycle.operation),
          `${cycle.treatment}${cycle.onPlate ? ', on the plate' : ''}`,
          `${formatShort(cycle.temperatureC, 0)} ±${formatShort(cycle.toleranceC, 0)}`,
          formatShort(cycle.soakMinutes, 0),
          formatShort(cycle.totalMinutes, 0),
          cycle.pressureMPa === undefined
            ? cycle.atmosphere
            : `${cycle.atmosphere}, ≥ ${formatShort(cycle.pressureMPa, 0)} MPa`,
          cycle.cooling,
          cycle.conditionAfter,
          cycle.confidence,
        ],
      })),
      style,
    ),
    ...thermal.rejected.flatMap(({ route, reason }) =>
      wrapText(`not taken: ${route}: ${reason}`, style.width),
    ),
  ];
}
