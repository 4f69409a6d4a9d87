import type PDFDocument from 'pdfkit';
import type { SetLine } from './typeset.js';

export interface Rectangle {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export type Point = readonly [x: number, y: number];

export type Shade = 'black' | 'grey' | 'light' | 'pale' | 'white';

const colours: Readonly<Record<Shade, string>> = {
  black: '#000000',
  grey: '#4d4d4d',
  light: '#d2d2d2',
  pale: '#ebebeb',
  white: '#ffffff',
};

/**
 * A node of the document's structure (PDF 1.7, 14.8: `Sect`, `Table`, `TD` and so on). It is made
 * when the first text of it is drawn, so the structure follows the order of reading.
 */
export class Tag {
  readonly type: string;
  readonly #parent: Tag | undefined;
  readonly #options: { alt?: string; scope?: string };
  #element: PDFKit.PDFStructureElement | undefined;

  constructor(type: string, parent?: Tag, options: { alt?: string; scope?: string } = {}) {
    this.type = type;
    this.#parent = parent;
    this.#options = options;
  }

  element(doc: PDFKit.PDFDocument): PDFKit.PDFStructureElement {
    if (this.#element !== undefined) return this.#element;
    const element = doc.struct(this.type, this.#options);
    if (this.#parent === undefined) doc.addStructure(element);
    else this.#parent.element(doc).add(element);
    this.#element = element;
    return element;
  }
}

/** Everything that puts marks on a page goes through here, so all of it is tagged or an artifact. */
export class Ink {
  readonly #doc: InstanceType<typeof PDFDocument>;

  constructor(doc: InstanceType<typeof PDFDocument>) {
    this.#doc = doc;
  }

  addPage(): void {
    this.#doc.addPage();
  }

  /** Marks that a reader aloud skips: rules, frames, repeated heads and feet. */
  artifact(draw: () => void): void {
    this.#doc.markContent('Artifact', { type: 'Layout' });
    draw();
    this.#doc.endMarkedContent();
  }

  /** Lines one under the other, as content of the tag. */
  tagged(tag: Tag, lines: readonly SetLine[], x: number, y: number): void {
    // the element first: an empty cell is a cell, and a parent made later would follow its content
    const element = tag.element(this.#doc);
    if (lines.every((line) => line.runs.length === 0)) return;
    const content = this.#doc.markStructureContent(tag.type);
    this.lines(lines, x, y);
    this.#doc.endMarkedContent();
    element.add(content);
  }

  lines(lines: readonly SetLine[], x: number, y: number): void {
    let top = y;
    for (const line of lines) {
      this.#doc.fillColor(colours[line.style.colour ?? 'black']);
      for (const run of line.runs) {
        this.#doc
          .font(run.font)
          .fontSize(line.style.size)
          .text(run.text, x + run.x, top + line.baseline, {
            lineBreak: false,
            baseline: 'alphabetic',
          });
      }
      top += line.height;
    }
  }

  rule(x1: number, y1: number, x2: number, y2: number, weight: number, shade: Shade): void {
    this.#doc.lineWidth(weight).strokeColor(colours[shade]).moveTo(x1, y1).lineTo(x2, y2).stroke();
  }

  /** A line through the points. */
  path(points: readonly Point[], weight: number, shade: Shade, dash?: number): void {
    this.#doc.lineWidth(weight).lineJoin('round').strokeColor(colours[shade]);
    if (dash !== undefined) this.#doc.dash(dash, {});
    this.#trace(points);
    this.#doc.stroke();
    if (dash !== undefined) this.#doc.undash();
  }

  disc(x: number, y: number, radius: number, shade: Shade): void {
    this.#doc.fillColor(colours[shade]).circle(x, y, radius).fill();
  }

  /** The area inside the points. */
  area(points: readonly Point[], shade: Shade): void {
    this.#doc.fillColor(colours[shade]);
    this.#trace(points);
    this.#doc.closePath().fill();
  }

  #trace(points: readonly Point[]): void {
    for (const [index, [x, y]] of points.entries()) {
      if (index === 0) this.#doc.moveTo(x, y);
      else this.#doc.lineTo(x, y);
    }
  }

  frame(box: Rectangle, weight: number, shade: Shade): void {
    this.#doc
      .lineWidth(weight)
      .strokeColor(colours[shade])
      .rect(box.x, box.y, box.width, box.height)
      .stroke();
  }

  fill(box: Rectangle, shade: Shade): void {
    this.fillAll([box], shade);
  }

  /** Rectangles in one path, so that those that touch show no seam. */
  fillAll(boxes: readonly Rectangle[], shade: Shade): void {
    if (boxes.length === 0) return;
    // colour before path: between a path and its painting stands nothing (PDF 1.7, 8.5.2)
    this.#doc.fillColor(colours[shade]);
    for (const box of boxes) this.#doc.rect(box.x, box.y, box.width, box.height);
    this.#doc.fill();
  }
}
