/**
 * A printed document as plain data: what stands on it and in which order. Where a line breaks and
 * where a page ends is the writer's business; text is ready to print, numbers are already rounded.
 */
export interface Sheet {
  readonly schema: 'sheet/1';
  readonly kind:
    | 'traveller'
    | 'quote'
    | 'inspection'
    | 'stock-map'
    | 'heat-request'
    | 'stack'
    | 'chart';
  readonly format: PageFormat;
  readonly title: string;
  /** What the sheet is about, beside the title: the part's name. */
  readonly subject: string;
  /** Part and revision, in the foot of every page; empty when the sheet is about no part. */
  readonly identity: string;
  /** Order, issue and the like, in the foot of every page. */
  readonly footNote: string;
  /** Drawn for scanners below the title: ids only. */
  readonly code?: string;
  readonly header: readonly Field[];
  readonly blocks: readonly Block[];
}

export type PageFormat = 'A4' | 'Letter';

/** An empty value is a line to be filled in by hand. */
export interface Field {
  readonly label: string;
  readonly value: string;
}

export type Block =
  | HeadingBlock
  | ParagraphBlock
  | ListBlock
  | FieldsBlock
  | TableBlock
  | BoxBlock
  | SignOffBlock
  | RouteStripBlock
  | BarsBlock
  | CurveBlock
  | DrawingBlock
  | OperationBlock;

export interface HeadingBlock {
  readonly type: 'heading';
  readonly text: string;
  /** Begin a page with it. */
  readonly newPage?: boolean;
}

export interface ParagraphBlock {
  readonly type: 'paragraph';
  readonly text: string;
}

export interface ListBlock {
  readonly type: 'list';
  readonly title: string;
  readonly items: readonly string[];
}

/** Labels with their values, set in a grid read row by row. */
export interface FieldsBlock {
  readonly type: 'fields';
  readonly title?: string;
  readonly across: number;
  readonly fields: readonly Field[];
  /** Never parted from the block after it. */
  readonly keepWithNext?: boolean;
}

export interface TableBlock {
  readonly type: 'table';
  readonly title: string;
  readonly columns: readonly Column[];
  /** As many cells a row as there are columns. */
  readonly rows: readonly (readonly string[])[];
  /** Nothing but boxes to be filled in by hand, which have no use on a screen. */
  readonly form?: true;
}

export interface Column {
  readonly title: string;
  /** `decimal` sets numbers right, one decimal mark under the other. */
  readonly align: 'left' | 'centre' | 'decimal';
  /** Set for columns that are filled in by hand: their cells are drawn as boxes this wide. */
  readonly entryWidthMm?: number;
}

/** A framed text that must not be overlooked. */
export interface BoxBlock {
  readonly type: 'box';
  readonly tone: 'notice' | 'caution' | 'hold';
  readonly title: string;
  readonly items: readonly string[];
}

/** Empty boxes to be signed, stamped or filled in, side by side. */
export interface SignOffBlock {
  readonly type: 'sign-off';
  readonly boxes: readonly string[];
  /** Drawn beside the boxes for scanners: ids only. */
  readonly code?: string;
}

export interface RouteStripBlock {
  readonly type: 'route-strip';
  readonly stops: readonly RouteStop[];
}

export interface RouteStop {
  readonly operation: number;
  /** Working days, ready to print. */
  readonly days: string;
  readonly outside: boolean;
  readonly holdPoint: boolean;
}

/** Horizontal bars on one scale, each with its label at the left and its value at the right. */
export interface BarsBlock {
  readonly type: 'bars';
  readonly title: string;
  /** What the dark and the light parts of the bars stand for; absent when all are alike. */
  readonly legend?: { readonly dark: string; readonly light: string };
  readonly bars: readonly Bar[];
}

export interface Bar {
  readonly label: string;
  /** Ready to print. */
  readonly value: string;
  /** From left to right; on the scale of all bars of the block, which begins at 0. */
  readonly segments: readonly {
    readonly from: number;
    readonly to: number;
    readonly tone: 'dark' | 'light';
  }[];
}

/** One quantity against another as a line, with marks and a shaded band where there are any. */
export interface CurveBlock {
  readonly type: 'curve';
  readonly title: string;
  readonly x: Axis;
  readonly y: Axis;
  /** On the scales of the axes, x never falling. */
  readonly points: readonly (readonly [x: number, y: number])[];
  /** Lower and upper edge of the band over x. */
  readonly band?: readonly (readonly [x: number, lower: number, upper: number])[];
  readonly marks: readonly { readonly x: number; readonly y: number; readonly text: string }[];
  /** Lines across the plot from its foot, each with its text above the plot. */
  readonly rules?: readonly { readonly x: number; readonly text: string }[];
  /** The curve in a sentence, for those who hear the sheet. */
  readonly inWords: string;
}

/** A line drawing in millimetres on paper, x to the right and y down from its upper left corner. */
export interface DrawingBlock {
  readonly type: 'drawing';
  readonly title?: string;
  /** A drawing wider than the page is made smaller, its texts are not. */
  readonly widthMm: number;
  readonly heightMm: number;
  /** From the back to the front. */
  readonly marks: readonly DrawingMark[];
  /** What the drawing shows, for those who hear the sheet. */
  readonly inWords: string;
}

export type PointMm = readonly [xMm: number, yMm: number];

export type DrawingMark =
  | {
      readonly kind: 'line';
      readonly points: readonly PointMm[];
      readonly weight: 'hair' | 'thin' | 'thick';
      readonly dashed?: true;
      /** Arrow heads at the last point, or at both ends. */
      readonly arrow?: 'end' | 'both';
    }
  | {
      readonly kind: 'area';
      readonly points: readonly PointMm[];
      readonly shade: 'white' | 'pale' | 'grey' | 'black';
      readonly outline?: 'hair' | 'thin';
    }
  | {
      /** Many rectangles of one shade, without outline. */
      readonly kind: 'spans';
      readonly shade: 'pale' | 'light';
      readonly boxes: readonly (readonly [
        xMm: number,
        yMm: number,
        widthMm: number,
        heightMm: number,
      ])[];
    }
  | { readonly kind: 'dot'; readonly at: PointMm; readonly radiusMm: number }
  | {
      readonly kind: 'text';
      /** Left end, middle or right end of the line, at half its height. */
      readonly at: PointMm;
      readonly text: string;
      readonly align: 'left' | 'centre' | 'right';
      readonly style: 'label' | 'body' | 'strong';
    };

export interface Axis {
  /** Quantity with its unit. */
  readonly label: string;
  readonly from: number;
  readonly to: number;
  readonly ticks: readonly { readonly at: number; readonly text: string }[];
}

/** All that one operation needs; a page that it runs over to names it again. */
export interface OperationBlock {
  readonly type: 'operation';
  readonly number: number;
  readonly title: string;
  readonly workCentre: string;
  readonly blocks: readonly Exclude<Block, OperationBlock>[];
}

export interface SheetOptions {
  readonly format: PageFormat;
  /** Calendar day YYYY-MM-DD; a line to be filled in when absent. */
  readonly issuedOn?: string;
  readonly issuedBy?: string;
  /** The shop's order number; the job's own reference when absent. */
  readonly order?: string;
}
