import type { Piece } from './galley.js';
import type { Tag } from './ink.js';
import type { TextStyle, Typesetter } from './typeset.js';

/** What every block needs to be set. */
export interface Kit {
  readonly type: Typesetter;
  readonly left: number;
  readonly width: number;
  /** Structure that the block belongs to. */
  readonly section: Tag;
  /** Repeated on every page that the section runs over to. */
  readonly repeat: readonly Piece[];
}

export type StyleName =
  | 'title'
  | 'identity'
  | 'subject'
  | 'heading'
  | 'operation'
  | 'operationNumber'
  | 'caption'
  | 'body'
  | 'strong'
  | 'field'
  | 'label'
  | 'columnTitle'
  | 'holdTitle'
  | 'foot';

/** The sheet's type sizes, points. */
export const styles: Readonly<Record<StyleName, TextStyle>> = {
  title: { size: 20, strong: true },
  identity: { size: 15, strong: true },
  subject: { size: 11 },
  heading: { size: 12, strong: true },
  operation: { size: 11.5, strong: true },
  operationNumber: { size: 12, strong: true, colour: 'white' },
  caption: { size: 8.5, strong: true },
  body: { size: 8.5 },
  strong: { size: 8.5, strong: true },
  field: { size: 9 },
  label: { size: 7, colour: 'grey' },
  columnTitle: { size: 7.5, strong: true },
  holdTitle: { size: 9, strong: true, colour: 'white' },
  foot: { size: 7.5, colour: 'grey' },
};

/** Space above a block, points. */
export const gaps: Readonly<Record<'heading' | 'block' | 'operation', number>> = {
  heading: 15,
  block: 8,
  operation: 18,
};
