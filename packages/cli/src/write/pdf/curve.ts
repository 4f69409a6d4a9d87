import type { CurveBlock } from '@offplate/core';
import { captionPiece } from './boxes.js';
import type { Piece } from './galley.js';
import { type Ink, type Point, type Rectangle, Tag } from './ink.js';
import { type Kit, styles } from './kit.js';
import { mm } from './page.js';
import type { SetLine } from './typeset.js';

const plotHeight = mm(42);
const tick = 3;
const tickGap = 2;
/** Room above the plot for the mark of its highest point. */
const headRoom = 14;
const lineHeight = styles.label.size * 1.28;

/** A plot in a frame with ticks on two axes, a band below the line and marks on it. */
export function curvePieces(block: CurveBlock, kit: Kit): readonly Piece[] {
  const section = new Tag('Div', kit.section);
  const height = headRoom + plotHeight + tick + 2 * lineHeight + 6;
  const figure = new Tag('Figure', section, { alt: block.inWords });
  const piece: Piece = {
    height,
    gap: 2,
    keepWithNext: false,
    newPage: false,
    repeat: kit.repeat,
    least: height,
    draw: (ink, y) => drawPlot(ink, block, kit, figure, y),
    split: () => undefined,
  };
  return [captionPiece(block.title, section, kit), piece];
}

function drawPlot(ink: Ink, block: CurveBlock, kit: Kit, figure: Tag, top: number): void {
  const yTexts = block.y.ticks.map(({ text }) => kit.type.lines(text, styles.label, kit.width));
  const yWidth = Math.max(0, ...yTexts.map((lines) => lines[0]?.width ?? 0));
  const half = widest(block.x.ticks, kit) / 2;
  const left = kit.left + Math.max(yWidth + tick + tickGap, half);
  const plot: Rectangle = {
    x: left,
    y: top + headRoom,
    width: kit.left + kit.width - left - half,
    height: plotHeight,
  };
  const toX = scaleOf(block.x, plot.x, plot.x + plot.width);
  const toY = scaleOf(block.y, plot.y + plot.height, plot.y);
  ink.artifact(() => drawLines(ink, block, plot, toX, toY));

  const put = (lines: readonly SetLine[], x: number, y: number): void =>
    ink.tagged(figure, lines, x, y);
  for (const [index, { at }] of block.y.ticks.entries()) {
    const lines = yTexts[index] ?? [];
    const width = lines[0]?.width ?? 0;
    put(lines, plot.x - tick - tickGap - width, toY(at) - lineHeight / 2);
  }
  let freeFrom = Number.NEGATIVE_INFINITY;
  for (const { at, text } of block.x.ticks) {
    const lines = kit.type.lines(text, styles.label, kit.width);
    const width = lines[0]?.width ?? 0;
    const x = toX(at) - width / 2;
    // a tick whose text would run into the one before stays without
    if (x < freeFrom) continue;
    freeFrom = x + width + 3;
    put(lines, x, plot.y + plot.height + tick + 1);
  }
  const below = plot.y + plot.height + tick + lineHeight + 2;
  put(kit.type.lines(block.x.label, styles.label, plot.width, 'right'), plot.x, below);
  put(kit.type.lines(block.y.label, styles.label, plot.width), kit.left, top + 1);
  drawMarks(ink, block, kit, plot, toX, toY, put);
  for (const { x, text } of block.rules ?? []) {
    const lines = kit.type.lines(text, styles.strong, kit.width);
    const width = lines[0]?.width ?? 0;
    const at = Math.min(Math.max(toX(x) - width / 2, kit.left), kit.left + kit.width - width);
    put(lines, at, top);
  }
}

/** Texts of the marks above their points, each kept clear of the one before. */
function drawMarks(
  ink: Ink,
  block: CurveBlock,
  kit: Kit,
  plot: Rectangle,
  toX: Scale,
  toY: Scale,
  put: (lines: readonly SetLine[], x: number, y: number) => void,
): void {
  const taken: Rectangle[] = [];
  for (const mark of block.marks) {
    const lines = kit.type.lines(mark.text, styles.label, plot.width);
    const width = lines[0]?.width ?? 0;
    const x = Math.min(
      Math.max(toX(mark.x) - width / 2, plot.x + 3),
      plot.x + plot.width - width - 3,
    );
    const box = { x, y: toY(mark.y) - lineHeight - 3, width, height: lineHeight };
    if (taken.some((other) => overlap(box, other))) continue;
    taken.push(box);
    ink.artifact(() => ink.fill({ ...box, x: box.x - 1, width: width + 2 }, 'white'));
    put(lines, box.x, box.y);
  }
}

function overlap(a: Rectangle, b: Rectangle): boolean {
  return (
    a.x < b.x + b.width + 3 &&
    b.x < a.x + a.width + 3 &&
    a.y < b.y + b.height &&
    b.y < a.y + a.height
  );
}

function drawLines(ink: Ink, block: CurveBlock, plot: Rectangle, toX: Scale, toY: Scale): void {
  const { band = [] } = block;
  if (band.length > 1) {
    const upper = band.map(([x, , high]): Point => [toX(x), toY(high)]);
    const lower = band.map(([x, low]): Point => [toX(x), toY(low)]);
    ink.area([...upper, ...[...lower].reverse()], 'pale');
    for (const edge of [upper, lower]) ink.path(edge, 0.35, 'grey');
  }
  for (const { at } of block.y.ticks) {
    ink.rule(plot.x - tick, toY(at), plot.x, toY(at), 0.5, 'black');
  }
  for (const { at } of block.x.ticks) {
    const y = plot.y + plot.height;
    ink.rule(toX(at), y, toX(at), y + tick, 0.5, 'black');
  }
  for (const { x } of block.rules ?? [])
    ink.rule(toX(x), plot.y - 2, toX(x), plot.y + plot.height, 1.2, 'black');
  ink.path(
    block.points.map(([x, y]): Point => [toX(x), toY(y)]),
    1.2,
    'black',
  );
  for (const { x, y } of block.marks) {
    ink.fill({ x: toX(x) - 1.8, y: toY(y) - 1.8, width: 3.6, height: 3.6 }, 'black');
  }
  ink.path(
    [
      [plot.x, plot.y],
      [plot.x, plot.y + plot.height],
      [plot.x + plot.width, plot.y + plot.height],
    ],
    0.7,
    'black',
  );
}

type Scale = (value: number) => number;

function scaleOf(axis: CurveBlock['x'], start: number, end: number): Scale {
  const span = axis.to - axis.from;
  return (value) => (span === 0 ? start : start + ((value - axis.from) / span) * (end - start));
}

function widest(ticks: CurveBlock['x']['ticks'], kit: Kit): number {
  return Math.max(0, ...ticks.map(({ text }) => kit.type.naturalWidth(text, styles.label)));
}
